"""Whether the index of the runs is believed, and what the questions about one printer take in a large workshop."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
from sqlalchemy import Connection, event

from commission.evidence.runs import Note, PhaseStarted
from commission.evidence.talk import Told
from commission.records.book import Book
from commission.records.consent import consent_on_record
from commission.records.history import runs
from commission.records.index_in_step import IndexInStep
from commission.records.pen import keep
from scripts.made_up_books import Workshop, write_book
from tests.records.memory import chain_of, in_memory
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended
from tests.support.sweeps import as_many

NIGHTS, ENTRIES = 4, 20
MADE = "CREATE INDEX entries_by_run ON entries (run, sequence)"


def nights(folder: Path, printers: int) -> Path:
    """A book in which all printers are checked each night, beside each other: an entry of each in turn."""
    folder.mkdir()
    place = folder / "book.sqlite3"
    numbers = [f"bench-{printer}/2031-03-{14 + night}/1" for night in range(NIGHTS) for printer in range(printers)]
    with Book(place, FakeClock()) as book, book.together():
        for night in range(NIGHTS):
            tonight = numbers[night * printers : (night + 1) * printers]
            for run in tonight:
                book.append(run, begun(run, "condition check"))
            for step in range(ENTRIES):
                for run in tonight:
                    book.append(run, PhaseStarted(name=f"step {step}", title="Step"))
            for run in tonight:
                book.append(run, ended())
    return place


def steps_of(place: Path, ask: Callable[[Book], object]) -> int:
    """How many steps of its own machine the database needs for the questions; no clock is in it."""
    taken = [0]

    def step() -> int:
        taken[0] += 1
        return 0

    with Book(place, FakeClock(), reads_only=True) as book:
        event.listen(book._engine, "checkout", lambda connection, *_: connection.set_progress_handler(step, 1))
        ask(book)
    return taken[0]


def every_printer(book: Book) -> list[object]:
    """What a check of all printers asks first: the record of each, in a look of its own."""
    found: list[object] = []
    for tag in sorted({run.tag for run in runs(book)}):
        with book.one_look():
            found.append(list(book.rows(runs=[run.number for run in runs(book, tag)])))
    return found


def test_twice_the_printers_take_twice_the_steps(tmp_path: Path) -> None:
    """Runs that lie beside each other cost what they hold, and not what lies between their entries."""
    few, many = (steps_of(nights(tmp_path / f"{count}", count), every_printer) for count in (10, 40))

    assert few < many < 5 * few


@pytest.mark.swept
def test_an_index_that_lost_an_entry_is_not_believed(tmp_path: Path) -> None:
    """However often it was asked before, and whichever printer's it is: the entry is read from the table."""
    place = nights(tmp_path / "book", 12)
    with Book(place, FakeClock(), reads_only=True) as book:
        whole = every_printer(book)

    for lost in range(500, 512, as_many(3, 1)):
        hide(place, lost)
        with Book(place, FakeClock(), reads_only=True) as book:
            assert [whole] * 3 == [every_printer(book) for _ in range(3)], lost


def hide(place: Path, lost: int) -> None:
    """Take the entry out of the index, past everything that forbids it."""
    with closing(sqlite3.connect(place, isolation_level=None)) as file:
        file.execute("DROP INDEX entries_by_run")
        file.execute(f"{MADE} WHERE sequence <> {lost}")
        file.execute("PRAGMA writable_schema = ON")
        file.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'entries_by_run'", (MADE,))


def test_what_is_written_later_is_found_too(tmp_path: Path) -> None:
    """After the index was compared: entries of this process, and of another one."""
    place = nights(tmp_path / "book", 12)
    run = "bench-3/2031-03-15/1"
    with Book(place, FakeClock()) as book, Book(place, FakeClock()) as other:
        before = len(list(book.rows(run)))
        every_printer(book)
        for writer in (book, other):
            writer.append(run, Note(tag_of_printer="bench-3", what="remark", text="Written later."))
        with book.one_look():
            rows = list(book.rows(runs=[run]))

    assert before + 2 == len(rows)
    assert [row.sequence for row in rows] == sorted(row.sequence for row in rows)


QUESTIONS: dict[str, Callable[[Book], object]] = {
    "its runs": lambda book: runs(book, "bench-2"),
    "its consent": lambda book: consent_on_record(book, "bench-2"),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_one_printer_is_found_among_many(tmp_path: Path, name: str) -> None:
    """A question about one printer takes about as many steps in a workshop of eight times the printers."""
    taken = []
    for printers in (4, 32):
        place = tmp_path / f"{printers}"
        write_book(place, Workshop(printers=printers, checks=6, entries=6, seed=3))
        taken.append(steps_of(place, QUESTIONS[name]))

    assert taken[1] < 1.5 * taken[0]


ROWS = chain_of(*[("r1", Told(heading="a word"))] * 10)


def told_nothing() -> list[tuple[int, int]]:
    """What must not be asked for."""
    raise AssertionError("nothing is to be compared")


def test_an_index_is_compared_once_as_much_was_read() -> None:
    """As soon as reading the table would have taken as many entries as comparing all; then only what is new."""
    index = IndexInStep()
    with in_memory(ROWS) as connection:
        asked = [index.has_all(connection, [0], partial(list, [span])) for span in ((1, 3), (4, 9), (2, 2))]
        assert [False, False, True] == asked
        assert index.has_all(connection, [0], told_nothing)
        more = chain_of(*[("r1", Told(heading="a word"))] * 11)[10:]
        keep(connection, more)
        assert index.has_all(connection, [0], told_nothing)
        assert index.has_all(connection, [0], told_nothing)
    fresh = IndexInStep()
    with in_memory(ROWS) as connection:
        assert fresh.has_all(connection, [0], lambda: [(1, 0)]), "a last place of 0 is the whole table"
    with in_memory() as connection:
        assert IndexInStep().has_all(connection, [0, 1], told_nothing)


def lose(connection: Connection, where: int) -> None:
    """Take the entry that lies there out of the index, which looks as it was made."""
    connection.exec_driver_sql("DROP INDEX entries_by_run")
    connection.exec_driver_sql(f"{MADE} WHERE sequence <> {where}")
    connection.exec_driver_sql("PRAGMA writable_schema = ON")
    connection.exec_driver_sql("UPDATE sqlite_master SET sql = ? WHERE name = 'entries_by_run'", (MADE,))
    connection.exec_driver_sql("PRAGMA writable_schema = RESET")


@pytest.mark.parametrize("chain", [0, 1])
@pytest.mark.parametrize("number", [1, 2, 9, 10])
def test_an_index_that_lacks_an_entry_is_believed_no_more(chain: int, number: int) -> None:
    """Whichever entry it is; not even once it is whole again, for nobody knows what else was done to it."""
    rows = [list(ROWS), chain_of(*[("r2", Told(heading="a word"))] * 10, number=1)]
    index = IndexInStep()
    with in_memory(*rows) as connection:
        lose(connection, (chain << 40) + number)
        first = index.has_all(connection, [0, 1], lambda: [(1, 0)])
        connection.exec_driver_sql("DROP INDEX entries_by_run")
        connection.exec_driver_sql(MADE)
        again = index.has_all(connection, [0, 1], told_nothing)

    assert (False, False) == (first, again)


def test_an_entry_that_comes_later_is_compared_too() -> None:
    """One that is written behind what was compared, and is not in the index, is noticed."""
    index = IndexInStep()
    with in_memory(ROWS) as connection:
        assert index.has_all(connection, [0], lambda: [(1, 0)])
        keep(connection, chain_of(*[("r1", Told(heading="a word"))] * 11)[10:])
        lose(connection, 11)
        assert not index.has_all(connection, [0], told_nothing)
