"""The lines beside the entries: they say what the entries say, are verified, and answer what a full reading answers."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import event

from commission.evidence.findings.loop import Polarity
from commission.evidence.findings.meeting import Repair
from commission.evidence.found import Established
from commission.evidence.talk import Told
from commission.fleet.overview import overview
from commission.records import facts
from commission.records.book import Book
from commission.records.chain import Row, link_row
from commission.records.consent import consent_on_record
from commission.records.due import due_list
from commission.records.facts_check import other_facts
from commission.records.history import runs
from commission.records.numbering import CHAIN_BITS
from commission.records.open_items import open_items
from commission.records.trend import trends
from commission.records.unsettled import unsettled
from commission.vocabulary import SwitchBehaviour
from scripts.made_up_books import Workshop, write_book
from tests.records.memory import DAY, chain_of, in_memory
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended, found

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


def test_places_are_those_of_the_named_runs() -> None:
    """However many runs are named, and whether the database is told their names or not."""
    polarity, repair = found(Polarity, behaviour=SwitchBehaviour.DIRECT), found(Repair)
    told = [("r1", polarity), ("r2", polarity), ("r1", repair), ("r3", polarity), ("r1", polarity)]
    names = [f"s{number}" for number in range(40_000)]
    with in_memory(chain_of(*told)) as connection:
        asked = [
            facts.places(connection, Established.kind(), [polarity.finding.name()], runs)
            for runs in (["r1"], ["r1", "r3"], ["r3", *names], ["r0"], [])
        ]
        connection.exec_driver_sql("UPDATE facts SET word = NULL WHERE sequence IN (2, 3)")
        unread = facts.places(connection, Established.kind(), [polarity.finding.name()], ["r1", *names])

    assert [[1, 5], [1, 4, 5], [4], [], []] == asked
    assert [1, 3, 5] == unread


def test_a_run_is_twice_where_two_chains_begin_it() -> None:
    """One that another chain only has other entries of is there once, by its own name."""
    first = chain_of(("r1", begun("r1")), ("r2", begun("r2")), ("r3", ended()), ("r4", ended()))
    other = chain_of(("r1", begun("r1")), ("r2", ended()), ("r3", begun("r3")), ("r4", ended()), number=1)
    with in_memory(first, other) as connection:
        assert {"r1"} == facts.run_twice(connection)


def test_turns_are_asked_from_where_they_are_known() -> None:
    """Beginnings and ends of one chain, none up to the entry that is known, all behind it."""
    told = (("r1", begun("r1")), ("r1", ended()), ("r1", Told(heading="a word")), ("r2", begun("r2")))
    with in_memory(chain_of(*told), chain_of(*told, number=1)) as connection:
        asked = [[where for where, _ in facts.turns(connection, 0, behind)] for behind in (0, 1, 2, 3, 4)]
        (turn,) = facts.turns(connection, 1, 3)

    assert [[1, 2, 4], [2, 4], [4], [4], []] == asked
    assert ((1 << CHAIN_BITS) + 4, DAY.format(4)) == turn


def faults(rows: list[Row], *statements: str, unread: Sequence[int] = ()) -> list[tuple[int, str]]:
    """What is wrong with the lines beside these rows, after somebody worked on them."""
    with in_memory(rows) as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
        left = [row for row in rows if row.sequence not in unread]
        return [(fault.sequence, fault.what) for fault in other_facts(connection, left, unread)]


ROWS = chain_of(("r1", begun("r1")), ("r1", found(Repair)), ("r1", Told(heading="a word")), ("r1", ended()))
NOT_SO = "what is listed of entry {} ({}) is not what it says"
BLAMED = {
    "UPDATE facts SET word = 'x' WHERE sequence = 2": (2, NOT_SO.format(2, "finding")),
    "UPDATE facts SET word = NULL, tag = 'x' WHERE sequence = 1": (1, NOT_SO.format(1, "run_started")),
    "UPDATE facts SET at = 'x', tag = NULL, word = NULL WHERE sequence = 1": (1, NOT_SO.format(1, "run_started")),
    "UPDATE facts SET verdict = 'fail' WHERE sequence = 4": (4, NOT_SO.format(4, "run_ended")),
    "DELETE FROM facts WHERE sequence = 4": (4, NOT_SO.format(4, "run_ended")),
    "INSERT INTO facts VALUES (3, 'r1', 'told', '', NULL, NULL, NULL)": (3, NOT_SO.format(3, "told")),
    "INSERT INTO facts VALUES (5, 'r1', 'told', '', NULL, NULL, NULL)": (
        4,
        "entry 5 is listed, and the book ends with entry 4",
    ),
    "INSERT INTO facts VALUES (0, 'r1', 'told', '', NULL, NULL, NULL)": (
        4,
        "entry 0 is listed, and the book ends with entry 4",
    ),
    "INSERT INTO facts VALUES (2199023255553, 'r1', 'told', '', NULL, NULL, NULL)": (
        0,
        "entry 1 is listed, and the book ends with entry 0",
    ),
    "DROP TABLE facts": (0, "the list of what entries say cannot be read: no such table: facts"),
}


@pytest.mark.parametrize("statement", BLAMED)
def test_each_strange_line_is_one_fault(statement: str) -> None:
    """A line beside the entries that says otherwise, is missing, or belongs to no entry is named with its entry."""
    assert [BLAMED[statement]] == faults(ROWS, statement)


@pytest.mark.parametrize(
    ("statements", "unread"),
    [
        ((), ()),
        (("UPDATE facts SET tag = NULL, word = NULL, verdict = NULL",), ()),
        ((), (1,)),
        ((), (4,)),
        ((), (1, 2, 4)),
    ],
)
def test_a_line_that_hides_nothing_is_no_fault(statements: Sequence[str], unread: Sequence[int]) -> None:
    """One without a word sends whoever asks to the entry; one of an entry that could not be read is not judged."""
    assert [] == faults(ROWS, *statements, unread=unread)


def test_a_line_at_no_number_is_named() -> None:
    """In a table that somebody made anew a line may lie anywhere."""
    made_anew = [
        "CREATE TABLE other AS SELECT * FROM facts",
        "DROP TABLE facts",
        "ALTER TABLE other RENAME TO facts",
        "INSERT INTO facts VALUES ('abc', 'r1', 'told', '', NULL, NULL, NULL)",
    ]

    assert [(4, "entry abc is listed, and the book ends with entry 4")] == faults(ROWS, *made_anew)


def test_a_line_of_a_newer_tool_is_believed() -> None:
    """An entry that this one cannot read may have been told by the tool that wrote it."""
    newer = link_row(None, run="r1", kind=begun("r1").kind(), at="x", elapsed_us=0, payload='{"format":99}')

    assert [] == faults([newer], "UPDATE facts SET tag = 'bench-3', word = 'a purpose that is not known here'")
    assert [(1, NOT_SO.format(1, "run_started"))] == faults([newer], "UPDATE facts SET run = 'r2'")
