"""A book of an earlier format is brought up to date where it lies, and it is said whether a book is as made today."""

import lzma
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import create_engine, event, insert, select

from commission.files.book_file import APPLICATION_ID
from commission.records.chain import Row
from commission.records.facts import every, fact_of
from commission.records.rows import record_of, row_of
from commission.records.schema import SCHEMA_VERSION, create_tables, entries, schema_of
from commission.records.tables import open_engine
from commission.records.upgrade import AT_ONCE, bring_up_to_date, grew, schema_as_made
from tests.records.memory import chain_of
from tests.support.made import begun, ended

RUN = "bench-3/2031-03-14/1"


def old_book(place: Path, rows: list[Row]) -> Path:
    """A book of the first format with these rows, which lie there as they are."""
    engine = open_engine(place)
    with engine.begin() as connection:
        create_tables(connection, APPLICATION_ID, 1)
        if rows:
            connection.execute(insert(entries), [row.fields for row in rows])
    engine.dispose()
    return place


def up_to_date(place: Path, *, reads_only: bool = False) -> bool:
    """Bring it up to date; whether it is as made today then."""
    engine = open_engine(place, 0.1)
    try:
        return bring_up_to_date(engine, place, reads_only=reads_only)
    finally:
        engine.dispose()


def version_of(place: Path) -> int:
    """The format that the file names."""
    with sqlite3.connect(place) as file:
        (version,) = file.execute("PRAGMA user_version").fetchone()
    file.close()
    return int(version)


@pytest.mark.parametrize("count", [0, 1, AT_ONCE - 1, AT_ONCE, AT_ONCE + 1])
def test_an_old_book_gets_all_its_lines(tmp_path: Path, count: int) -> None:
    """One for each entry that has one, however many there are, in one format's step; every entry stays as it lies."""
    rows = chain_of(*[(RUN, begun(RUN))] * count, from_day=0)
    place = old_book(tmp_path / "book.sqlite3", rows)

    assert not up_to_date(place, reads_only=True)
    assert 1 == version_of(place)
    assert up_to_date(place)
    assert 2 == version_of(place)
    engine = open_engine(place)
    with engine.connect() as connection:
        assert rows == [row_of(each) for each in connection.execute(select(entries).order_by(entries.c.sequence))]
        assert [fact_of(record_of(row)) for row in rows] == list(every(connection))
    engine.dispose()


def test_an_empty_database_becomes_a_book(tmp_path: Path) -> None:
    """One that bears the number of this program and nothing else, as a torn beginning could leave it."""
    place = tmp_path / "book.sqlite3"
    with sqlite3.connect(place) as file:
        file.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    file.close()

    assert not up_to_date(place, reads_only=True)
    assert up_to_date(place)
    assert 2 == version_of(place)


@pytest.mark.parametrize("version", [2, 3])
def test_a_book_of_today_waits_for_no_writer(tmp_path: Path, version: int) -> None:
    """Nothing is to be done in it: another program that is in the middle of writing is left alone."""
    place = tmp_path / "book.sqlite3"
    old_book(place, chain_of((RUN, begun(RUN)), (RUN, ended())))
    up_to_date(place)
    writer = sqlite3.connect(place, isolation_level=None)
    writer.execute(f"PRAGMA user_version = {version}")
    writer.execute("BEGIN IMMEDIATE")
    try:
        assert up_to_date(place)
    finally:
        writer.close()


def test_two_programs_bring_a_book_up_at_once(tmp_path: Path) -> None:
    """Who comes second finds nothing left to do, though the book was old when it looked."""
    place = old_book(tmp_path / "book.sqlite3", chain_of((RUN, begun(RUN))))
    engine = open_engine(place)
    taken: list[object] = []

    def other_is_quicker(connection: object, *_: object) -> None:
        taken.append(connection)
        if len(taken) == 2:  # it has looked, and is about to write
            assert up_to_date(place)

    event.listen(engine, "checkout", other_is_quicker)
    assert bring_up_to_date(engine, place)
    engine.dispose()
    assert len(taken) == 3
    assert 2 == version_of(place)


def test_a_book_is_as_made_in_its_format() -> None:
    """A book that grew from the first format keeps that one's indexes; lines came with the second."""
    first, second, grown = schema_as_made(1), schema_as_made(SCHEMA_VERSION), schema_as_made(2, grown=True)

    assert schema_as_made(1, grown=True) == first
    assert schema_as_made(2) == second
    assert schema_as_made(SCHEMA_VERSION, grown=True) == grown
    assert ["table facts" in made for made in (first, second, grown)] == [False, True, True]
    assert ["index sqlite_autoindex_entries_1" in made for made in (first, second, grown)] == [True, False, True]
    assert first.items() <= grown.items()


@pytest.mark.parametrize("name", ["2026-11", "form-1", "form-2", "format-2"])
def test_tables_are_made_as_they_were(tmp_path: Path, name: str) -> None:
    """Books that earlier states of the program wrote have to the letter what is made in their format today."""
    place = tmp_path / "book.sqlite3"
    place.write_bytes(lzma.decompress((Path(__file__).with_name("old_books") / f"{name}.sqlite3.xz").read_bytes()))
    version = version_of(place)
    engine = open_engine(place)
    with engine.connect() as connection:
        there = schema_of(connection)
    engine.dispose()

    assert there == schema_as_made(version, grown=grew(there))
    assert grew(there) == (version == 1)


@pytest.mark.parametrize("version", [1, 2, 3])
def test_tables_are_made_in_their_format(version: int) -> None:
    """A new book names the first or the second: it comes to the third with its first entry."""
    with create_engine("sqlite://").begin() as connection:
        create_tables(connection, APPLICATION_ID, version)
        named = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        number = connection.exec_driver_sql("PRAGMA application_id").scalar_one()

    assert (min(version, 2), APPLICATION_ID) == (named, number)
