"""A stretch of a soak: what it keeps of its readings, and what of them counts as watched."""

import pytest

from commission.asking.response import TimedReading
from commission.conductor.stretches import Stretch, told
from commission.evidence.soaked import Changed, Repeated
from commission.judge.nuisance import Around
from commission.vocabulary import Reading

WORDS = {Reading.ACTIVE: "TRIGGERED", Reading.INACTIVE: "open", Reading.UNKNOWN: ""}
A, N, U = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def read(at_s: float, reading: Reading = A) -> TimedReading:
    """A reading at that moment."""
    return TimedReading(at_s, reading, WORDS[reading])


def taken(*readings: TimedReading, around: Around = Around.AT_REST, after: TimedReading | None = None) -> Stretch:
    """A stretch of these readings, from 10 s on."""
    stretch, before = Stretch(around, 10.0, after), after
    for reading in readings:
        stretch.take(reading, before)
        before = before if reading.reading is U else reading
    return stretch


def test_alike_readings_are_kept_as_one_row() -> None:
    """First, last and count of each row; a reading that is unknown is a row of its own, and counts as unread."""
    entry = taken(read(10.0), read(10.1), read(10.2, U), read(10.3, U), read(10.4)).entry(10.5)

    assert (
        Repeated(10.0, 10.1, A, "TRIGGERED", 2),
        Repeated(10.2, 10.3, U, "", 2),
        Repeated(10.4, 10.4, A, "TRIGGERED", 1),
    ) == entry.repeated
    assert (2, ()) == (entry.unread, entry.changes)
    assert (10.0, 10.5) == (entry.began_s, entry.ended_s)


def test_a_change_lies_between_the_two_known_readings() -> None:
    """A change is after the last known reading and not later than the one that shows it; an unknown one shows none."""
    stretch = Stretch(Around.AT_REST, 0.0)

    assert [False, False, False, True, False] == [
        stretch.take(read(1.0), None),
        stretch.take(read(1.1), read(1.0)),
        stretch.take(read(1.2, U), read(1.1)),
        stretch.take(read(1.3, N), read(1.1)),
        stretch.take(read(1.4, N), read(1.3, N)),
    ]
    assert [Changed(1.1, 1.3, N)] == stretch.changes
    assert 5 == stretch.readings


@pytest.mark.parametrize(
    ("around", "gap_s", "exposure_s"),
    [
        (Around.AT_REST, 0.5, 0.6),
        (Around.AT_REST, 0.6, 0.1),
        (Around.PRINTING, 1.5, 1.6),
        (Around.PRINTING, 1.6, 0.1),
    ],
)
def test_a_gap_that_is_too_long_was_not_watched(around: Around, gap_s: float, exposure_s: float) -> None:
    """At rest half a second counts, beside a print a second and a half; a longer time between two readings does not."""
    stretch = taken(read(10.0), read(10.1), read(10.1 + gap_s), around=around)

    assert exposure_s == pytest.approx(stretch.exposure_s)
    assert exposure_s == pytest.approx(stretch.entry(13.0).exposure_s)
    assert max(0.1, exposure_s - 0.1) == pytest.approx(stretch.entry(13.0).largest_gap_s)


def test_time_counts_from_the_reading_before_a_stretch() -> None:
    """What joins on to an earlier stretch counts from the last known reading of that, and does not keep it twice."""
    joined = taken(read(10.1), after=read(9.9)).entry(10.1)

    assert 0.2 == pytest.approx(joined.exposure_s)
    assert (Repeated(10.1, 10.1, A, "TRIGGERED", 1),) == joined.repeated
    assert 0.0 == taken(read(10.1)).entry(10.1).exposure_s


def test_a_stretch_that_is_set_aside_was_not_watched() -> None:
    """Its readings and changes stay in the record; no time, no gap and no glitch are claimed for it."""
    stretch = taken(read(10.0), read(10.1, N))
    stretch.set_aside = "The printer was moved."
    entry = stretch.entry(10.2)

    assert (0.0, 0.0, None) == (entry.exposure_s, entry.largest_gap_s, entry.shortest_glitch_s)
    assert (2, 1) == (len(entry.repeated), len(entry.changes))
    assert "The printer was moved." == entry.set_aside


def test_the_shortest_glitch_is_that_of_the_gaps() -> None:
    """Read every 0.12 s, 0.114 s was seen with 95 %: 0.95 of the gap, by hand; with one reading nothing was."""
    assert 0.114 == pytest.approx(taken(*(read(10 + 0.12 * n) for n in range(5))).entry(11.0).shortest_glitch_s)
    assert taken(read(10.0)).entry(11.0).shortest_glitch_s is None


def test_a_change_is_told_with_its_time_and_its_gap() -> None:
    """Hours, minutes and tenths of a second since the beginning; the first reading of all has none before it."""
    assert (
        "At 1:02:03.4 from the beginning it read inactive, 120 ms after the reading before it. "
        "It is read as fast as it goes for a minute."
    ) == told(read(3723.28), read(3723.4, N))
    assert "At 0:00:05.0 from the beginning it read active. " in told(None, read(5.0))
