"""What one trial came to: read right, misread, set aside, or nothing that counts.

A person is no machine, and no slip of a hand may hide a misread. So four rules, all of this project's choice:

- One lasting change where there should be none (a hand that came late in a dwell, a hand that moved at a leave-it
  prompt) is one misread of that kind, and no unwanted change of the input.
- A hand that comes late in a dwell, but within the longest countdown, is late only because the countdown was short: a
  fixed one of 5 s would have read the same trial right. It counts for nothing, and another one is taken. So no sensor
  passes that would not pass with the long countdown. Who is later than that made a slip, which is a misread.
- A trial that is set aside before its dwell begins is counted beside the misreads: whoever sees what the sensor reads,
  by a lamp on it, gains nothing by it.
- A trial that is set aside later stays a misread if it read wrong; if it read right it is dropped.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from itertools import dropwhile

from commission.judge.exposure import is_read
from commission.judge.polarity import PREDICTIONS, majority
from commission.judge.stability import Sample, unwanted_changes
from commission.vocabulary import Presence, Reading, Spoken, SwitchBehaviour

Samples = tuple[Sample, ...]
LONGEST_COUNTDOWN_S = 5.0
"""Seconds to act, unless a plan names others; where they follow the person's pace, at most so many."""


class Came(Enum):
    """What a trial came to."""

    RIGHT = "read right"
    WRONG = "misread"
    SET_ASIDE = "set aside before its dwell"
    DROPPED = "set aside after it had read right"
    UNREAD = "unread"
    LATE = "the hand came late, within the longest countdown"


@dataclass(frozen=True)
class TimedTrial:
    """One trial with its readings.

    Attributes:
        presence: as the operator declared it once the prompt was followed.
        moved: whether the prompt asked for a move, or to leave it.
        before: readings of the countdown.
        dwell: the readings that count.
        spoken: when the operator set it aside; None where nobody did.
        finished: whether its dwell came to its end; the run was ended in it otherwise.
    """

    presence: Presence
    moved: bool
    before: Samples
    dwell: Samples
    spoken: Spoken | None = None
    finished: bool = True

    @cached_property
    def read(self) -> bool:
        """Whether enough of its dwell is known; one that is unread counts for nothing."""
        return is_read([sample.reading for sample in self.dwell])

    @property
    def unasked(self) -> Samples:
        """The readings in which no change was wanted: the dwell, and all of them where nothing was to be moved."""
        return self.dwell if self.moved else (*self.before, *self.dwell)

    @cached_property
    def majority(self) -> Reading:
        """What its dwell reads."""
        return majority([sample.reading for sample in self.dwell])

    @cached_property
    def dwell_changes(self) -> int:
        """How often a known reading of the dwell differs from the one before it."""
        return _changes(self.dwell)

    @cached_property
    def unasked_changes(self) -> int:
        """The same of all readings in which no change was wanted."""
        return _changes(self.unasked)

    @property
    def within_longest(self) -> bool:
        """Whether the dwell reads as it ends by the time at which the longest countdown is over."""
        known = [each for each in self.dwell if each.reading is not Reading.UNKNOWN]
        settled = dropwhile(lambda each: each.reading is not known[-1].reading, known)
        return bool(known) and next(settled).at_s <= LONGEST_COUNTDOWN_S

    @cached_property
    def lasting_change(self) -> tuple[Reading, Reading] | None:
        """What those readings changed from and to, where they changed once and stayed so; else None."""
        known = [sample.reading for sample in self.unasked if sample.reading is not Reading.UNKNOWN]
        return (known[0], known[-1]) if self.unasked_changes == 1 else None


_COUNTED = (Came.RIGHT, Came.WRONG)
_BESIDE_MISREADS = (Came.WRONG, Came.SET_ASIDE)


@dataclass(frozen=True)
class Counted:
    """One trial as it counts.

    Attributes:
        trial: the trial itself.
        came: what it came to.
        changes: unwanted changes of the input inside its dwell.
        leave_change: the input changed by itself at a leave-it prompt.
    """

    trial: TimedTrial
    came: Came
    changes: int = 0
    leave_change: bool = False

    @property
    def unwanted(self) -> int:
        """Unwanted changes of the input, in the countdown of a leave-it prompt too."""
        if self.trial.moved:
            return self.changes
        return self.trial.unasked_changes if self.leave_change else 0

    @property
    def stands(self) -> bool:
        """Whether its readings count; of one that was set aside only that it was counts."""
        return self.came in _COUNTED

    @property
    def is_of_its_kind(self) -> bool:
        """Whether it is one of the trials of its kind: a move, or what else is counted beside the misreads."""
        return self.came in _BESIDE_MISREADS or (self.came is Came.RIGHT and self.trial.moved)


def counted_trials(trials: Sequence[TimedTrial], behaviour: SwitchBehaviour) -> tuple[Counted, ...]:
    """Every trial of a series, first to last, as it counts.

    Args:
        trials: all of them, those that were set aside and those that were not finished too.
        behaviour: the polarity found; where none was found, direct.
    """
    expected = PREDICTIONS[
        SwitchBehaviour.INVERTED if behaviour is SwitchBehaviour.INVERTED else SwitchBehaviour.DIRECT
    ]
    done: list[Counted] = []
    for trial in trials:
        late = bool(done) and done[-1].came is Came.WRONG and done[-1].trial.presence is trial.presence
        done.append(_count(trial, expected, late=late))
    return tuple(done)


def came_to(trial: TimedTrial, before: TimedTrial | None = None) -> Came:
    """What one trial came to as far as the direct polarity says, given the one before it."""
    return counted_trials([trial] if before is None else [before, trial], SwitchBehaviour.DIRECT)[-1].came


def _count(trial: TimedTrial, expected: Mapping[Presence, Reading], *, late: bool) -> Counted:
    """One trial; `late` says that the one before it, of the same kind, was misread."""
    if not trial.finished or trial.spoken is Spoken.BEFORE:
        return Counted(trial, Came.SET_ASIDE)
    if not trial.read:
        return Counted(trial, Came.UNREAD)
    seen = _moved(trial, expected) if trial.moved else _left(trial, expected, late=late)
    spotless = seen.came is Came.RIGHT and not seen.changes and not seen.leave_change
    return Counted(trial, Came.DROPPED) if spotless and trial.spoken is Spoken.LATER else seen


def _moved(trial: TimedTrial, expected: Mapping[Presence, Reading]) -> Counted:
    wanted, former = expected[trial.presence], expected[trial.presence.other]
    if trial.lasting_change == (former, wanted):  # the hand came late
        return Counted(trial, Came.LATE if trial.within_longest else Came.WRONG)
    came = Came.RIGHT if trial.majority is wanted else Came.WRONG
    return Counted(trial, came, changes=trial.dwell_changes)


def _left(trial: TimedTrial, expected: Mapping[Presence, Reading], *, late: bool) -> Counted:
    wanted = expected[trial.presence]
    change = trial.lasting_change
    if change is None:
        return Counted(trial, Came.RIGHT, trial.dwell_changes, leave_change=bool(trial.unasked_changes))
    caught_up = late and change[1] is wanted  # the move that the misread before it lacked
    return Counted(trial, Came.RIGHT if caught_up else Came.WRONG)


def _changes(samples: Samples) -> int:
    return unwanted_changes([sample.reading for sample in samples])
