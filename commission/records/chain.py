"""Rows of the book and the chain of digests that holds them together; pure, so that a check needs no database.

A row holds one entry as text: what the text says is no concern of the chain. Each carries the digest of the one before
it. Changing, removing or moving an entry breaks the chain at that place. Only a cut at the very end leaves a whole
chain behind: that is why a report prints the digest of the newest entry it was drawn from.
"""

import hashlib
import json
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

ORIGIN = "0" * 64
"""What the first entry has for a predecessor."""


def canonical(value: object) -> str:
    """One and only one JSON text for a value: sorted keys, no blanks, ASCII, no NaN.

    Raises:
        ValueError: a number is not finite.
        TypeError: something is no JSON type.
    """
    return _CANONICAL.encode(value)


_CANONICAL = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


@dataclass(frozen=True)
class Row:
    """One append-only row of the book.

    Attributes:
        sequence: its number in its chain, from 1 without gaps.
        run: number of the run it belongs to.
        kind: what happened, as `trial` or `finding`.
        at: wall time, ISO 8601 with offset.
        elapsed_us: microseconds of monotonic time since the writing process opened the book.
        payload: the entry as text, a JSON object in canonical form.
        raw: bytes exactly as they went over the wire, where there were any.
        previous: digest of the entry before.
        digest: digest of this entry.
        chain: number of the chain in the file it was read from; no part of the entry.
        order: its place in a book of several chains, see `evidence.place`; no part of the entry, 0 where not known.
        damage: why what is packed of it cannot be read; payload and bytes are empty then.
    """

    sequence: int
    run: str
    kind: str
    at: str
    elapsed_us: int
    payload: str
    raw: bytes | None
    previous: str
    digest: str
    chain: int = field(default=0, compare=False)
    order: int = field(default=0, compare=False)
    damage: str = ""

    @property
    def place(self) -> int:
        """Its place among all entries of the book it was read from."""
        return self.order or self.sequence

    @property
    def fields(self) -> dict[str, Any]:
        """What is in the chain and in an export, by name."""
        return {name: value for name, value in vars(self).items() if name not in ("chain", "order", "damage")}


class End(NamedTuple):
    """What the next entry of a chain must know of the last one: its number and its digest."""

    sequence: int
    digest: str


def digest_of(
    sequence: int,
    run: str,
    kind: str,
    at: str,
    elapsed_us: int,
    payload: str,
    raw: bytes | None,
    previous: str,
) -> str:
    """SHA-256 (FIPS 180-4) over the canonical JSON of all fields, the predecessor's digest included; 64 hex digits."""
    fields = [sequence, run, kind, at, elapsed_us, payload, None if raw is None else raw.hex(), previous]
    return hashlib.sha256(canonical(fields).encode("ascii")).hexdigest()


def link_row(
    previous: Row | End | None,
    *,
    run: str,
    kind: str,
    at: str,
    elapsed_us: int,
    payload: str,
    raw: bytes | None = None,
    chain: int = 0,
) -> Row:
    """The row that follows `previous` in the chain of that number."""
    sequence = 1 if previous is None else previous.sequence + 1
    before = ORIGIN if previous is None else previous.digest
    digest = digest_of(sequence, run, kind, at, elapsed_us, payload, raw, before)
    return Row(sequence, run, kind, at, elapsed_us, payload, raw, before, digest, chain)


@dataclass(frozen=True)
class ChainFault:
    """A place where the book is not as it was written."""

    sequence: int
    what: str


def check_chain(
    rows: Iterable[Row], unread: Collection[int] = (), after: tuple[int, str] = (0, ORIGIN)
) -> list[ChainFault]:
    """Every place where an entry was altered, removed, inserted or moved; empty for a whole chain.

    Args:
        rows: in order.
        unread: numbers of entries that stand there and could not be read: named already, and no gap.
        after: number and digest of the entry that the first of the rows must follow.
    """
    faults = []
    expected, before = after[0] + 1, after[1]
    for row in rows:
        while expected != row.sequence and expected in unread:
            expected, before = expected + 1, ""
        if row.sequence != expected:
            faults.append(
                ChainFault(
                    expected,
                    f"entry {expected} is missing or moved; entry {row.sequence} stands in its place",
                )
            )
        elif before and row.previous != before:
            faults.append(ChainFault(row.sequence, f"entry {row.sequence} does not follow the entry before it"))
        if row.digest != digest_again(row):
            faults.append(
                ChainFault(row.sequence, f"entry {row.sequence} ({row.kind}) was altered after it was written")
            )
        expected, before = row.sequence + 1, row.digest
    return faults


class CheckedSoFar:
    """How far this process found each chain of a book sound: a report that follows another checks only what is new.

    Behind a fault nothing is taken for checked. What somebody alters before that place meanwhile is found by the next
    process, and by `commission book verify`.
    """

    def __init__(self) -> None:
        self._after: dict[int, tuple[int, str]] = {}

    def upto(
        self, row: Row, faults_before: Callable[[Row, tuple[int, str]], Iterable[ChainFault]]
    ) -> tuple[ChainFault, ...]:
        """The faults of its chain up to and with that row.

        Args:
            row: an entry of the book.
            faults_before: the faults up to a row, behind an entry of its chain: `Book.faults_before`.
        """
        after = self._after.get(row.chain, (0, ORIGIN))
        if row.sequence <= after[0]:
            return ()
        faults = tuple(faults_before(row, after))
        if not faults:
            self._after[row.chain] = row.sequence, row.digest
        return faults


def digest_again(row: Row) -> str:
    """The digest that the row must have, worked out from its fields."""
    return digest_of(
        row.sequence,
        row.run,
        row.kind,
        row.at,
        row.elapsed_us,
        row.payload,
        row.raw,
        row.previous,
    )
