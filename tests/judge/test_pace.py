"""The person's own pace: the countdown that the trials before it ask for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.judge.pace import LEAST_TIMES, countdown_s, left_s, percentile, time_to_change_s
from commission.judge.plan import Plan
from commission.judge.stability import Sample
from commission.judge.trial import TimedTrial
from commission.vocabulary import Presence, Reading

OWN, FIXED = Plan(seed=1, own_pace=True), Plan(seed=1, countdown_s=4.0)
IN, OUT, UNREAD = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def trial(before: str, dwell: str = "", *, moved: bool = True) -> TimedTrial:
    """A trial read ten times a second: `#` active, `-` inactive, `?` not read."""
    words = {"#": IN, "-": OUT, "?": UNREAD}
    samples = tuple(Sample(0.1 * place, words[word]) for place, word in enumerate(before + dwell))
    return TimedTrial(Presence.IN, moved, samples[: len(before)], samples[len(before) :])


def after(time_s: float) -> TimedTrial:
    """A move that changed the reading at that time."""
    return TimedTrial(Presence.IN, True, (Sample(0.0, OUT), Sample(time_s, IN)), (Sample(9.0, IN),))


@given(
    values=st.lists(st.floats(0, 100), min_size=1, max_size=80),
    share=st.sampled_from([0.05, 0.25, 0.5, 0.9, 0.95, 1.0]),
)
def test_the_percentile_is_the_nearest_rank(values: list[float], share: float) -> None:
    """Reference library: numpy's inverted empirical distribution, which is the same definition."""
    assert np.percentile(values, 100 * share, method="inverted_cdf") == percentile(values, share)


@pytest.mark.parametrize(("values", "share"), [([], 0.95), ([1.0], 0.0), ([1.0], 1.1)])
def test_a_percentile_of_nothing_is_refused(values: list[float], share: float) -> None:
    """And a share that is none."""
    with pytest.raises(ValueError, match="percentile"):
        percentile(values, share)


@pytest.mark.parametrize(
    ("taken", "time_s"),
    [
        (trial("---####", "####"), 0.3),
        (trial("###----", "----"), 0.3),
        (trial("-#-####", "####"), 0.3),
        (trial("?-??###", "####"), 0.4),
        (trial("-------", "--##"), 0.9),
        (trial("-------", "---#"), 1.0),
        (trial("--###", "###-"), None),
        (trial("-------", "----"), None),
        (trial("???????", "????"), None),
        (trial("---####", "####", moved=False), None),
        (trial("", ""), None),
    ],
    ids=[
        "in",
        "out",
        "bounce",
        "unread",
        "late",
        "at the last",
        "fell back",
        "nothing done",
        "nothing read",
        "leave it",
        "empty",
    ],
)
def test_a_time_ends_where_the_reading_stays(taken: TimedTrial, time_s: float | None) -> None:
    """Worked out by hand from readings a tenth of a second apart."""
    assert time_s == (None if time_s is None else pytest.approx(time_to_change_s(taken)))
    assert (time_s is None) is (time_to_change_s(taken) is None)


@pytest.mark.parametrize(
    ("longest_s", "countdown"),
    [(0.4, 2.0), (1.1, 2.0), (2.0, 3.1), (3.0, 4.4), (3.5, 5.0), (6.9, 5.0)],
)
def test_the_countdown_follows_the_slowest_of_few(longest_s: float, countdown: float) -> None:
    """Worked out by hand: max(1.5 s, 1.3 x the longest) + 0.5 s, at most the 5 s of the plan."""
    before = [after(0.3)] * (LEAST_TIMES - 1) + [after(longest_s)]

    assert countdown == pytest.approx(countdown_s(OWN, before))


def test_one_slow_hand_in_twenty_is_forgotten() -> None:
    """The 95th percentile of twenty times is the nineteenth: 1.3 x 1 s is under 1.5 s."""
    assert 5.0 == countdown_s(OWN, [*[after(1.0)] * 18, after(4.0)])
    assert 2.0 == countdown_s(OWN, [*[after(1.0)] * 19, after(4.0)])


def test_the_plan_counts_down_until_enough_is_known() -> None:
    """Leave-it prompts, and moves that changed nothing, have no time."""
    rests = [trial("----", "----"), trial("--##", "####", moved=False)] * 20

    assert 6 == LEAST_TIMES
    assert 5.0 == countdown_s(OWN, [*rests, *[after(0.5)] * (LEAST_TIMES - 1)])
    assert 2.0 == countdown_s(OWN, [*rests, *[after(0.5)] * LEAST_TIMES])


def test_moments_and_countdowns_are_rounded() -> None:
    """A moment to a tenth of a millisecond, as the record has it; 1.3 x 1.2345 s and 0.5 s to a hundredth of one."""
    assert 0.1234 == time_to_change_s(after(0.12344))
    assert 2.1 == countdown_s(OWN, [after(1.2345)] * 6)


def test_a_late_hand_brings_the_plan_back() -> None:
    """From then on: late a second time would fail a sound sensor."""
    quick, late = [after(0.5)] * 30, trial("-----", "-----#####")

    assert (2.0, 5.0, 5.0) == tuple(countdown_s(OWN, before) for before in (quick, [*quick, late], [late, *quick]))


def test_a_named_countdown_is_fixed() -> None:
    """As with `--countdown`, and in every plan of the releases before."""
    assert 4.0 == countdown_s(FIXED, [after(0.5)] * 30)


@given(times=st.lists(st.floats(0.05, 8), min_size=1, max_size=50))
def test_the_countdown_keeps_its_bounds(times: list[float]) -> None:
    """Never under 2 s, never above the plan; the moments of the record give the same."""
    live = countdown_s(OWN, [after(time_s) for time_s in times])

    assert 2.0 <= live <= 5.0
    assert live == countdown_s(OWN, [after(round(time_s, 4)) for time_s in times])


@pytest.mark.parametrize(
    ("planned_s", "done_s", "took_s", "left"),
    [
        (600, 0, 0, 600),
        (600, 900, 900, 600),
        (600, 900, 1800, 900),
        (600, 900, 0, 300),
        (600, 900, 90_000, 1200),
        (0, 900, 1800, 0),
    ],
    ids=["at the beginning", "as planned", "half as fast", "in no time", "for ever", "at the end"],
)
def test_the_rest_goes_at_the_pace_so_far(planned_s: float, done_s: float, took_s: float, left: float) -> None:
    """A quarter of an hour of plan weighs in beside what is done; the pace stays between half and twice the plan.

    Worked by hand: half as fast over 15 minutes is (1800 + 900) / (900 + 900) = 1.5 times the plan.
    """
    assert left == left_s(planned_s, done_s, took_s)
