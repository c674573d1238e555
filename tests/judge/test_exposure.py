"""What of a watch was really watched. The limits are the project's choice; the sums are by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.judge.exposure import (
    GAP_LIMIT_S,
    LONGEST,
    PRINT_GAP_LIMIT_S,
    Exposure,
    Watched,
    exposure_s,
    is_read,
    needed_readings,
    reached,
    watched,
)
from commission.judge.plan import Plan
from commission.judge.polarity import majority
from commission.judge.stability import Sample
from commission.vocabulary import Reading

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
LISTS = st.lists(st.tuples(st.integers(1, 900), st.sampled_from(Reading)), max_size=60)


def at(*moments: float, reading: Reading = ON) -> tuple[Sample, ...]:
    """The same reading at these seconds."""
    return tuple(Sample(moment, reading) for moment in moments)


def beats(readings: list[Reading], gap_s: float = 0.1) -> tuple[Sample, ...]:
    """Readings on a beat."""
    return tuple(Sample(round(gap_s * number, 4), reading) for number, reading in enumerate(readings))


def sampled(gaps: list[tuple[int, Reading]]) -> tuple[Sample, ...]:
    """Readings after so many milliseconds each."""
    moments, now_ms = [], 0
    for gap_ms, reading in gaps:
        now_ms += gap_ms
        moments.append(Sample(now_ms / 1000, reading))
    return tuple(moments)


@pytest.mark.parametrize(
    ("samples", "expected_s"),
    [
        ((), 0),
        (at(1.0), 0),
        (at(1.0, 1.5), 0.5),
        (at(1.0, 1.51), 0),
        (at(0.0, 0.1, 0.2, 1.2, 1.3), 0.3),
        (beats([LOST] * 600), 0),
        (beats([ON, LOST] * 300), 59.8),
        (beats(([ON] + [LOST] * 4) * 120), 59.5),
        (beats(([ON] + [LOST] * 19) * 30), 0),
        (beats([ON, ON] + [LOST] * 598), 0.1),
    ],
)
def test_exposure_is_time_between_close_known_readings(samples: tuple[Sample, ...], expected_s: float) -> None:
    """Half a second between two known readings is watched, more is not; unknown ones are not there."""
    assert expected_s == pytest.approx(exposure_s(samples))


@given(LISTS)
def test_exposure_under_way_is_the_exposure_of_the_whole(gaps: list[tuple[int, Reading]]) -> None:
    """Reading by reading it comes to the same, and it is never longer than the time that went by."""
    samples, running = sampled(gaps), Exposure()
    for sample in samples:
        running.add(sample)

    assert exposure_s(samples) == pytest.approx(running.seconds)
    assert sum(reading is not LOST for _, reading in gaps) == running.known
    assert running.seconds <= sum(gap for gap, _ in gaps) / 1000 + 1e-9


@given(LISTS, st.integers(0, 60))
def test_losing_a_reading_never_adds_exposure(gaps: list[tuple[int, Reading]], which: int) -> None:
    """Whatever is not understood can only take away."""
    samples = sampled(gaps)
    damaged = tuple(Sample(each.at_s, LOST if n == which else each.reading) for n, each in enumerate(samples))

    assert exposure_s(damaged) <= exposure_s(samples) + 1e-9


@pytest.mark.parametrize(
    ("planned_s", "seen_s", "expected"),
    [(0, 0, False), (0, 5, False), (0.5, 0.5, True), (2, 1.99, False), (2, 2, True)],
)
def test_a_watch_is_complete_when_its_exposure_is_reached(planned_s: float, seen_s: float, *, expected: bool) -> None:
    """One that was to take no time is never complete."""
    assert expected is reached(seen_s, planned_s)
    assert expected is Watched(20, planned_s, seen_s, 0, 0.1, 0).complete


@pytest.mark.parametrize(("taken", "needed"), [(21, 19), (5, 5), (7, 7), (11, 10), (31, 29), (101, 92)])
def test_a_dwell_needs_nineteen_of_twenty_one(taken: int, needed: int) -> None:
    """The same share of any other length, rounded up."""
    assert needed == needed_readings(taken)
    assert is_read([ON] * needed + [LOST] * (taken - needed))
    assert not is_read([ON] * (needed - 1) + [LOST] * (taken - needed + 1))
    assert LOST is majority([ON] * (needed - 1) + [LOST] * (taken - needed + 1))


def test_a_dwell_without_readings_is_unread() -> None:
    """Nothing is not enough."""
    assert not is_read([])
    assert is_read([ON])


def test_bounds_come_from_the_exposure() -> None:
    """A minute watched by every second reading allows 179 changes an hour (ln 20 = 2.996 events in it) and no fewer."""
    seen = watched(beats([ON, LOST] * 301), 60)

    assert (301, 301, 0.2) == (seen.readings, seen.unread, pytest.approx(seen.largest_gap_s))
    assert (
        "0 unwanted changes in 1.0 min, which at 95 % confidence still allows up to 180 an hour.",
        "Read 5.0 times a second, with 200 ms between two readings at most: a glitch shorter than 190 ms was seen with "
        "less than 95 % probability.",
    ) == seen.sentences()


def test_what_was_not_watched_is_said_first() -> None:
    """A watch cut short says how much of it there was, one without two close readings that nothing was watched."""
    some = watched(beats([ON] * 101 + [LOST] * 500), 60)
    none = watched(beats([LOST] * 600), 60)
    apart = watched((*at(1.0), *at(9.0, reading=OFF)), 60)

    assert some.sentences()[0] == (
        "Only 10.0 s of 1.0 min were watched: 101 of 601 readings could be understood. Time without readings does not "
        "count."
    )
    assert ("Nothing was watched: 0 of 600 readings could be understood.",) == none.sentences()
    assert ("Nothing was watched: 2 of 2 readings could be understood. 1 unwanted change all the same.",) == (
        apart.sentences()
    )


def test_two_close_readings_are_a_watch() -> None:
    """A tenth of a second is watched, with its gap and the shortest glitch it shows; one reading has neither."""
    two, one = (watched(beats([ON] * number), 60) for number in (2, 1))

    assert (2, 0, 0.1, 20.0) == (two.readings, two.unread, two.largest_gap_s, two.per_s)
    assert 0.095 == pytest.approx(two.shortest_glitch_s)
    assert (1, 0, 0.0, 0.0, None) == (one.readings, one.unread, one.largest_gap_s, one.per_s, one.shortest_glitch_s)
    assert "Only 100 ms of 1.0 min were watched" in two.sentences()[0]


def test_a_print_is_watched_a_second_at_a_time() -> None:
    """At rest half a second is the longest that counts, beside a print one and a half, and neither a moment more."""
    assert (0.5, 1.5) == (GAP_LIMIT_S, PRINT_GAP_LIMIT_S)
    for limit_s in (GAP_LIMIT_S, PRINT_GAP_LIMIT_S):
        running = Exposure(limit_s)
        for sample in at(1.0, 1.0 + limit_s, 1.01 + 2 * limit_s):
            running.add(sample)
        assert limit_s == running.seconds


def test_a_watch_that_cannot_be_is_refused() -> None:
    """More changes than readings allow, and an exposure below zero, cannot be written down."""
    for readings, exposure, changes in ((5, 10.0, 5), (0, 10.0, 1), (5, -1.0, 0)):
        with pytest.raises(ValueError, match="cannot hold"):
            Watched(readings, 60, exposure, changes, 0.1, 0)


def test_a_watch_that_is_not_read_goes_on_for_twice_its_length() -> None:
    """And no longer: the plan says so, and what waits for it goes by the same number."""
    assert 2 == LONGEST
    assert any("a watch goes on until it has that, at most 2 times its length" in rule for rule in Plan(seed=1).rules())
