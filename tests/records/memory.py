"""Chains, and a book's tables that hold them in memory: for what is asked of a connection alone."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from sqlalchemy import Connection, create_engine

from commission.evidence.codec import written
from commission.evidence.entry import NOTHING_TOLD, Entry
from commission.files.book_file import APPLICATION_ID
from commission.records.chain import Row, canonical, link_row
from commission.records.pen import keep
from commission.records.schema import create_tables
from commission.records.tables import Compiler

DAY = "2031-03-{:02}T09:00:00.000+00:00"
"""Each entry of a chain is written a day after the one before."""


def chain_of(*told: tuple[str, Entry], number: int = 0, from_day: int = 1) -> list[Row]:
    """The rows of a chain, from run and entry of each."""
    rows: list[Row] = []
    for day, (run, entry) in enumerate(told, from_day):
        rows.append(
            link_row(
                rows[-1] if rows else None,
                run=run,
                kind=entry.kind(),
                at=DAY.format(day),
                elapsed_us=0,
                payload=canonical(written(entry, NOTHING_TOLD)),
                chain=number,
            )
        )
    return rows


@contextmanager
def in_memory(*chains: Sequence[Row]) -> Iterator[Connection]:
    """A connection to the tables of a book with these chains; without the triggers that forbid to alter it."""
    engine = create_engine("sqlite://")
    engine.dialect.statement_compiler = Compiler
    with engine.begin() as connection:
        create_tables(connection, APPLICATION_ID)
        for table in ("entries", "facts"):
            for verb in ("update", "delete"):
                connection.exec_driver_sql(f"DROP TRIGGER {table}_no_{verb}")
        for rows in chains:
            keep(connection, rows)
        yield connection
    engine.dispose()
