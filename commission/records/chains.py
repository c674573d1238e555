"""Which chains a book has, and which of them the bench that works here goes on with."""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import DatabaseError

from commission.evidence.runs import RunStarted
from commission.records import facts
from commission.records.bench import Bench, kept_bench, new_bench
from commission.records.bench_clock import BenchClock
from commission.records.chain import Row
from commission.records.numbering import Numbering, extent, lies_at, split
from commission.records.rows import digest_at, newest_row
from commission.records.schema import OWNED, entries
from commission.records.tables import BY_SEQUENCE

WAYS = ("NOT INDEXED", "INDEXED BY entries_by_run", "INDEXED BY entries_by_kind")
"""The ways into the table of entries: where one is damaged another may lead on."""


def chains_in(connection: Connection) -> list[int]:
    """The numbers of the chains in the file, in order, as far as the file can be read."""
    for way in WAYS:
        with suppress(DatabaseError):  # the way is damaged: `survey` names it
            return _chains_by(connection, way)
    return [0]


def _chains_by(connection: Connection, way: str) -> list[int]:
    found: list[int] = []
    behind = 0
    while True:
        query = select(func.min(entries.c.sequence)).with_hint(entries, way)
        first = connection.scalar(query.where(entries.c.sequence > behind))
        if first is None:
            return found
        found.append(split(first)[0])
        behind = extent(found[-1])[1]


def origins_in(connection: Connection) -> dict[int, str]:
    """The digest of the first entry of each chain; of one that has lost it, what no digest looks like."""
    found = {}
    for chain in chains_in(connection):
        found[chain] = f"lost-{chain}"
        with suppress(DatabaseError):  # what cannot be read of it is named by `survey`
            found[chain] = digest_at(connection, lies_at(chain, 1)) or found[chain]
    return found


def heads_in(connection: Connection) -> list[tuple[str, Row]]:
    """Of each chain its origin and its newest entry."""
    heads = ((origin, newest_row(connection, chain)) for chain, origin in origins_in(connection).items())
    return [(origin, newest) for origin, newest in heads if newest is not None]


def numbering_of(connection: Connection, *, indexed: bool, clocks: Mapping[str, BenchClock] | None = None) -> Numbering:
    """The chains of the book as they are read; what is joined later is not in it.

    Args:
        connection: to the book.
        indexed: whether questions may go by index.
        clocks: see `Numbering`.
    """
    if chains_in(connection) in ([], [0]):
        return Numbering()
    twice = facts.run_twice(connection) if indexed else _begun_twice(connection)
    return Numbering(origins_in(connection), twice, clocks)


def _begun_twice(connection: Connection) -> set[str]:
    query = select(entries.c.run, entries.c.sequence).with_hint(entries, BY_SEQUENCE)
    chains: dict[str, set[int]] = {}
    for run, where in connection.execute(query.where(entries.c.kind == RunStarted.kind())):
        chains.setdefault(run, set()).add(split(where)[0])
    return {run for run, of in chains.items() if len(of) > 1}


def own_chain(connection: Connection, book: Path) -> tuple[Bench, int | None]:
    """The bench that works here, and the number of its chain; None where it has to begin one.

    A book of an earlier release belongs to no bench yet: who opens it first goes on with its chain.

    Raises:
        BookError: what is kept beside the book cannot be read.
    """
    origins = origins_in(connection)
    if not origins:
        return new_bench(), None
    kept = kept_bench(book)
    if kept is None and not is_owned(connection) and set(origins) == {0}:
        return new_bench(), 0
    if kept is not None and kept.lies_here(book):
        for chain, origin in origins.items():
            if origin == kept.origin and _holds(connection, chain, kept):
                return kept, chain
    return new_bench(), None


def is_owned(connection: Connection) -> bool:
    """Whether the book is of the format in which each chain belongs to a bench."""
    return int(connection.execute(text("PRAGMA user_version")).scalar_one()) >= OWNED


def _holds(connection: Connection, chain: int, bench: Bench) -> bool:
    """Whether the newest entry that the bench knows of is there: else an older state of the book was put back.

    A file that is damaged there is no older one.
    """
    with suppress(DatabaseError):
        return not bench.entries or digest_at(connection, lies_at(chain, bench.entries)) == bench.digest
    return True
