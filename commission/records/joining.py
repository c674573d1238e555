"""The union of books: each chain is taken as it is, and nothing is ever put between two entries of it."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from sqlalchemy import Connection

from commission.records.chain import Row
from commission.records.chains import origins_in
from commission.records.numbering import lies_at, short
from commission.records.pen import keep
from commission.records.rows import digest_at, newest_row
from commission.records.tables import BookError

DigestOf = Callable[[int], str | None]
"""The digest of the entry of that number in a chain; None where there is none."""


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
    found = lacking(rows, held, lambda number: digest_at(connection, lies_at(chain, number)))
    new = [replace(row, chain=chain) for row in found]
    if new:
        keep(connection, new)
    return len(new)


def lacking(rows: Sequence[Row], held: int, digest_of: DigestOf) -> Sequence[Row]:
    """What who has a chain up to an entry lacks of these rows of it.

    Args:
        rows: of one chain, in order and sound.
        held: number of the newest entry that is there; 0 for none.
        digest_of: tells the digests of those that are there.

    Raises:
        ForkError: the chain goes on otherwise there.
    """
    known = [row for row in rows if row.sequence <= held]
    if known and digest_of(known[-1].sequence) != known[-1].digest:
        differs = next(row.sequence for row in rows if digest_of(row.sequence) != row.digest)
        raise fork(digest_of(1) or rows[0].digest, differs)
    return rows[len(known) :]


def fork(origin: str, differs: int) -> ForkError:
    """The refusal of a chain that goes on in two ways.

    Args:
        origin: digest of its first entry.
        differs: number of the first entry that is not the same.
    """
    return ForkError(
        f"The chain {short(origin)} goes on in two ways from entry {differs} on: two copies of one book went "
        "on by themselves, or one was altered. It is not joined; keep both, and verify each with a signed report."
    )


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
