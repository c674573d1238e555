"""Brings a book of an earlier format up to date where it lies, and says whether it is as this tool makes it."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, select

from commission.files.book_file import APPLICATION_ID
from commission.records import facts
from commission.records.rows import record_of, row_of
from commission.records.schema import PACKED, SCHEMA_VERSION, bring_to_format_2, create_tables, entries, schema_of
from commission.records.tables import BY_SEQUENCE, reading, version_of

AT_ONCE = 500


def bring_up_to_date(engine: Engine, path: Path, *, reads_only: bool = False) -> bool:
    """Create the tables in a new file, add what an older one lacks; refuse one that is not ours or too new.

    Nothing that stands in a book is changed by it, and all of it is done or none.

    Args:
        engine: on the file.
        path: named in the refusal.
        reads_only: whether the file is left as it is.

    Returns:
        Whether tables and indexes are as this tool makes them today, so that questions may go by them.

    Raises:
        BookError: the file cannot serve as a record book.
    """
    with reading(engine) as connection:
        version = version_of(connection, path)
    if version < PACKED and not reads_only:
        with engine.begin() as connection:
            version = version_of(connection, path)
            if version < 1:
                create_tables(connection, APPLICATION_ID)
            elif version < PACKED:
                bring_to_format_2(connection, lambda: _fill(connection))
    with reading(engine) as connection:
        there = schema_of(connection)
    return there == schema_as_made(SCHEMA_VERSION, grown=grew(there))


def _fill(connection: Connection) -> None:
    """Write the lines of all entries that have one."""
    last = None
    while True:
        page = select(entries).with_hint(entries, BY_SEQUENCE).where(entries.c.kind.in_(facts.KINDS))
        page = page if last is None else page.where(entries.c.sequence > last)
        found = [row_of(each) for each in connection.execute(page.order_by(entries.c.sequence).limit(AT_ONCE))]
        facts.keep(connection, (facts.fact_of(record_of(row)) for row in found))
        if len(found) < AT_ONCE:
            return
        last = found[-1].sequence


def grew(there: Mapping[str, str]) -> bool:
    """Whether a book with these tables was begun in the first format, and brought up to date where it lay."""
    return "index sqlite_autoindex_entries_1" in there


@cache
def schema_as_made(version: int, *, grown: bool = False) -> Mapping[str, str]:
    """The tables, indexes and triggers of a book of that format; see `schema_of` and `grew`."""
    with create_engine("sqlite://").begin() as fresh:
        create_tables(fresh, APPLICATION_ID, 1 if grown else version)
        if grown and version > 1:
            bring_to_format_2(fresh, lambda: None)
        return schema_of(fresh)
