"""What one trial came to: late hands, unasked moves, and trials that were set aside before or after their dwell."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.judge.stability import Sample
from commission.judge.trial import Came, TimedTrial, came_to, counted_trials
from commission.vocabulary import Presence, Reading, Spoken, SwitchBehaviour

A, N, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
IN, OUT = Presence.IN, Presence.OUT


def samples(readings: list[Reading], from_s: float = 0.0) -> tuple[Sample, ...]:
    """One every 0.1 s."""
    return tuple(Sample(from_s + 0.1 * place, reading) for place, reading in enumerate(readings))


def trial(
    presence: Presence,
    dwell: list[Reading],
    *,
    moved: bool = True,
    before: list[Reading] | None = None,
    spoken: Spoken | None = None,
    finished: bool = True,
) -> TimedTrial:
    """A trial with these readings of the countdown and of the dwell."""
    return TimedTrial(presence, moved, samples(before or []), samples(dwell, 5.0), spoken, finished)


@pytest.mark.parametrize(
    ("dwell", "came", "changes"),
    [
        ([A] * 21, Came.RIGHT, 0),
        ([N] * 21, Came.WRONG, 0),
        ([N] * 3 + [A] * 18, Came.WRONG, 0),
        ([N] * 18 + [A] * 3, Came.WRONG, 0),
        ([U] + [N] * 3 + [U] + [A] * 16, Came.WRONG, 0),
        ([A] * 18 + [N] * 3, Came.RIGHT, 1),
        ([A] * 10 + [N] * 1 + [A] * 10, Came.RIGHT, 2),
        ([U] * 3 + [A] * 18, Came.UNREAD, 0),
        ([], Came.UNREAD, 0),
    ],
)
def test_an_insertion_is_counted_by_its_dwell(dwell: list[Reading], came: Came, changes: int) -> None:
    """One change from out to in is a hand that came late: a misread; any other change is the input's own."""
    (counted,) = counted_trials([trial(IN, dwell)], SwitchBehaviour.DIRECT)

    assert (came, changes) == (counted.came, counted.changes)


@pytest.mark.parametrize(
    ("began_s", "dwell", "came"),
    [
        (3.0, [N] * 3 + [A] * 18, Came.LATE),
        (3.0, [N] * 18 + [A] * 3, Came.LATE),
        (3.0, [U] + [N] * 3 + [U] + [A] * 16, Came.LATE),
        (4.6, [N] * 4 + [A] * 17, Came.LATE),
        (4.6, [N] * 5 + [A] * 16, Came.WRONG),
        (3.0, [N] * 21, Came.WRONG),
        (3.0, [N] * 3 + [A] * 15 + [N] * 3, Came.RIGHT),
        (3.0, [A] * 3 + [N] * 18, Came.WRONG),
        (3.0, [N] * 20 + [A], Came.LATE),
        (3.01, [N] * 20 + [A], Came.WRONG),
        (3.0, [N] + [A] * 20, Came.LATE),
    ],
)
def test_a_hand_late_by_a_short_countdown_counts_for_nothing(began_s: float, dwell: list[Reading], came: Came) -> None:
    """Where the dwell reads as asked for from 5 s after the prompt on at the latest, and to its end."""
    late = TimedTrial(IN, moved=True, before=(), dwell=samples(dwell, began_s))
    (counted,) = counted_trials([late], DIRECT)

    assert came is counted.came
    assert came is not Came.LATE or not (counted.stands or counted.is_of_its_kind or counted.unwanted)


@given(st.integers(0, 60), st.integers(15, 50), st.sampled_from(Presence))
def test_a_late_hand_is_forgiven_only_where_five_seconds_read_right(
    changes_at: int, dwell_at: int, presence: Presence
) -> None:
    """A hand that comes at any moment: a trial that a short countdown spoils reads right with a countdown of 5 s."""
    former, asked = (N, A) if presence is IN else (A, N)
    read = samples([former] * changes_at + [asked] * (80 - changes_at))
    short, long = (TimedTrial(presence, True, read[:at], read[at : at + 21]) for at in (dwell_at, 50))

    in_dwell = dwell_at < changes_at < dwell_at + 21
    assert (came_to(short) is Came.LATE) is (in_dwell and came_to(long) is Came.RIGHT)


@pytest.mark.parametrize(
    ("before", "dwell", "came", "leave_change"),
    [
        ([A] * 50, [A] * 21, Came.RIGHT, False),
        ([A] * 20 + [N] * 30, [N] * 21, Came.WRONG, False),
        ([A] * 50, [A] * 5 + [N] * 16, Came.WRONG, False),
        ([A] * 20 + [N] * 2 + [A] * 28, [A] * 21, Came.RIGHT, True),
        ([A] * 50, [A] * 5 + [N] * 2 + [A] * 14, Came.RIGHT, True),
    ],
)
def test_a_leave_it_prompt_counts_a_lasting_change_as_a_misread(
    before: list[Reading], dwell: list[Reading], came: Came, leave_change: bool
) -> None:
    """A hand that moved unasked changes the reading once and for all; an input that comes back did it by itself."""
    (counted,) = counted_trials([trial(IN, dwell, moved=False, before=before)], SwitchBehaviour.DIRECT)

    assert (came, leave_change) == (counted.came, counted.leave_change)


def test_a_move_that_was_forgotten_and_made_up_for_is_one_misread() -> None:
    """Forgotten at the withdrawal and done at the leave-it prompt behind it, it counts once."""
    forgotten = trial(OUT, [A] * 21, before=[A] * 50)
    caught_up = trial(OUT, [N] * 21, moved=False, before=[A] * 20 + [N] * 30)

    assert [Came.WRONG, Came.RIGHT] == [each.came for each in counted_trials([forgotten, caught_up], DIRECT)]
    assert Came.WRONG is came_to(caught_up)


@pytest.mark.parametrize(
    ("dwell", "spoken", "finished", "came"),
    [
        ([A] * 21, Spoken.BEFORE, True, Came.SET_ASIDE),
        ([N] * 21, Spoken.BEFORE, True, Came.SET_ASIDE),
        ([], Spoken.BEFORE, True, Came.SET_ASIDE),
        ([], None, False, Came.SET_ASIDE),
        ([A] * 21, Spoken.LATER, True, Came.DROPPED),
        ([N] * 21, Spoken.LATER, True, Came.WRONG),
        ([N] * 3 + [A] * 18, Spoken.LATER, True, Came.WRONG),
        ([A] * 18 + [N] * 3, Spoken.LATER, True, Came.RIGHT),
    ],
)
def test_setting_aside_never_removes_a_misread(
    dwell: list[Reading], spoken: Spoken | None, finished: bool, came: Came
) -> None:
    """Before the dwell it is counted as set aside, whatever it reads; later only a trial that read right is dropped."""
    assert came is came_to(trial(IN, dwell, spoken=spoken, finished=finished))


@given(st.lists(st.sampled_from([A, N, U]), max_size=30), st.booleans(), st.sampled_from(Presence))
def test_a_trial_set_aside_later_is_never_better_than_it_was(
    dwell: list[Reading], moved: bool, presence: Presence
) -> None:
    """What read wrong, or changed by itself, stands as it stood."""
    (stood,) = counted_trials([trial(presence, dwell, moved=moved)], DIRECT)
    (aside,) = counted_trials([trial(presence, dwell, moved=moved, spoken=Spoken.LATER)], DIRECT)

    spotless = stood.came is Came.RIGHT and not stood.unwanted
    assert (Came.DROPPED if spotless else stood.came) is aside.came
    assert stood.unwanted == aside.unwanted


def test_an_inverted_switch_is_counted_by_its_own_polarity() -> None:
    """Inactive with filament in is right there."""
    (counted,) = counted_trials([trial(IN, [N] * 21)], SwitchBehaviour.INVERTED)

    assert Came.RIGHT is counted.came


@pytest.mark.parametrize("behaviour", [each for each in SwitchBehaviour if each is not SwitchBehaviour.INVERTED])
def test_any_other_switch_is_counted_as_direct(behaviour: SwitchBehaviour) -> None:
    """Where the polarity found is not inverted, or none was found, inactive with filament in is a misread."""
    (counted,) = counted_trials([trial(IN, [N] * 21)], behaviour)

    assert Came.WRONG is counted.came


DIRECT = SwitchBehaviour.DIRECT
