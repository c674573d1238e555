"""Which runs a printer has, what became of them, and which of them are the others."""

from dataclasses import replace
from pathlib import Path

import pytest

from commission.evidence.runs import Opened, RunResumed
from commission.records.book import Book
from commission.records.chain import link_row
from commission.records.history import runs, runs_and_notes, same_printer_before
from commission.records.openings import opening_on_record
from commission.records.run_lock import RunLock
from commission.vocabulary import Outcome
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock
from tests.support.made import begun, made

FIRST, SECOND, OTHER = "bench-3/2031-03-14/1", "bench-3/2031-03-14/2", "bench-4/2031-03-14/1"


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """Two runs of one printer, one of another."""
    workshop = Workshop(tmp_path)
    for number in (FIRST, OTHER, SECOND):
        workshop.whole_run(number, tag=number.partition("/")[0])
    return workshop


def test_the_other_runs_of_a_printer_are_told(workshop: Workshop) -> None:
    """With what stands in place of a number in its notes; of a run that is not there nothing is told."""
    notes = runs_and_notes(workshop.book, "bench-3")[-1]

    assert [FIRST, SECOND, notes] == runs_and_notes(workshop.book, "bench-3")
    assert [SECOND, notes] == same_printer_before(workshop.book, FIRST)
    assert [FIRST, notes] == same_printer_before(workshop.book, SECOND)
    assert [] == same_printer_before(workshop.book, "bench-3/2031-03-14/3")


def test_a_run_that_cannot_be_read_has_its_printer_by_its_number(tmp_path: Path) -> None:
    """Its other runs are found all the same."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        first = book.append(FIRST, begun(FIRST))
        book.receive([first, link_row(first, run=SECOND, kind="run_started", at=first.at, elapsed_us=0, payload="{}")])
        assert [FIRST] == same_printer_before(book, SECOND)[:-1]


def test_a_run_that_was_taken_up_again_is_open(workshop: Workshop) -> None:
    """Its end no longer stands: it is under way while a process is at work on it, and broken off when none is."""
    workshop.book.append(FIRST, made(RunResumed, number=FIRST, tag="bench-3", purpose="install"))
    with RunLock(workshop.book.path, "bench-3") as lock:
        lock.carry(FIRST)
        under_way = {run.number: run.outcome for run in runs(workshop.book, "bench-3")}
    first, second = runs(workshop.book, "bench-3")

    assert {FIRST: Outcome.UNDER_WAY, SECOND: Outcome.COMPLETE} == under_way
    assert (Outcome.BROKEN_OFF, "", 0) == (first.outcome, first.ended_at, first.ended)
    assert (1, 16) == (first.first, first.began)
    assert (Outcome.COMPLETE, 15, 11) == (second.outcome, second.ended, second.began)


def test_a_run_is_the_same_wherever_it_stands(workshop: Workshop) -> None:
    """Places in the book are no part of it: a joined book tells the same runs."""
    (run, _) = runs(workshop.book, "bench-3")

    for other in (replace(run, began=7), replace(run, ended=7), replace(run, first=7)):
        assert run == other
    assert run != replace(run, started_at="")


def test_the_last_twenty_runs_are_looked_through(tmp_path: Path) -> None:
    """An opening of the port that lies further back says nothing of how the board behaves now."""
    workshop = Workshop(tmp_path)
    for count in range(21):
        number = f"bench-3/2031-03-14/{count}"
        workshop.begin(number)
        if count < 2:
            workshop.book.append(number, Opened(port=f"/dev/ttyEX{count}", restarted=False))
    told = [opening_on_record(workshop.book, "bench-3", f"/dev/ttyEX{count}").harmless for count in range(2)]

    assert [False, True] == told
