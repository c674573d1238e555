"""What a loop check found, as counts: the argument of `accept`."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.double_sampling import FIRST_SERIES, SamplingPlan
from commission.judge.exposure import Watched, watched
from commission.judge.failsafe import UnpluggedResult
from commission.judge.stability import Sample
from commission.vocabulary import PullConclusion, Reading, SwitchBehaviour


@dataclass(frozen=True)
class WiggleResult:
    """What was read while the cable and its connectors were moved.

    Attributes:
        watched: what of it counts.
        misreads: known readings that contradict the presence declared for it; steady and wrong is no pass.
    """

    watched: Watched
    misreads: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.misreads <= self.watched.readings:
            raise ValueError(f"A wiggle of {self.watched.readings} readings cannot hold {self.misreads} misreads.")

    @property
    def clean(self) -> bool:
        """Whether every known reading shows the filament that is in."""
        return not (self.watched.changes or self.misreads)


def wiggled(samples: Sequence[Sample], planned_s: float) -> WiggleResult:
    """A wiggle as it counts; it is done only where filament in reads active, so inactive is a misread."""
    misreads = sum(sample.reading is Reading.INACTIVE for sample in samples)
    return WiggleResult(watched(samples, planned_s), misreads)


@dataclass(frozen=True)
class StartUp:
    """What was read right after the power came back.

    Attributes:
        watched: what of it counts.
        as_before: whether it read what it read before; None where that is not known.
        sentence: the same for a person.
        seen: whether the printer was seen to begin anew before it.
    """

    watched: Watched
    as_before: bool | None
    sentence: str
    seen: bool = True


@dataclass(frozen=True)
class PullResult:
    """What a proof of the pull came to, with the sentence for a person."""

    conclusion: PullConclusion
    sentence: str

    @property
    def proven(self) -> bool:
        """Whether the input is known to be held with the sensor unplugged."""
        return self.conclusion is PullConclusion.PROVEN


@dataclass(frozen=True)
class LoopEvidence:
    """Everything the loop check found, as counts.

    Attributes:
        polarity: the finding of the polarity rule, or NOT_REPORTED.
        in_trials: readable trials with filament in.
        in_misreads: those of them that were misread (nuisance trips).
        out_trials: readable trials with filament out.
        out_misreads: those of them that were misread (missed runouts).
        unwanted_changes_in_dwells: changes of the reading inside all dwells, trials and leave-it prompts alike.
        leave_it_trials: prompts at which the filament was left as it was.
        leave_it_changes: those of them during which the reading changed, from the prompt to the end of the dwell.
        wiggle: None if it was not done.
        unplugged: one per power-up.
        in_set_aside, out_set_aside: trials of each kind that were set aside before their dwell, or not finished.
        sampling: the numbers of trials that a pass takes.
        broken_off_changes: unwanted changes in watches of this series that were broken off.
        broken_off_unplugged: power-ups of it that were broken off after the unplugged input had read other than out.
        broken_off_open: such in which it had read in before it was known whether the sensor was unplugged.
        failed_in: the run in which this series failed already; empty when it did not.
        polarity_odds: likeliest to runner-up, if the rule was applied.
        voided_trials: trials that were set aside after they had read right, or in which the hand came late within the
            longest countdown: they count for nothing.
        unread_trials: trials in which too few readings were known.
        given_up: the trials were ended because too many of them could not be read or were set aside.
        start_up: what was read after the power came back; None if the power was not off.
        moving: the second wiggle, hands off with the machine moving; None if it was not done.
        at_sensor: unplugged at the sensor, the cable still on the board; None if it was not done.
        pull: what holds the unplugged input; None if nobody proved it.
    """

    polarity: SwitchBehaviour
    in_trials: int
    in_misreads: int
    out_trials: int
    out_misreads: int
    unwanted_changes_in_dwells: int
    leave_it_trials: int
    leave_it_changes: int
    wiggle: WiggleResult | None
    unplugged: tuple[UnpluggedResult, ...]
    in_set_aside: int = 0
    out_set_aside: int = 0
    sampling: SamplingPlan = FIRST_SERIES
    broken_off_changes: int = 0
    broken_off_unplugged: int = 0
    broken_off_open: int = 0
    failed_in: str = ""
    polarity_odds: float | None = None
    voided_trials: int = 0
    unread_trials: int = 0
    given_up: bool = False
    start_up: StartUp | None = None
    moving: WiggleResult | None = None
    at_sensor: UnpluggedResult | None = None
    pull: PullResult | None = None

    def __post_init__(self) -> None:
        pairs = (
            ("misreads with filament in", self.in_misreads, self.in_trials),
            ("misreads with filament out", self.out_misreads, self.out_trials),
            ("changes at leave-it prompts", self.leave_it_changes, self.leave_it_trials),
        )
        for what, part, whole in pairs:
            if not 0 <= part <= whole:
                raise ValueError(f"There cannot be {part} {what} among {whole}.")
        counts = (self.unwanted_changes_in_dwells, self.voided_trials, self.unread_trials, self.broken_off_changes)
        power_ups = (self.broken_off_unplugged, self.broken_off_open)
        if min(*counts, *power_ups, self.in_set_aside, self.out_set_aside) < 0:
            raise ValueError("Counts of changes and of trials set aside begin at 0.")
