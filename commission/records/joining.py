"""The union of books: each chain is taken as it is, and nothing is ever put between two entries of it."""

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import Connection

from commission.records.chain import Row
from commission.records.chains import origins_in
from commission.records.numbering import lies_at, short
from commission.records.pen import keep
from commission.records.rows import digest_at, newest_row
from commission.records.tables import BookError


class ForkError(BookError):
    """A chain goes on in two ways; the text says where."""


def receive(connection: Connection, rows: Sequence[Row]) -> int:
    """Add what the book lacks of a chain; returns how many entries that were.

    Args:
        connection: within a transaction that writes.
        rows: of one chain, in order and sound: all of it, or what follows an entry that the book has.

    Raises:
        ForkError: the book has the chain, and it goes on otherwise.
        BookError: what comes before them is not in the book.
    """
    if not rows:
        return 0
    chain = _chain_of(connection, rows[0])
    newest = newest_row(connection, chain)
    held = 0 if newest is None else newest.sequence
    known = [row for row in rows if row.sequence <= held]
    if known and not _same(connection, chain, known[-1]):
        raise _fork(connection, chain, rows)
    lacking = [replace(row, chain=chain) for row in rows[len(known) :]]
    if lacking:
        keep(connection, lacking)
    return len(lacking)


def _chain_of(connection: Connection, first: Row) -> int:
    """The number of its chain in this file: that which it begins, or in which it follows an entry."""
    origins = origins_in(connection)
    before = first.sequence - 1
    for chain, origin in origins.items():
        if first.previous == digest_at(connection, lies_at(chain, before)) if before else first.digest == origin:
            return chain
    if before:
        raise BookError(
            f"Entry {first.sequence} of a chain is to be joined, and the entry before it is not in the book: nothing "
            "is kept of it. Join the whole book."
        )
    return max(origins, default=-1) + 1


def _same(connection: Connection, chain: int, row: Row) -> bool:
    return digest_at(connection, lies_at(chain, row.sequence)) == row.digest


def _fork(connection: Connection, chain: int, rows: Sequence[Row]) -> ForkError:
    differs = next(row.sequence for row in rows if not _same(connection, chain, row))
    return ForkError(
        f"The chain {short(rows[0].digest)} goes on in two ways from entry {differs} on: two copies of one book went "
        "on by themselves, or one was altered. It is not joined; keep both, and verify each with a signed report."
    )
