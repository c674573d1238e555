"""How the database of a book is begun and opened, and which chains are in it."""

import sqlite3
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from commission.evidence.talk import Told
from commission.records.book import Book
from commission.records.chain import Row
from commission.records.chains import chains_in, heads_in, numbering_of, origins_in
from commission.records.numbering import lies_at
from commission.records.read_only import reading_engine
from commission.records.schema import entries
from commission.records.tables import BY_SEQUENCE, BookError, _name, begin_book, open_engine, reading
from tests.records.memory import chain_of, in_memory
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended

TOLD = Told(heading="a word")
LATER = 1
"""The number of a chain behind the first one of the file."""


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> Path:
    """A new book."""
    place = tmp_path / "book.sqlite3"
    begin_book(place)
    return place


def locked(place: Path) -> bool:
    """Whether another program has to wait before it can write."""
    with closing(sqlite3.connect(place, timeout=0, isolation_level=None)) as file:
        try:
            file.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError:
            return True
    return False


def test_who_writes_has_the_book_at_once(place: Path) -> None:
    """From the beginning of the transaction; who reads keeps nobody waiting, and sees what was there."""
    engine = open_engine(place)
    with engine.begin():
        assert locked(place)
    with reading(engine) as connection:
        before = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        assert not locked(place)
        with sqlite3.connect(place) as file:
            file.execute("PRAGMA user_version = 3")
        file.close()
        assert before == connection.exec_driver_sql("PRAGMA user_version").scalar_one() != 3
    engine.dispose()


def test_entries_are_read_from_their_table(place: Path) -> None:
    """Every engine hands the hint on to the database: no index decides which entries there are."""
    query = select(entries.c.run).with_hint(entries, BY_SEQUENCE)
    with ExitStack() as kept:
        engines: list[Engine] = [open_engine(place), reading_engine(place, kept, 1.0)]
        for engine in engines:
            assert "FROM entries NOT INDEXED" in str(query.compile(engine)).replace(" \n", " ").replace("\n", " ")
            engine.dispose()


def test_who_only_reads_cannot_write(place: Path) -> None:
    """Whatever is asked: the connection itself refuses it, and sees one state until it ends."""
    with ExitStack() as kept, reading_engine(place, kept, 1.0).connect() as connection:
        before = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        with sqlite3.connect(place) as file:
            file.execute("PRAGMA user_version = 3")
        file.close()
        assert before == connection.exec_driver_sql("PRAGMA user_version").scalar_one() != 3
        assert 1 == connection.exec_driver_sql("PRAGMA query_only").scalar_one()
        assert 0 == connection.exec_driver_sql("PRAGMA trusted_schema").scalar_one()


def test_a_draft_that_cannot_be_linked_is_renamed(tmp_path: Path) -> None:
    """As on a file system without links: here a folder, which no system links; a book that is there is left alone."""
    draft, path = tmp_path / "draft", tmp_path / "book"
    draft.mkdir()
    _name(draft, path)
    assert [path] == list(tmp_path.iterdir())
    draft.mkdir()
    (draft / "other").touch()
    _name(draft, path)
    assert [draft / "other"] == list(draft.iterdir())
    assert [] == list(path.iterdir())


def test_the_first_book_of_a_name_stays(tmp_path: Path) -> None:
    """Another process was first: its book is as good, and nothing of the second one is left."""
    place = tmp_path / "book.sqlite3"
    begin_book(place)
    first = place.stat().st_ino
    begin_book(place)

    assert first == place.stat().st_ino
    assert [place] == list(tmp_path.iterdir())


def test_a_log_beside_it_makes_no_book(tmp_path: Path) -> None:
    """Another program's database with a log is looked at as a database, and refused as what it is."""
    place = tmp_path / "theirs.sqlite3"
    theirs = sqlite3.connect(place)
    theirs.execute("PRAGMA journal_mode=WAL")
    theirs.execute("CREATE TABLE things (name TEXT)")
    theirs.commit()
    assert place.with_name("theirs.sqlite3-wal").exists()
    with pytest.raises(BookError, match=r"is a database of another program\. Name another file with --book"):
        Book(place, FakeClock())
    theirs.close()


ONE, OTHER = (chain_of(*[(run, TOLD)] * 3, number=number) for run, number in (("r1", 0), ("r2", LATER)))


def test_the_chains_of_a_file_are_told() -> None:
    """Each with its origin and its newest entry; one that lost its beginning, and a file without a table, too."""
    with in_memory(ONE, OTHER) as connection:
        assert [0, 1] == chains_in(connection)
        assert {0: ONE[0].digest, 1: OTHER[0].digest} == origins_in(connection)
        assert [(rows[0].digest, rows[2]) for rows in (ONE, OTHER)] == heads_in(connection)
        connection.exec_driver_sql("DELETE FROM entries WHERE sequence = 1")
        assert {0: "lost-0", 1: OTHER[0].digest} == origins_in(connection)
        connection.exec_driver_sql("DROP TABLE entries")
        assert [0] == chains_in(connection)
    with in_memory() as connection:
        assert ([], {}, []) == (chains_in(connection), origins_in(connection), heads_in(connection))


def test_a_chain_is_sought_behind_the_one_before() -> None:
    """The last number of a chain is no chain of its own; what lies before the first number belongs to none."""
    with in_memory(OTHER) as connection:
        connection.exec_driver_sql("UPDATE entries SET sequence = 0 WHERE sequence = ?", (lies_at(LATER, 2),))
        assert [1] == chains_in(connection)
        last = lies_at(LATER, (1 << 40) - 1)
        connection.exec_driver_sql("UPDATE entries SET sequence = ? WHERE sequence = 0", (last,))
        assert [1] == chains_in(connection)


@pytest.mark.parametrize(("chains", "single"), [([], True), ([ONE], True), ([OTHER], False), ([ONE, OTHER], False)])
def test_one_chain_needs_no_order(chains: list[list[Row]], *, single: bool) -> None:
    """Where it is the first of its file; one that lies behind it has places of its own."""
    with in_memory(*chains) as connection:
        assert single is numbering_of(connection, indexed=True).single
        assert single is numbering_of(connection, indexed=False).single


@pytest.mark.parametrize("indexed", [True, False])
def test_runs_that_two_chains_begin_are_told_apart(*, indexed: bool) -> None:
    """One that is ended in the other chain alone, or begun twice in one, keeps its number."""
    first = chain_of(("r1", begun("r1")), ("r2", begun("r2")), ("r2", begun("r2")), ("r3", ended()))
    other = chain_of(("r1", begun("r1")), ("r2", ended()), ("r3", begun("r3")), number=LATER)
    with in_memory(first, other) as connection:
        numbering = numbering_of(connection, indexed=indexed)

    names = [numbering.name(lies_at(LATER, 1), run) for run in ("r1", "r2", "r3")]
    assert [f"r1@{other[0].digest[:8]}", "r2", "r3"] == names
