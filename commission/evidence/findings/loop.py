"""What was established of the loop from the filament to the reading."""

from collections.abc import Iterable
from typing import ClassVar, TypedDict

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.evidence.observations import Observed
from commission.judge import acceptance
from commission.judge.advice import Advice
from commission.judge.exposure import Watched
from commission.judge.power import PowerSeen
from commission.vocabulary import FailSafe, Presence, Reading, SwitchBehaviour, Verdict


class Criterion(Struct, frozen=True, kw_only=True):
    """One thing the plan asks for: the rule, what was observed, and the verdict on it."""

    name: str
    rule: str
    observed: str
    verdict: Verdict

    @classmethod
    def of(cls, judged: acceptance.Criterion) -> "Criterion":
        """What was judged, for the record."""
        return cls(name=judged.name, rule=judged.rule, observed=judged.observed, verdict=judged.verdict)

    @property
    def judged(self) -> acceptance.Criterion:
        """It as the judge gave it."""
        return acceptance.Criterion(self.name, self.rule, self.observed, self.verdict)


def criteria_of(judged: Iterable[acceptance.Criterion]) -> tuple[Criterion, ...]:
    """What was judged, for the record."""
    return tuple(Criterion.of(each) for each in judged)


class Judgement(Finding, frozen=True, kw_only=True):
    """A finding that holds rules against what was seen."""

    verdict: Verdict
    criteria: tuple[Criterion, ...]


class Acceptance(Judgement, frozen=True, kw_only=True, tag="acceptance"):
    """The loop check held against its plan."""


class Polarity(Finding, frozen=True, kw_only=True, tag="polarity"):
    """How the reading follows the filament.

    Attributes:
        odds: of the finding against the next explanation.
        contradictions: trials against it.
        lost: trials without a majority because readings were lost.
        weights: of each explanation, by its words.
    """

    newest_stands: ClassVar[bool] = True
    behaviour: SwitchBehaviour
    decided: bool
    odds: float
    runner_up: SwitchBehaviour
    contradictions: int
    trials: int
    cycles: int
    voided: int
    lost: int
    weights: dict[str, float]


class FailSafeFound(Finding, frozen=True, kw_only=True, tag="fail_safe"):
    """What a broken or unplugged wire is taken for, from so many power-ups."""

    fail_safe: FailSafe
    power_ups: int


class Advised(Finding, frozen=True, kw_only=True, tag="advice"):
    """What to change, from polarity and the unplugged reading together."""

    advice: Advice


class _Watched(Finding, frozen=True, kw_only=True):
    """A watch in which no change was wanted, as it counts; see `judge.exposure.Watched`.

    Attributes:
        readings, unread: queries that were understood, and those that brought no reading.
        seconds: the exposure; in runs before exposures were counted the time that went by.
        unread, planned_s, largest_gap_s: the rest of it; None in those runs, which did not tell.
        shortest_glitch_s: the shortest seen with 95 %; None where the gaps between readings were not looked at.
    """

    changes: int
    readings: int
    seconds: float
    unread: int | None = None
    planned_s: float | None = None
    largest_gap_s: float | None = None
    shortest_glitch_s: float | None = None


class WatchValues(TypedDict):
    """The values of `_Watched`."""

    changes: int
    readings: int
    unread: int
    seconds: float
    planned_s: float | None
    largest_gap_s: float
    shortest_glitch_s: float | None


def watch_values(seen: Watched) -> WatchValues:
    """What a watch came to, for a finding that holds it."""
    return {
        "changes": seen.changes,
        "readings": seen.readings,
        "unread": seen.unread,
        "seconds": seen.exposure_s,
        "planned_s": seen.planned_s,
        "largest_gap_s": seen.largest_gap_s,
        "shortest_glitch_s": seen.shortest_glitch_s,
    }


class Wiggle(_Watched, frozen=True, kw_only=True, tag="wiggle"):
    """Cable and plugs were worked by hand."""

    newest_stands: ClassVar[bool] = True
    misreads: int


class MovingWiggle(_Watched, frozen=True, kw_only=True, tag="moving_wiggle"):
    """The machine moved, hands off; `running` says what of it ran."""

    running: str


class Steady(_Watched, frozen=True, kw_only=True, tag="steady"):
    """Hands off, for a while."""

    newest_stands: ClassVar[bool] = True
    switch: str


class SetAside(Finding, frozen=True, kw_only=True):
    """The filament was out in the watch taken just before: it does not count, and is done again."""

    readings: int


class WiggleSetAside(SetAside, frozen=True, kw_only=True, tag="wiggle_set_aside"):
    """Of the wiggle by hand."""


class MovingWiggleSetAside(SetAside, frozen=True, kw_only=True, tag="moving_wiggle_set_aside"):
    """Of the one while the machine moves."""


class Misread(Finding, frozen=True, kw_only=True):
    """Before a wiggle the switch read out, with filament in: it is not done."""

    readings: int


class WiggleMisread(Misread, frozen=True, kw_only=True, tag="wiggle_misread"):
    """Before the wiggle by hand."""


class MovingWiggleMisread(Misread, frozen=True, kw_only=True, tag="moving_wiggle_misread"):
    """Before the one while the machine moves."""


class WatchLeftOut(Finding, frozen=True, kw_only=True):
    """A wiggle was left out, or its watch taken just before does not count; `reason` is the operator's, where asked."""

    reason: str = ""


class WiggleLeftOut(WatchLeftOut, frozen=True, kw_only=True, tag="wiggle_left_out"):
    """The wiggle by hand."""


class MovingWiggleLeftOut(WatchLeftOut, frozen=True, kw_only=True, tag="moving_wiggle_left_out"):
    """The reading while the machine moves is not known."""


class StartUp(Finding, frozen=True, kw_only=True, tag="start_up"):
    """What the switch read just after a power cycle; unknown where it was unsteady or could not be read.

    Attributes:
        expected: what it read before; None where that is not known.
        changes, readings, unread, seconds, planned_s, largest_gap_s, shortest_glitch_s: as of any watch; None
            in runs that did not tell.
    """

    presence: Presence
    reading: Reading
    expected: Reading | None
    changes: int | None = None
    readings: int | None = None
    unread: int | None = None
    seconds: float | None = None
    planned_s: float | None = None
    largest_gap_s: float | None = None
    shortest_glitch_s: float | None = None


class UnpluggedAtBoard(Finding, frozen=True, kw_only=True, tag="unplugged_at_board"):
    """What stands of the power-ups with the sensor unplugged at the board; the newest holds them all.

    Attributes:
        readings: what each read throughout; unknown where it was unsteady.
        power: how far each power-off was seen.
        watched: whether each was read for long enough.
    """

    readings: tuple[Reading, ...]
    power: tuple[PowerSeen, ...]
    watched: tuple[bool, ...]


class UnpluggedSetAside(Finding, frozen=True, kw_only=True, tag="unplugged_set_aside"):
    """The reading followed the filament: what was read in the power-up just before does not count.

    Attributes:
        key: of the watch that began it.
    """

    key: str


class SwitchNamed(Finding, frozen=True, kw_only=True, tag="switch_name"):
    """The name of the switch, settled over several replies and the record.

    Attributes:
        switch: the name; None where none could be settled.
        on_record: the name that was tested last; empty for none.
        replies: how often each name came.
        clear: whether nothing speaks against it.
    """

    newest_stands: ClassVar[bool] = True
    switch: str | None
    on_record: str
    replies: dict[str, int]
    clear: bool


class UnpluggedAtSensor(Finding, frozen=True, kw_only=True, tag="unplugged_at_sensor"):
    """What the input read with the cable unplugged at the sensor; unknown where it was unsteady."""

    reading: Reading


class TestsDone(Finding, frozen=True, kw_only=True, tag="tests_done"):
    """Readings kept for a diagnosis."""

    observations: tuple[Observed, ...]
