"""What was established of wiring, input, mechanics and meter readings."""

from typing import ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.observations import Observed
from commission.vocabulary import Level, Polarity, Presence, Pull, Verdict


class PredictedState(Struct, frozen=True, kw_only=True):
    """What the input reads in one state; None where it is not defined."""

    level: str | None
    concluded: Presence | None
    supply_short: bool


class PredictedPair(Struct, frozen=True, kw_only=True, rename={"filament_in": "in", "filament_out": "out"}):
    """The same with filament in and out."""

    filament_in: PredictedState
    filament_out: PredictedState


class WiringAssessed(Struct, frozen=True, kw_only=True):
    """What a declared wiring will read; `states` by the single fault, `sound` among them, None where it has none."""

    states: dict[str, PredictedPair | None]
    polarity: Polarity | None
    usable: bool
    fail_safe: bool | None
    hazards: tuple[str, ...]
    findings: tuple[str, ...]
    recommendation: str


class Wiring(Finding, frozen=True, kw_only=True, tag="wiring"):
    """How the sensor is wired, and what that wiring will read."""

    newest_stands: ClassVar[bool] = True
    answers: dict[str, str]
    assessment: WiringAssessed
    margins: tuple[str, ...]
    assumptions: tuple[str, ...]
    drawn_before: Picture | None = None


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


class PinReported(Finding, frozen=True, kw_only=True, tag="pin_report"):
    """What the printer says a pin is used for."""

    pin: str
    names: tuple[str, ...]


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


class PredictionHeld(Struct, frozen=True, kw_only=True):
    """One state predicted and measured; `agrees` is None where there is nothing to compare."""

    state: str
    predicted: str
    measured: str
    tests: int
    agrees: bool | None


class PredictedAndMeasured(Finding, frozen=True, kw_only=True, tag="predicted_and_measured"):
    """The declared wiring's prediction beside the measurement."""

    newest_stands: ClassVar[bool] = True
    rows: tuple[PredictionHeld, ...]
