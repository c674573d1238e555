"""Whether the index of the runs is believed, and what the questions about one printer take in a large workshop."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import event

from commission.evidence.runs import Note, PhaseStarted
from commission.records.book import Book
from commission.records.consent import consent_on_record
from commission.records.history import runs
from scripts.made_up_books import Workshop, write_book
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended

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


def test_an_index_that_lost_an_entry_is_not_believed(tmp_path: Path) -> None:
    """However often it was asked before, and whichever printer's it is: the entry is read from the table."""
    place = nights(tmp_path / "book", 12)
    with Book(place, FakeClock(), reads_only=True) as book:
        whole = every_printer(book)

    for lost in range(500, 512):
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
