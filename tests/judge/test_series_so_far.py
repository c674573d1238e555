"""The series that trials belong to: what stands in it, what follows it, and how trials are added to it."""

import pytest

from commission.judge.double_sampling import FIRST_SERIES, SECOND_SERIES, decide
from commission.judge.plan import Plan
from commission.judge.stability import Sample
from commission.judge.trial import Came, TimedTrial
from commission.judge.trial_series import NOTHING_SO_FAR, Begun, Counts, Goal, SeriesSoFar, Tally
from commission.vocabulary import Presence, Reading, Spoken, SwitchBehaviour, Verdict

ON, OFF = Reading.ACTIVE, Reading.INACTIVE
DIRECT = SwitchBehaviour.DIRECT
FAILED = SeriesSoFar(2, Begun.ANEW, runs=("run 4", "run 5"), failed_before=("run 3",), came_to=Verdict.FAIL)


def trial(*readings: Reading, presence: Presence = Presence.IN, moved: bool = True) -> TimedTrial:
    """A trial whose dwell read so."""
    return TimedTrial(presence, moved, (), tuple(Sample(0.1 * n, reading) for n, reading in enumerate(readings)))


RIGHT, WRONG = trial(*(ON,) * 21), trial(*(OFF,) * 21)
FLICKERS = trial(*(ON,) * 7, *(OFF, ON) * 7)


@pytest.mark.parametrize(
    ("series", "blemished"),
    [
        (NOTHING_SO_FAR, False),
        (SeriesSoFar(trials=(RIGHT,)), False),
        (SeriesSoFar(trials=(WRONG,)), True),
        (SeriesSoFar(trials=(FLICKERS,)), True),
        (SeriesSoFar(watch_changes=1), True),
        (SeriesSoFar(unplugged_bad=1), True),
        (SeriesSoFar(unplugged_open=1), True),
        (FAILED, True),
    ],
)
def test_a_blemish_is_what_a_new_beginning_hides(series: SeriesSoFar, blemished: bool) -> None:
    """A misread, a change by itself, a bad power-up or one left open, or a fail; a clean trial is none."""
    assert blemished is series.blemished


def test_the_series_after_a_fail_remembers_it() -> None:
    """Its number is the next one, and the last run of the failed series joins those that failed before."""
    after = FAILED.changed("new cable")

    assert (3, Begun.CHANGE, ("run 3", "run 5"), "new cable") == (
        after.number,
        after.begun,
        after.failed_before,
        after.change,
    )
    assert ((), None) == (after.trials, after.came_to)


def test_a_series_without_a_run_takes_the_change_itself() -> None:
    """Nothing was tried in it yet, so that no new number is spent."""
    changed = NOTHING_SO_FAR.changed("new cable")

    assert (1, Begun.CHANGE, "new cable") == (changed.number, changed.begun, changed.change)


def test_one_examined_series_follows_a_fail() -> None:
    """It takes more trials; a second examined series does not follow it, and none follows a pass."""
    examined = FAILED.examined()

    assert (Begun.EXAMINED, False) == (examined.begun, examined.may_be_examined)
    assert examined.examined() is examined
    assert NOTHING_SO_FAR.examined() is NOTHING_SO_FAR
    assert (FIRST_SERIES, SECOND_SERIES) == (FAILED.sampling(Plan(seed=1)), examined.sampling(Plan(seed=1)))


def test_counts_tell_kinds_and_prompts_apart() -> None:
    """A leave-it prompt is no trial of its kind; an unwanted change in a dwell is counted by itself."""
    left_alone = trial(*(OFF,) * 21, presence=Presence.OUT, moved=False)
    counts = Counts.of([RIGHT, WRONG, FLICKERS, left_alone], DIRECT)

    assert (Came.RIGHT, Came.WRONG) == counts.kind(Presence.IN)[:2]
    assert () == counts.kind(Presence.OUT)
    assert (1, 1, 0) == (counts.number(Came.WRONG), counts.leave_trials, counts.leave_changes)
    assert counts.dwell_changes == FLICKERS.dwell_changes > 0
    assert 1 == len(counts.standing(Presence.IN, FIRST_SERIES).misreads)


def test_a_goal_grows_by_a_blemish() -> None:
    """As many cycles as a pass takes, or the few of a short check; with a misread as many as that takes."""
    clean, blemished = decide(FIRST_SERIES, [Came.RIGHT] * 6), decide(FIRST_SERIES, [Came.RIGHT] * 5 + [Came.WRONG])
    whole, short = Goal(FIRST_SERIES, 22), Goal(FIRST_SERIES, 6)

    assert (22, 38) == (whole.trials(clean), whole.trials(blemished))
    assert (6, 22) == (short.trials(clean), short.trials(blemished))
    assert (False, True, False) == (whole.reached(clean), short.reached(clean), short.reached(blemished))


def test_a_tally_counts_what_was_there_and_what_is_new() -> None:
    """The trials of the series come first; those of this phase can be counted alone, and the newest set aside."""
    tally = Tally(SeriesSoFar(trials=(WRONG,)))
    tally.set_last_aside()  # nothing is there yet that could be
    tally.add(RIGHT)
    before = tally.counts(DIRECT).number(Came.RIGHT)
    tally.set_last_aside()

    assert (1, 2, 1) == (before, len(tally.counts(DIRECT).trials), len(tally.counts_now(DIRECT).trials))
    assert Came.DROPPED is tally.counts_now(DIRECT).trials[0].came
    assert Spoken.LATER is tally.now[-1].spoken
    assert tally.counts(DIRECT) is tally.counts(DIRECT)
    tally.add(RIGHT)
    assert 3 == len(tally.counts(DIRECT).trials)
