"""What was established of the loop from the filament to the reading."""

from typing import ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.evidence.observations import Observed
from commission.judge.power import PowerSeen
from commission.vocabulary import FailSafe, Presence, Reading, SwitchBehaviour, Verdict


class Criterion(Struct, frozen=True, kw_only=True):
    """One thing the plan asks for: the rule, what was observed, and the verdict on it."""

    name: str
    rule: str
    observed: str
    verdict: Verdict


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

    advice: str


class _Watched(Finding, frozen=True, kw_only=True):
    """A watch in which no change was wanted, as it counts; see `judge.exposure.Watched`.

    Attributes:
        readings, unread: queries that were understood, and those that brought no reading.
        seconds: the exposure; in runs before exposures were counted the time that went by.
        unread, planned_s, largest_gap_s: the rest of it; None in those runs, which did not tell.
    """

    changes: int
    readings: int
    seconds: float
    unread: int | None = None
    planned_s: float | None = None
    largest_gap_s: float | None = None


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
    """A watch taken just before does not count."""

    readings: int


class WiggleSetAside(SetAside, frozen=True, kw_only=True, tag="wiggle_set_aside"):
    """The filament was out in it; it is done again."""


class MovingWiggleSetAside(SetAside, frozen=True, kw_only=True, tag="moving_wiggle_set_aside"):
    """The filament was out in it; it is done again."""


class WiggleMisread(Finding, frozen=True, kw_only=True, tag="wiggle_misread"):
    """Before the wiggle the switch read out, with filament in."""

    readings: int


class MovingWiggleMisread(Finding, frozen=True, kw_only=True, tag="moving_wiggle_misread"):
    """Before the machine moved the switch read out, with filament in."""

    readings: int


class WiggleLeftOut(Finding, frozen=True, kw_only=True, tag="wiggle_left_out"):
    """The wiggle was not done, or does not count."""

    reason: str = ""


class MovingWiggleLeftOut(Finding, frozen=True, kw_only=True, tag="moving_wiggle_left_out"):
    """The reading while the machine moves is not known."""

    reason: str = ""


class StartUp(Finding, frozen=True, kw_only=True, tag="start_up"):
    """What the switch read just after a power cycle; unknown where it was unsteady or could not be read.

    Attributes:
        expected: what it read before; None where that is not known.
        changes, readings, unread, seconds, planned_s, largest_gap_s: as of any watch; None in runs that did not tell.
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
