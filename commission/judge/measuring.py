"""What a series of trials and watches measured of the switch, from their readings."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.condition import Measured
from commission.judge.evidence import tally
from commission.judge.exposure import exposure_s, is_read, watched
from commission.judge.polarity import PREDICTIONS, TrialResult, majority
from commission.judge.stability import Sample, settling, unwanted_changes
from commission.vocabulary import Presence, SwitchBehaviour

Samples = tuple[Sample, ...]


@dataclass(frozen=True)
class TimedTrial:
    """One trial that stands, with its readings.

    Attributes:
        presence: as the operator declared it once the prompt was followed.
        moved: whether the prompt asked for a move, or to leave it.
        before: readings of the countdown.
        dwell: the readings that count.
    """

    presence: Presence
    moved: bool
    before: Samples
    dwell: Samples

    @property
    def read(self) -> bool:
        """Whether enough of its dwell is known; one that is unread counts for nothing."""
        return is_read([sample.reading for sample in self.dwell])

    @property
    def unasked(self) -> Samples:
        """The readings in which no change was wanted: the dwell, and all of them where nothing was to be moved."""
        return self.dwell if self.moved else (*self.before, *self.dwell)


@dataclass(frozen=True)
class TimedWatch:
    """One watch in which no change is wanted, with its readings, and how long it was to be watched, in seconds."""

    samples: Samples
    planned_s: float


@dataclass(frozen=True)
class Circumstances:
    """What the counts cannot say of a check: see `Measured`."""

    label: str
    wiring: str = ""
    firmware: str = ""
    passed: bool = True
    time_to_pause_s: float | None = None


def measure(
    trials: Sequence[TimedTrial], watches: Sequence[TimedWatch], behaviour: SwitchBehaviour, around: Circumstances
) -> Measured:
    """Counts, settle times and unwanted changes of one check.

    Args:
        trials: those that stand, in order; the unread among them are left out.
        watches: each in which no change was wanted.
        behaviour: the polarity found, by which a misread is told; where none was found, direct.
        around: what else is known of the check.
    """
    read = [trial for trial in trials if trial.read]
    counts = tally(
        [TrialResult(t.presence, majority([s.reading for s in t.dwell])) for t in read if t.moved], behaviour
    )
    still = [*(trial.unasked for trial in read), *(watch.samples for watch in watches)]
    return Measured(
        label=around.label,
        in_trials=counts.in_trials,
        in_misreads=counts.in_misreads,
        out_trials=counts.out_trials,
        out_misreads=counts.out_misreads,
        settle_s=settle_times_s(read, behaviour),
        unwanted_changes=sum(unwanted_changes([sample.reading for sample in samples]) for samples in still),
        watched_s=sum(exposure_s(samples) for samples in still),
        cut_short=sum(not watched(each.samples, each.planned_s).complete for each in watches),
        poll_gap_s=max((watched(samples, 0.0).largest_gap_s for samples in still), default=0.0),
        time_to_pause_s=around.time_to_pause_s,
        wiring=around.wiring,
        firmware=around.firmware,
        passed=around.passed,
    )


def settle_times_s(trials: Sequence[TimedTrial], behaviour: SwitchBehaviour) -> tuple[float, ...]:
    """Of each move that came to rest where it should, how long that took, in seconds: see `settling`."""
    expected = PREDICTIONS.get(behaviour, PREDICTIONS[SwitchBehaviour.DIRECT])
    rests = (settling((*t.before, *t.dwell), expected[t.presence]) for t in trials if t.moved)
    return tuple(rest.settle_time_s for rest in rests if rest is not None)
