"""What the book has of a soak that came to no end, and of what was watched up to an entry."""

from pathlib import Path
from typing import Any

import pytest

from commission.evidence.soaked import Changed, Repeated, SoakBegan, SoakStretch
from commission.judge.nuisance import Around
from commission.records.notes import add_note
from commission.records.run_lock import RunLock
from commission.records.soaks import SOAK, LastSoak, bounds_on_record, exposed_on_record, unfinished_soak
from commission.vocabulary import Reading
from tests.records.books import Workshop
from tests.support.made import made

RUN, NEXT = "bench-3/2031-03-14/1", "bench-3/2031-03-14/2"
IN, OUT, UNREAD = (
    Repeated(0.0, 1.0, reading, "word", 10) for reading in (Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN)
)


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """A workshop in which nothing was soaked yet."""
    return Workshop(tmp_path)


def soak(workshop: Workshop, number: str, *stretches: SoakStretch, seconds: float = 3600.0) -> None:
    """A run that begins a soak, watches these stretches, and does not end."""
    workshop.begin(number, SOAK)
    workshop.book.append(number, made(SoakBegan, switch="filament", seconds=seconds))
    for each in stretches:
        workshop.days_pass(0.01)
        workshop.book.append(number, each)


def stretch(exposure_s: float = 60.0, around: Around = Around.AT_REST, **more: Any) -> SoakStretch:
    """A stretch of a soak, read in all the time."""
    return made(SoakStretch, exposure_s=exposure_s, around=around, **{"repeated": (IN, UNREAD)} | more)


def test_a_soak_that_was_broken_off_is_told(workshop: Workshop) -> None:
    """The newest one: what was planned and watched of it, without what was set aside, and when it ended."""
    soak(workshop, RUN, stretch(5.0))
    soak(workshop, NEXT, stretch(60.0), stretch(7.0, set_aside="the link was lost"), stretch(30.0), seconds=1800.0)

    at = workshop.clock.now().isoformat(timespec="milliseconds")
    assert LastSoak(NEXT, "filament", 1800.0, 90.0, False, at, True) == unfinished_soak(workshop.book, "bench-3")
    assert unfinished_soak(workshop.book, "bench-4") is None


def test_a_soak_that_is_over_or_goes_on_is_none(workshop: Workshop) -> None:
    """Not one that came to its end, is under way, never reached the printer, or had not begun."""
    book = workshop.book
    assert unfinished_soak(book, "bench-3") is None
    workshop.begin(RUN, SOAK)
    assert unfinished_soak(book, "bench-3") is None, "nothing was watched yet"
    soak(workshop, NEXT, stretch())
    third = "bench-3/2031-03-14/3"
    workshop.begin(third, SOAK)
    workshop.end(third, "not judged", "not connected")
    workshop.whole_run("bench-3/2031-03-14/4", "full check")
    found = unfinished_soak(book, "bench-3")
    with RunLock(book.path, "bench-3") as lock:
        lock.carry(NEXT)
        under_way = unfinished_soak(book, "bench-3")
    workshop.end(NEXT, "not judged", "link lost")
    lost = unfinished_soak(book, "bench-3")
    soak(workshop, "bench-3/2031-03-14/5", stretch())
    workshop.end("bench-3/2031-03-14/5")

    assert found is not None
    assert found == lost
    assert NEXT == found.run
    assert under_way is None
    assert unfinished_soak(book, "bench-3") is None


@pytest.mark.parametrize(
    ("stretches", "printing"),
    [
        ([], False),
        ([stretch()], False),
        ([stretch(around=Around.PRINTING)], True),
        ([stretch(around=Around.PRINTING), stretch()], False),
        ([stretch(), stretch(set_aside="a print had just begun")], True),
        ([stretch(set_aside="a print had just begun"), stretch()], False),
    ],
)
def test_a_print_may_still_run(workshop: Workshop, stretches: list[SoakStretch], *, printing: bool) -> None:
    """Where the last stretch lay beside a print, or was set aside for one."""
    soak(workshop, RUN, *stretches)
    found = unfinished_soak(workshop.book, "bench-3")

    assert found is not None
    assert printing is found.printing


@pytest.mark.parametrize(
    ("stretches", "goes_on"),
    [
        ([], True),
        ([stretch(), stretch()], True),
        ([stretch(repeated=(IN, OUT)), stretch()], False),
        ([stretch(changes=(Changed(1.0, 2.0, Reading.ACTIVE),)), stretch()], False),
        ([stretch(repeated=(UNREAD,))], True),
    ],
)
def test_the_rest_is_watched_of_a_clean_soak_alone(
    workshop: Workshop, stretches: list[SoakStretch], *, goes_on: bool
) -> None:
    """One that changed unasked, or read out, begins anew; what was not read shows nothing."""
    soak(workshop, RUN, *stretches)
    found = unfinished_soak(workshop.book, "bench-3")

    assert found is not None
    assert goes_on is found.goes_on


def test_a_soak_of_a_changed_printer_begins_anew(workshop: Workshop) -> None:
    """A change of the wiring that is noted behind it; one before it was soaked as it is."""
    workshop.whole_run(RUN)
    add_note(workshop.book, "bench-3", "rewiring", "the lead")
    soak(workshop, NEXT, stretch())
    before = unfinished_soak(workshop.book, "bench-3")
    add_note(workshop.book, "bench-3", "rewiring", "the lead again")
    after = unfinished_soak(workshop.book, "bench-3")

    assert before is not None
    assert after is not None
    assert (True, False) == (before.goes_on, after.goes_on)


def test_what_was_watched_is_told_up_to_an_entry(workshop: Workshop) -> None:
    """That entry counts; all of them without one; the bounds are those of the same."""
    soak(workshop, RUN, stretch(60.0), stretch(30.0))
    first, second = (record.sequence for record in workshop.book.records(SoakStretch))
    told = [
        sum(each.seconds for each in exposed_on_record(workshop.book, "bench-3", upto))
        for upto in (first - 1, first, second - 1, second, None)
    ]

    assert [0, 60, 60, 90, 90] == told
    (bound,), (less,) = (bounds_on_record(workshop.book, "bench-3", upto) for upto in (None, first))
    assert bound != less
    assert bounds_on_record(workshop.book, "bench-3", second) == (bound,)
