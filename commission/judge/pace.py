"""The person's own pace: how long the countdown before the next prompt's dwell is.

It follows from the trials before it alone and is fixed before the prompt is shown, so no moment is chosen by what it
shows. A leave-it prompt gets the same countdown, so that nothing tells it from the others. A hand that came late in a
dwell ends it: from then on the plan's own countdown stands. Else who is slow now and then would come late twice, and
that fails a sound sensor (see `scripts/simulate_pace.py`).
"""

import math
from collections.abc import Iterable, Sequence

from commission.judge.plan import Plan
from commission.judge.trial import TimedTrial
from commission.vocabulary import Reading

LEAST_TIMES = 6
"""So many times are known before the countdown follows them: the longest of fewer says little of who is at work."""
SHARE = 0.95
FACTOR = 1.3
LEAST_S = 1.5
SPARE_S = 0.5
MOMENT_DIGITS = 4
"""Moments count as the record has them, to a tenth of a millisecond: taken up again, a run counts down alike."""
COUNTDOWN_DIGITS = 2


def countdown_s(plan: Plan, before: Iterable[TimedTrial]) -> float:
    """Seconds from the next prompt to the first reading of its dwell.

    Args:
        plan: its countdown is the longest; it stands where the plan does not follow the person's pace.
        before: the trials that this person has done in this phase, first to last.
    """
    if not plan.own_pace:
        return plan.countdown_s
    done = list(before)
    times = [time_s for trial in done if (time_s := time_to_change_s(trial)) is not None]
    if len(times) < LEAST_TIMES or any(changed_in_dwell(trial) for trial in done):
        return plan.countdown_s
    own_s = max(LEAST_S, FACTOR * percentile(times, SHARE)) + SPARE_S
    return min(plan.countdown_s, round(own_s, COUNTDOWN_DIGITS))


def time_to_change_s(trial: TimedTrial) -> float | None:
    """From the prompt to the reading from which on the trial reads as it ends; None where it ends as it began.

    A hand that came late in the dwell counts with its whole time. A leave-it prompt has no such time.
    """
    known = [each for each in (*trial.before, *trial.dwell) if each.reading is not Reading.UNKNOWN]
    if not trial.moved or not known or known[0].reading is known[-1].reading:
        return None
    last = next(place for place in reversed(range(len(known))) if known[place].reading is not known[-1].reading)
    return round(known[last + 1].at_s, MOMENT_DIGITS)


def changed_in_dwell(trial: TimedTrial) -> bool:
    """Whether a move ended otherwise than its dwell began: the hand came late, or the input moved by itself."""
    known = [each.reading for each in trial.dwell if each.reading is not Reading.UNKNOWN]
    return trial.moved and bool(known) and known[0] is not known[-1]


def percentile(values: Sequence[float], share: float) -> float:
    """The smallest of the values that at least this share of them does not exceed (nearest rank).

    Raises:
        ValueError: there are no values, or the share does not lie above 0 and at most at 1.
    """
    if not values or not 0 < share <= 1:
        raise ValueError("A percentile takes values, and a share above 0 and at most 1.")
    rank = math.ceil(round(share * len(values), 9))  # 0.95 x 20 is 19, whatever its last binary digit
    return sorted(values)[rank - 1]


SLOWEST, QUICKEST = 2.0, 0.5
SURE_AFTER_S = 900.0
"""The plan weighs as much as so long a stretch of work: who reads the first sheets slowly is not twice as long at it
all, for most of the rest is paced by countdowns and by the printer."""


def left_s(planned_s: float, done_s: float, took_s: float) -> float:
    """About how long the rest of a run takes this person.

    Args:
        planned_s: what the rest was planned to take.
        done_s: what was planned for all that is done.
        took_s: what it took; the more is done, the more its ratio to the plan counts, between half and twice the plan.
    """
    pace = (took_s + SURE_AFTER_S) / (done_s + SURE_AFTER_S)
    return planned_s * min(SLOWEST, max(QUICKEST, pace))
