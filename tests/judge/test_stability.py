"""Unwanted changes, bounds on their rate, and what polling can see."""

import math
import random
from bisect import bisect_right
from itertools import accumulate

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.stability import (
    Sample,
    glitch_sentence,
    largest_gap_s,
    poisson_upper,
    rate_sentence,
    settling,
    shortest_glitch_s,
    unwanted_changes,
)
from commission.vocabulary import Reading

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ([], 0),
        ([ON], 0),
        ([ON] * 21, 0),
        ([ON, OFF, ON], 2),
        ([ON, LOST, ON], 0),
        ([ON, LOST, OFF], 1),
        ([LOST, LOST], 0),
    ],
)
def test_changes_are_counted_between_readings_that_could_be_read(readings: list[Reading], expected: int) -> None:
    """A change is a reading that differs from the last one that was understood."""
    assert expected == unwanted_changes(readings)


def test_a_clean_minute_allows_180_an_hour() -> None:
    """No change in 60 s bounds the rate at 180 an hour at 95 %, which is three events in the time watched."""
    assert 180 == round(3600 * poisson_upper(0, 60, 0.95))
    # the rule of three, exactly: -ln 0.05 events
    assert -math.log(0.05) / 60 == pytest.approx(poisson_upper(0, 60, 0.95), rel=1e-12)


@pytest.mark.parametrize("beyond", [1e-3, 1e-9, 1e-12, 2**-40])
def test_a_clean_watch_is_bounded_however_sure(beyond: float) -> None:
    """-ln(1 - C) events are the bound without a change, as near to certainty as one asks: by hand."""
    assert -math.log(beyond) == pytest.approx(poisson_upper(0, 1, 1 - beyond), rel=1e-4)


@settings(deadline=None, max_examples=80)
@given(st.integers(0, 300), st.floats(0.1, 1e5), st.sampled_from((0.5, 0.8, 0.9, 0.95, 0.99, 0.999)))
def test_the_rate_bound_is_scipys_chi_square(changes: int, duration_s: float, confidence: float) -> None:
    """The bound equals the chi-square quantile with 2k+2 degrees of freedom over twice the time."""
    expected = stats.chi2.ppf(confidence, 2 * changes + 2) / (2 * duration_s)

    assert expected == pytest.approx(poisson_upper(changes, duration_s, confidence), rel=1e-9)


def test_a_rate_without_time_is_refused() -> None:
    """No time, a negative count or a certain bound is an error, and so is a bound beyond all numbers."""
    for changes, duration_s, confidence in ((0, 0, 0.95), (-1, 60, 0.95), (0, 60, 1.0), (0, math.nan, 0.95)):
        with pytest.raises(ValueError, match="A rate needs"):
            poisson_upper(changes, duration_s, confidence)
    with pytest.raises(ArithmeticError, match="too short"):
        poisson_upper(0, 5e-324, 0.95)


def seen_share(width_s: float, gaps_s: list[float]) -> float:
    """How many glitches of that width meet a poll: the sum of min(w, gap) over the sum of gaps."""
    return sum(min(width_s, gap) for gap in gaps_s) / sum(gaps_s)


def test_one_long_gap_weighs_by_its_time() -> None:
    """Ninety gaps of 10 ms and one of 100 ms: 10 ms meets a poll in 0.91 s of 1 s; worked out by hand."""
    gaps_s = [0.1, *[0.01] * 90]

    assert 0.91 == pytest.approx(seen_share(0.01, gaps_s))
    assert 0.05 == pytest.approx(shortest_glitch_s(gaps_s))


def test_the_shortest_glitch_is_the_inverse() -> None:
    """With equal gaps the shortest glitch seen with 95 % is 0.95 of the gap."""
    assert 0.114 == pytest.approx(shortest_glitch_s([0.12] * 3))
    assert 0.12 == shortest_glitch_s([0.12], 1.0)


@settings(deadline=None)
@given(st.lists(st.floats(0.0, 0.5), min_size=1, max_size=40).filter(lambda gaps: sum(gaps) > 1e-3), st.floats(0.01, 1))
def test_the_shortest_glitch_is_seen_as_often_as_asked(gaps_s: list[float], probability: float) -> None:
    """Whatever the gaps: put into the sum of min(w, gap) over the sum of gaps it gives the probability back."""
    assert probability == pytest.approx(seen_share(shortest_glitch_s(gaps_s, probability), gaps_s))


def test_glitches_thrown_at_polls_are_seen_as_often() -> None:
    """20,000 glitches of that width at moments of their own meet a poll in 95 %: the model is not its own judge."""
    chance = random.Random(11)  # noqa: S311 - a simulation, nothing secret
    gaps_s = [chance.choice((0.008, 0.009, 0.011, 0.045)) for _ in range(500)]
    polls_s = list(accumulate(gaps_s, initial=0.0))
    width_s = shortest_glitch_s(gaps_s)
    begun_s = [chance.uniform(0.0, polls_s[-1]) for _ in range(20_000)]
    seen = sum(bisect_right(polls_s, at_s + width_s) > bisect_right(polls_s, at_s) for at_s in begun_s)

    assert 0.95 == pytest.approx(seen / len(begun_s), abs=0.008)


def test_polling_without_a_gap_is_refused() -> None:
    """Gaps of 0 s and a probability above 1 are errors."""
    for none in ([], [0.0], [-0.1, 0.5]):
        with pytest.raises(ValueError, match="gap"):
            shortest_glitch_s(none)
    with pytest.raises(ValueError, match="probability"):
        shortest_glitch_s([0.1], 1.5)


def samples(*readings: Reading, every_s: float = 0.1) -> list[Sample]:
    """Samples at a steady pace, from 10 s on."""
    return [Sample(10 + every_s * index, reading) for index, reading in enumerate(readings)]


def test_settling_runs_from_the_first_sight_to_the_last_change() -> None:
    """A bouncing reading settles with the sample after its last wrong one."""
    found = settling(samples(OFF, OFF, ON, OFF, ON, ON), ON)

    assert found is not None
    assert 0.2 == pytest.approx(found.settle_time_s)
    assert 0.1 == pytest.approx(found.resolution_s)


@pytest.mark.parametrize("readings", [(), (LOST, LOST), (ON, OFF), (OFF, OFF)])
def test_what_does_not_end_as_expected_has_not_settled(readings: tuple[Reading, ...]) -> None:
    """Without the expected reading at the end there is no settle time to report."""
    assert settling(samples(*readings), ON) is None


def test_one_clean_change_takes_no_settle_time() -> None:
    """A reading that changes once, or is right from the start, settles in 0 s."""
    for readings in ((OFF, ON, ON), (ON, ON)):
        found = settling(samples(*readings), ON)
        assert found is not None
        assert 0 == found.settle_time_s


def test_a_lost_reading_widens_the_gap() -> None:
    """The largest gap is taken between readings that could be read."""
    assert 0.2 == pytest.approx(largest_gap_s(samples(ON, LOST, ON, ON)))
    assert 0 == largest_gap_s(samples(ON))
    assert 0 == largest_gap_s(samples(ON, ON, every_s=0))


def test_samples_out_of_order_are_refused() -> None:
    """Times that run backwards are an error, and so is a time that is no number."""
    with pytest.raises(ValueError, match="in the order"):
        largest_gap_s(list(reversed(samples(ON, ON))))
    with pytest.raises(ValueError, match="finite time"):
        Sample(math.nan, ON)


def test_sentences_say_what_steadiness_leaves_open() -> None:
    """A clean minute is worded with the rate it still allows, and polling with the glitch it may have missed."""
    rate = "0 unwanted changes in 1.0 min, which at 95 % confidence still allows up to 180 an hour."
    glitch = (
        "Read 97 times a second, with 31 ms between two readings at most: a glitch shorter than 11 ms was seen with "
        "less than 95 % probability."
    )

    assert rate == rate_sentence(0, 60)
    assert rate_sentence(0, 1020).endswith("still allows up to 11 an hour."), "10.57: whole from ten on"
    assert glitch == glitch_sentence(97.2, 0.0108, 0.031)
    assert "1 unwanted change in 60.0 min, which at 95 % confidence allows up to 4.74 an hour." == rate_sentence(
        1, 3600
    )
