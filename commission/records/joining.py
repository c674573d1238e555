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
        rows: the whole chain, in order, sound.

    Raises:
        ForkError: the book has the chain, and it goes on otherwise.
        BookError: it lacks its beginning.
    """
    if not rows:
        return 0
    if rows[0].sequence != 1:
        raise BookError("What is to be joined does not begin with the first entry of its chain: nothing is kept of it.")
    origins = origins_in(connection)
    chain = next((each for each, origin in origins.items() if origin == rows[0].digest), None)
    if chain is None:
        chain = max(origins, default=-1) + 1
    newest = newest_row(connection, chain)
    held = 0 if newest is None else newest.sequence
    common = min(held, len(rows))
    if common and not _same(connection, chain, rows[common - 1]):
        raise _fork(connection, chain, rows)
    lacking = [replace(row, chain=chain) for row in rows[common:]]
    if lacking:
        keep(connection, lacking)
    return len(lacking)


def _same(connection: Connection, chain: int, row: Row) -> bool:
    return digest_at(connection, lies_at(chain, row.sequence)) == row.digest


def _fork(connection: Connection, chain: int, rows: Sequence[Row]) -> ForkError:
    differs = next(row.sequence for row in rows if not _same(connection, chain, row))
    return ForkError(
        f"The chain {short(rows[0].digest)} goes on in two ways from entry {differs} on: two copies of one book went "
        "on by themselves, or one was altered. It is not joined; keep both, and verify each with a signed report."
    )
