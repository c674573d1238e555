"""What a series of trials and watches measured of the switch, from their readings."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.condition import Measured
from commission.judge.exposure import exposure_s, watched, watched_gap_s
from commission.judge.polarity import PREDICTIONS
from commission.judge.stability import settling, unwanted_changes
from commission.judge.trial import Came, Counted, Samples, TimedTrial, counted_trials
from commission.vocabulary import Presence, SwitchBehaviour

STUCK = (SwitchBehaviour.STUCK_ACTIVE, SwitchBehaviour.STUCK_INACTIVE)


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
    counted = [each for each in counted_trials(trials, behaviour) if each.stands]
    read = [each.trial for each in counted]
    kinds = {
        side: [each for each in counted if each.is_of_its_kind and each.trial.presence is side] for side in Presence
    }
    still = [*(trial.unasked for trial in read), *(watch.samples for watch in watches)]
    return Measured(
        label=around.label,
        in_trials=len(kinds[Presence.IN]),
        in_misreads=_misreads(kinds[Presence.IN]),
        out_trials=len(kinds[Presence.OUT]),
        out_misreads=_misreads(kinds[Presence.OUT]),
        settle_s=settle_times_s(read, behaviour),
        unwanted_changes=sum(each.unwanted for each in counted)
        + sum(unwanted_changes([sample.reading for sample in watch.samples]) for watch in watches),
        watched_s=sum(exposure_s(samples) for samples in still),
        cut_short=sum(not watched(each.samples, each.planned_s).complete for each in watches),
        poll_gap_s=max(map(watched_gap_s, still), default=0.0),
        time_to_pause_s=around.time_to_pause_s,
        wiring=around.wiring,
        firmware=around.firmware,
        passed=around.passed,
    )


def _misreads(counted: Sequence[Counted]) -> int:
    return sum(each.came is Came.WRONG for each in counted)


def settle_times_s(trials: Sequence[TimedTrial], behaviour: SwitchBehaviour) -> tuple[float, ...]:
    """Of each move that came to rest where it should, how long that took, in seconds: see `settling`.

    A switch that is stuck comes to rest nowhere: it has no settle time, and not one of 0.
    """
    if behaviour in STUCK:
        return ()
    expected = PREDICTIONS.get(behaviour, PREDICTIONS[SwitchBehaviour.DIRECT])
    rests = (settling((*t.before, *t.dwell), expected[t.presence]) for t in trials if t.moved)
    return tuple(rest.settle_time_s for rest in rests if rest is not None)
