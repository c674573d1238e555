"""The lines beside the entries: they say what the entries say, are verified, and answer what a full reading answers."""

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import event

from commission.fleet.overview import overview
from commission.records.book import Book
from commission.records.consent import consent_on_record
from commission.records.due import due_list
from commission.records.history import runs
from commission.records.open_items import open_items
from commission.records.trend import trends
from commission.records.unsettled import unsettled
from scripts.made_up_books import Workshop, write_book
from tests.support.fake_time import FakeClock

TODAY = date(2031, 12, 1)


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> Path:
    """A made-up book of six printers."""
    place = tmp_path / "book.sqlite3"
    write_book(place, Workshop(printers=6, checks=9, entries=8, seed=4))
    return place


def altered(place: Path, *statements: str) -> None:
    """The file after somebody worked on it, past the triggers that forbid it."""
    with closing(sqlite3.connect(place, isolation_level=None)) as file:
        triggers = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            file.execute(statement)
        for _, again in triggers:
            if "facts" not in again or not any("DROP TABLE" in statement for statement in statements):
                file.execute(again)


def answers(place: Path, *, reads_only: bool = True) -> list[object]:
    """What the questions to the book are answered."""
    with Book(place, FakeClock(), reads_only=reads_only) as book:
        found: list[object] = [due_list(book, TODAY), overview(book, TODAY), runs(book)]
        for tag in ("bench-1", "bench-4"):
            found += [runs(book, tag), unsettled(book, tag), open_items(book, tag), trends(book, tag)]
            found.append(consent_on_record(book, tag))
        return found


def test_a_reading_entry_by_entry_says_the_same(place: Path) -> None:
    """Where the indexes are not as this tool makes them, the entries are read: every answer is the same."""
    by_index = answers(place)
    altered(place, "DROP INDEX facts_by_word")

    assert by_index == answers(place)


def test_a_book_of_the_first_format_is_brought_up_where_it_lies(place: Path) -> None:
    """Read only it stays as it is and answers the same; opened for writing it gets its lines, its chain whole."""
    by_index = answers(place)
    altered(place, "DROP TABLE facts", "PRAGMA user_version = 1")
    before = place.read_bytes()

    assert by_index == answers(place)
    assert before == place.read_bytes()
    assert by_index == answers(place, reads_only=False)
    with Book(place, FakeClock(), reads_only=True) as book:
        assert [] == book.verify()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE facts SET verdict = 'pass' WHERE verdict = 'fail'", "(run_ended) is not what it says"),
        ("UPDATE facts SET word = 'install' WHERE word = 'brief check'", "(run_started) is not what it says"),
        ("UPDATE facts SET tag = 'bench-1' WHERE tag = 'bench-2'", "(run_started) is not what it says"),
        ("DELETE FROM facts WHERE word = 'next_check'", "(finding) is not what it says"),
        ("INSERT INTO facts (sequence, run, kind, at) VALUES (99999, 'r', 'punch', '')", "entry 99999 is listed"),
        ("DROP TABLE facts", "the table facts is missing"),
        ("DELETE FROM entries WHERE sequence > 100", "is listed, and the book ends with entry 100"),
    ],
)
def test_a_line_that_says_otherwise_is_named(place: Path, statement: str, said: str) -> None:
    """A forged, missing or strange line is a fault of the book, as an altered entry is."""
    altered(place, statement)
    with Book(place, FakeClock(), reads_only=True) as book:
        assert any(said in fault.what for fault in book.verify())


def test_an_index_hides_no_entry_of_a_run(place: Path) -> None:
    """What an index lost between a run's first and last entry is read all the same: from the table, by sequence."""
    with Book(place, FakeClock(), reads_only=True) as book:
        run = runs(book)[7].number
        whole = list(book.rows(run))
    hidden = whole[len(whole) // 2].sequence
    made = "CREATE INDEX entries_by_run ON entries (run, sequence)"
    altered(
        place,
        "DROP INDEX entries_by_run",
        f"{made} WHERE sequence <> {hidden}",
        "PRAGMA writable_schema = ON",
        f"UPDATE sqlite_master SET sql = '{made}' WHERE name = 'entries_by_run'",  # noqa: S608 - our own words
    )
    with Book(place, FakeClock(), reads_only=True) as book:
        assert whole == list(book.rows(run))
        assert any("the file is damaged" in fault.what for fault in book.verify())


def test_the_same_seed_gives_the_same_book(tmp_path: Path) -> None:
    """Made-up books can be made again: the digest of the newest entry is the same."""
    heads = []
    for name in ("one", "other"):
        write_book(tmp_path / name, Workshop(printers=2, checks=3, seed=9))
        with Book(tmp_path / name, FakeClock(), reads_only=True) as book:
            heads += [newest.digest for _, newest in book.heads()]
            assert [] == book.verify()
    assert heads[0] == heads[1]


def test_a_due_list_asks_no_more_of_a_longer_record(tmp_path: Path) -> None:
    """Twice the checks of the same printers take as many questions to the database: what grows is one pass."""
    counts = []
    for checks in (6, 12):
        place = tmp_path / f"{checks}"
        write_book(place, Workshop(printers=4, checks=checks, seed=2))
        with Book(place, FakeClock(), reads_only=True) as book:
            asked: list[str] = []
            event.listen(book._engine, "before_cursor_execute", lambda *told, asked=asked: asked.append(told[2]))
            due_list(book, TODAY)
        counts.append(len(asked))
    assert counts[1] <= counts[0] + 4, "a run with an unsafe item is looked into"
    assert counts[0] < 40
