"""The hand that writes for several runs: together, in order, and each with its own answer."""

import threading
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path

import pytest

from commission.evidence.runs import Opened
from commission.evidence.talk import Told
from commission.records.book import Book, BookError
from commission.records.chain import CheckedSoFar, Row
from commission.records.hand import Hand
from commission.records.openings import opening_on_record
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended

RUNS = [f"bench-{number}/2031-03-14/1" for number in range(1, 6)]


def test_what_waits_is_written_together_in_order(tmp_path: Path) -> None:
    """Entries of five runs, asked for while the hand was busy: the chain is whole, each future has its own row."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book, Hand(book) as hand:
        busy = threading.Event()
        hand.submit(busy.wait, 10.0)
        asked: list[Future[Row]] = [hand.submit(book.append, run, begun(run, "install")) for run in RUNS]
        asked += [hand.submit(book.append, run, Told(heading="done")) for run in RUNS]
        busy.set()

        assert [*RUNS, *RUNS] == [each.result(10.0).run for each in asked]
        assert list(range(1, 11)) == [each.result(0).sequence for each in asked]
        assert [] == book.verify()


def test_one_refused_entry_leaves_the_others(tmp_path: Path) -> None:
    """A second end of a run is refused; what waited beside it is on the disk, and nothing of the refused one is."""
    first, second = RUNS[:2]
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book, Hand(book) as hand:
        busy = threading.Event()
        hand.submit(busy.wait, 10.0)
        entries = [(first, begun(first, "install")), (first, ended("pass")), (first, ended("fail"))]
        asked = [hand.submit(book.append, *each) for each in (*entries, (second, begun(second, "install")))]
        busy.set()

        with pytest.raises(BookError, match="has come to its end already"):
            asked[2].result(10.0)
        assert second == asked[3].result(10.0).run
        assert ["run_started", "run_ended", "run_started"] == [row.kind for row in book.rows()]
        assert [] == book.verify()


def test_a_book_that_takes_nothing_fails_all(tmp_path: Path) -> None:
    """Every one that waited gets the same error; none of them is in the book."""
    Book(tmp_path / "book.sqlite3", FakeClock()).close()
    with Book(tmp_path / "book.sqlite3", FakeClock(), reads_only=True) as book, Hand(book) as hand:
        asked = [hand.submit(book.append, run, Told(heading="done")) for run in RUNS[:2]]

        assert [BookError, BookError] == [type(each.exception(10.0)) for each in asked]


def test_a_report_after_a_report_checks_what_is_new(tmp_path: Path) -> None:
    """Its faults are those of a check from the beginning, whatever was checked before; only new rows are read."""
    workshop = Workshop(tmp_path)
    for run in RUNS[:2]:
        workshop.whole_run(run)
    book, read = workshop.book, []
    rows = list(book.rows())
    forged = [row if row.sequence != 4 else replace(row, payload="{}") for row in rows]

    def after(sequence: int) -> list[Row]:
        read.append(sequence)
        return [row for row in forged if row.sequence > sequence]

    checked = CheckedSoFar()
    assert () == checked.upto(3, after)
    assert [4] == [fault.sequence for fault in checked.upto(len(rows), after)]
    assert () == checked.upto(3, after), "what came later is no fault of an earlier report"
    assert [0, 3] == read


def test_the_newest_opening_of_a_port_counts(tmp_path: Path) -> None:
    """One that left the board running says nothing of another port, nor once a later one restarted it."""
    workshop = Workshop(tmp_path)
    port, book = "/dev/ttyEX0", workshop.book
    assert not opening_on_record(book, "bench-1", port).harmless

    for count, restarted in enumerate((True, False)):
        run = f"bench-1/2031-03-14/{count + 1}"
        workshop.begin(run, tag="bench-1")
        book.append(run, Opened(port=port, restarted=restarted))
        assert restarted is not opening_on_record(book, "bench-1", port).harmless
    assert not opening_on_record(book, "bench-1", "/dev/ttyEX1").harmless
    assert (
        f"When {port} was opened on 2031-03-14, the board went on." == opening_on_record(book, "bench-1", port).sentence
    )
    workshop.begin("bench-1/2031-03-14/3", tag="bench-1")
    book.append("bench-1/2031-03-14/3", Opened(port=port, restarted=True))
    assert not opening_on_record(book, "bench-1", port).harmless
