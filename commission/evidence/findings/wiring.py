"""What was established of wiring, input, mechanics and meter readings."""

from typing import TYPE_CHECKING, ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.observations import Observed
from commission.vocabulary import Level, Polarity, Presence, Pull, Reading, Verdict

if TYPE_CHECKING:  # lists read these types too, and shall begin soon
    from commission.wiring.assessment import Assessment
    from commission.wiring.behaviour import State
    from commission.wiring.claims import InputNote
    from commission.wiring.single_faults import Pair


class PredictedState(Struct, frozen=True, kw_only=True):
    """What the input reads in one state.

    Attributes:
        concluded: what the firmware makes of it; None where that is not defined.
    """

    level: Level
    concluded: Presence | None
    supply_short: bool

    @classmethod
    def of(cls, state: "State") -> "PredictedState":
        """The state, for the record."""
        return cls(level=state.level, concluded=state.concluded, supply_short=state.supply_short)


class PredictedPair(Struct, frozen=True, kw_only=True, rename={"filament_in": "in", "filament_out": "out"}):
    """The same with filament in and out."""

    filament_in: PredictedState
    filament_out: PredictedState

    @classmethod
    def of(cls, pair: "Pair") -> "PredictedPair":
        """The pair, for the record."""
        return cls(filament_in=PredictedState.of(pair.filament_in), filament_out=PredictedState.of(pair.filament_out))


class WiringAssessed(Struct, frozen=True, kw_only=True):
    """What a declared wiring will read; `states` by the single fault, `sound` among them, None where it has none."""

    states: dict[str, PredictedPair | None]
    polarity: Polarity | None
    usable: bool
    fail_safe: bool | None
    hazards: tuple[str, ...]
    findings: tuple[str, ...]
    recommendation: str

    @classmethod
    def of(cls, assessed: "Assessment") -> "WiringAssessed":
        """The assessment, for the record."""
        pairs = assessed.states.items()
        return cls(
            states={single.value: None if pair is None else PredictedPair.of(pair) for single, pair in pairs},
            polarity=assessed.polarity,
            usable=assessed.usable,
            fail_safe=assessed.fail_safe,
            hazards=assessed.hazards,
            findings=assessed.findings,
            recommendation=assessed.recommendation,
        )


class Wiring(Finding, frozen=True, kw_only=True, tag="wiring"):
    """How the sensor is wired, and what that wiring will read.

    Attributes:
        declared_on: the day, ISO 8601, of one that was declared without a run; empty for one that a run declared.
        declared_by: who declared it then.
    """

    newest_stands: ClassVar[bool] = True
    answers: dict[str, str]
    assessment: WiringAssessed
    margins: tuple[str, ...]
    assumptions: tuple[str, ...]
    drawn_before: Picture | None = None
    declared_on: str = ""
    declared_by: str = ""

    @property
    def source(self) -> str:
        """Where a declaration without a run comes from, in words; empty for one that a run declared."""
        return f"declared on {self.declared_on} by {self.declared_by}, without a run" if self.declared_on else ""


class WiringNotKnown(Finding, frozen=True, kw_only=True, tag="wiring_not_known"):
    """A question on the wiring could not be answered."""

    missing: str


class InputClaims(Finding, frozen=True, kw_only=True, tag="input_claims"):
    """What the input is called, and who else uses it."""

    name_on_board: str
    pin: str
    pull: Pull | None
    absent: Level | None
    claims: tuple[str, ...]
    second_name: str

    @classmethod
    def of(cls, note: "InputNote", *, pull_known: bool, sentences: tuple[str, ...]) -> "InputClaims":
        """The note, for the record; a pull that nobody declared is None."""
        return cls(
            sentences=sentences,
            name_on_board=note.name_on_board,
            pin=note.pin,
            pull=note.pull if pull_known else None,
            absent=note.absent,
            claims=tuple(claim.name for claim in note.claims),
            second_name=note.second_name,
        )


class PinReported(Finding, frozen=True, kw_only=True, tag="pin_report"):
    """What the printer says a pin is used for."""

    pin: str
    names: tuple[str, ...]


class PinLook(Struct, frozen=True, kw_only=True):
    """One look at a pin: where the filament was, and what was read.

    Attributes:
        reading: active is high; unknown where the answer told nothing.
        wire_word: the literal word; empty where none stood there.
    """

    presence: Presence
    reading: Reading
    wire_word: str


class PinLooked(Finding, frozen=True, kw_only=True, tag="pin_looked"):
    """One pin was read by a word that makes it an input with a pull-up.

    Attributes:
        follows: whether it read otherwise with filament in than with it out, each time; None where that is not told.
    """

    title: ClassVar[str] = "One pin, read by release"
    pin: str
    looks: tuple[PinLook, ...]
    follows: bool | None


class SheetLine(Struct, frozen=True, kw_only=True):
    """One line of the mechanical sheet."""

    name: str
    question: str
    mark: str
    reason: str


class MechanicalCheck(Finding, frozen=True, kw_only=True, tag="mechanical_check"):
    """The mechanical sheet; the drag only where it was measured."""

    lines: tuple[SheetLine, ...]
    filament: str
    drag_in_newton: float | None = None
    soft_filament: bool | None = None
    drag_verdict: Verdict | None = None


class MeterLine(Struct, frozen=True, kw_only=True):
    """One line of the meter sheet; `stands` says whether it was not measured again."""

    name: str
    expected: str
    measured: str
    reason: str
    stands: bool
    verdict: Verdict


class MeterCheck(Finding, frozen=True, kw_only=True, tag="meter_check"):
    """The meter sheet, taken with the power off."""

    verdict: Verdict
    lines: tuple[MeterLine, ...]
    short: bool
    observations: tuple[Observed, ...]
    open_above_ohm: float


class NoMeter(Finding, frozen=True, kw_only=True, tag="no_meter"):
    """No meter is at hand: none is asked for again in the run."""

    sentences: tuple[str, ...] = ("No meter is at hand in this run.",)


class PredictionHeld(Struct, frozen=True, kw_only=True):
    """One state predicted and measured.

    Attributes:
        measured: empty where nothing was.
        tests: how many there were.
        agrees: None where nothing was measured or nothing steady is predicted.
    """

    state: str
    predicted: str
    measured: str
    tests: int
    agrees: bool | None

    @property
    def sentence(self) -> str:
        """It in words."""
        verdict = {True: "as predicted", False: "NOT as predicted", None: "nothing to compare"}[self.agrees]
        state, measured = self.state[:1].upper() + self.state[1:], self.measured or "nothing"
        return f"{state}: predicted {self.predicted}, measured {measured}: {verdict}."


class PredictedAndMeasured(Finding, frozen=True, kw_only=True, tag="predicted_and_measured"):
    """The declared wiring's prediction beside the measurement."""

    newest_stands: ClassVar[bool] = True
    rows: tuple[PredictionHeld, ...]
