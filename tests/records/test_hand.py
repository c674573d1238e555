"""The hand that writes for several runs: together, in order, and each with its own answer."""

import shutil
import sqlite3
import threading
from collections import Counter
from concurrent.futures import Future
from contextlib import AbstractContextManager, closing
from dataclasses import replace
from pathlib import Path

import pytest

from commission.evidence.runs import Opened
from commission.evidence.talk import Told
from commission.records.book import Book, BookError
from commission.records.chain import ChainFault, CheckedSoFar, Row, check_chain
from commission.records.hand import MOST_TOGETHER, Hand
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


class CountingBook(Book):
    """A book that counts its transactions of several entries."""

    transactions = 0

    def together(self) -> AbstractContextManager[None]:
        """One more."""
        self.transactions += 1
        return super().together()


def test_so_many_and_no_more_are_written_together(tmp_path: Path) -> None:
    """A long queue goes in transactions of a bounded size: nobody waits for the whole of it."""
    book = CountingBook(tmp_path / "book.sqlite3", FakeClock())
    with book, Hand(book) as hand:
        busy = threading.Event()
        hand.submit(busy.wait, 10.0)
        asked = [hand.submit(lambda: book.transactions) for _ in range(3 * MOST_TOGETHER - 1)]
        busy.set()
        sizes = Counter(each.result(10.0) for each in asked)

    assert 64 == MOST_TOGETHER == max(sizes.values())


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

    def before(row: Row, after: tuple[int, str]) -> list[ChainFault]:
        read.append(after[0])
        return check_chain((each for each in forged if after[0] < each.sequence <= row.sequence), after=after)

    checked = CheckedSoFar()
    assert () == checked.upto(rows[2], before)
    assert [4] == [fault.sequence for fault in checked.upto(rows[-1], before)]
    assert [4] == [fault.sequence for fault in checked.upto(rows[-1], before)], "a fault is named each time"
    assert () == checked.upto(rows[2], before), "what came later is no fault of an earlier report"
    assert [0, 3, 3] == read


def test_each_chain_is_checked_for_itself(tmp_path: Path) -> None:
    """A copy goes on in a chain of its own: that the first was checked says nothing of the second, nor otherwise."""
    first = tmp_path / "book.sqlite3"
    with Book(first, FakeClock()) as book:
        for run in RUNS[:2]:
            book.append(run, begun(run, "install"))
    second = tmp_path / "copy.sqlite3"
    shutil.copy(first, second)
    with Book(second, FakeClock()) as copy:
        copy.append(RUNS[2], begun(RUNS[2], "install"))
        rows, read = list(copy.rows()), []

        def before(row: Row, after: tuple[int, str]) -> list[ChainFault]:
            read.append((row.chain, after[0]))
            return copy.faults_before(row, after)

        checked = CheckedSoFar()
        heads = {row.chain: row for row in rows}
        assert [0, 1] == sorted(heads)
        assert [(), ()] == [checked.upto(heads[chain], before) for chain in (0, 1)]
        later = copy.append(RUNS[2], Told(heading="done"))
        assert () == checked.upto(later, before)
        assert [(0, 0), (1, 0), (1, 2)] == read


def test_a_damaged_entry_of_another_printer_is_a_named_fault(tmp_path: Path) -> None:
    """A report checked before it was damaged or not: what stands behind the checked place is looked at as it lies."""
    place = tmp_path / "book.sqlite3"
    checked = CheckedSoFar()
    with Book(place, FakeClock()) as book:
        early = [book.append(run, begun(run, "install")) for run in RUNS[:2]][-1]
        assert () == checked.upto(early, book.faults_before)
        late = [book.append(run, Told(heading="done")) for run in RUNS[:2]][-1]
        spoilt(place, "UPDATE entries SET at = X'ff' WHERE sequence = 3")
        assert [3] == [fault.sequence for fault in checked.upto(late, book.faults_before)]
        assert () == checked.upto(early, book.faults_before)


def spoilt(place: Path, statement: str) -> None:
    """Carry a statement out on the file of a book that refuses it."""
    with closing(sqlite3.connect(place)) as file:
        for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f'DROP TRIGGER "{name}"')
        file.execute(statement)
        file.commit()


def test_what_waits_together_goes_into_the_own_chain(tmp_path: Path) -> None:
    """In a copy all of it stands in the second chain, in order, and its row tells the place that a reader finds."""
    first, second = tmp_path / "book.sqlite3", tmp_path / "copy.sqlite3"
    with Book(first, FakeClock()) as book:
        old = book.append(RUNS[0], begun(RUNS[0], "install"))
    shutil.copy(first, second)
    with Book(second, FakeClock()) as book, Hand(book) as hand:
        busy = threading.Event()
        hand.submit(busy.wait, 10.0)
        asked = [hand.submit(book.append, run, begun(run, "install")) for run in RUNS[1:]]
        busy.set()
        rows = [each.result(10.0) for each in asked]
        read = {row.digest: row for row in book.rows()}

        assert {1} == {row.chain for row in rows} != {old.chain}
        assert [2, 3, 4, 5] == [row.sequence for row in rows]
        assert [row.place for row in rows] == [read[row.digest].place for row in rows]
        assert [] == book.verify()


def test_a_batch_that_fails_leaves_no_trace_of_its_chain(tmp_path: Path) -> None:
    """What a batch decided is forgotten with it: the next entry stands where a book just opened sees it."""
    first, second = tmp_path / "book.sqlite3", tmp_path / "copy.sqlite3"
    with Book(first, FakeClock()) as book:
        book.append(RUNS[0], begun(RUNS[0], "install"))
    shutil.copy(first, second)
    with Book(second, FakeClock()) as book:
        with pytest.raises(KeyError):
            _write_and_fail(book)
        row = book.append(RUNS[3], begun(RUNS[3], "install"))
        assert (1, 2) == (row.chain, row.sequence)
        assert [] == book.verify()
    with Book(second, FakeClock()) as book:
        assert row.place == next(each.place for each in book.rows(RUNS[3]))
        assert (1, 3) == ((after := book.append(RUNS[3], Told(heading="done"))).chain, after.sequence)


def _write_and_fail(book: Book) -> None:
    with book.together():
        for run in RUNS[1:3]:
            book.append(run, begun(run, "install"))
        raise KeyError("whole")


def test_a_refusal_of_the_database_fails_all(tmp_path: Path) -> None:
    """It may have given up the whole transaction by itself: nothing is written behind it, and none is told as kept."""
    place = tmp_path / "book.sqlite3"
    with Book(place, FakeClock()) as book, Hand(book) as hand:
        book.append(RUNS[0], begun(RUNS[0], "install"))
        refusing = "CREATE TRIGGER refuse BEFORE INSERT ON entries WHEN NEW.run LIKE 'bench-3/%' "
        spoilt(place, f"{refusing} BEGIN SELECT RAISE(ROLLBACK, 'the disk is full'); END")
        busy = threading.Event()
        hand.submit(busy.wait, 10.0)
        asked = [hand.submit(book.append, run, begun(run, "install")) for run in RUNS[1:]]
        busy.set()

        assert [BookError] * 4 == [type(each.exception(10.0)) for each in asked]
        assert [RUNS[0]] == [row.run for row in book.rows()]
        assert RUNS[1] == hand.submit(book.append, RUNS[1], begun(RUNS[1], "install")).result(10.0).run


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


def test_a_single_entry_has_a_transaction_of_its_own(tmp_path: Path) -> None:
    """Two that wait together have one together."""
    book = CountingBook(tmp_path / "book.sqlite3", FakeClock())
    with book, Hand(book) as hand:
        hand.submit(book.append, RUNS[0], begun(RUNS[0], "install")).result(10.0)
        alone = book.transactions
        busy, goes_on = threading.Event(), threading.Event()

        def something_else() -> None:
            busy.set()
            goes_on.wait(10.0)

        hand.submit(something_else)
        busy.wait(10.0)
        asked = [hand.submit(book.append, run, begun(run, "install")) for run in RUNS[1:3]]
        goes_on.set()
        rows = [each.result(10.0) for each in asked]

    assert (0, 1) == (alone, book.transactions)
    assert [2, 3] == [row.sequence for row in rows]


def test_a_hand_ends_when_all_is_done(tmp_path: Path) -> None:
    """Who leaves it waits for what was asked for; a program that is ended does not wait for the thread."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        with Hand(book) as hand:
            thread = next(each for each in threading.enumerate() if each.name == "hand")
            goes_on = threading.Event()
            slow = hand.submit(goes_on.wait, 10.0)
            threading.Timer(0.02, goes_on.set).start()
            assert thread.daemon
        assert slow.done()
        assert not thread.is_alive()
