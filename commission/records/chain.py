"""Entries and the chain of digests that holds them together; pure, so that a check needs no database.

Each entry carries the digest of the one before it. Changing, removing or moving an entry breaks the chain at that
place. Only a cut at the very end leaves a whole chain behind: that is why a report prints the digest of the newest
entry it was drawn from.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

ORIGIN = "0" * 64
"""What the first entry has for a predecessor."""


def canonical(value: object) -> str:
    """One and only one JSON text for a value: sorted keys, no blanks, ASCII, no NaN.

    Raises:
        ValueError: a number is not finite.
        TypeError: something is no JSON type.
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


@dataclass(frozen=True)
class Entry:
    """One append-only row of the book.

    Attributes:
        sequence: position in the whole book, from 1 without gaps.
        run: number of the run it belongs to.
        kind: what happened, as `trial` or `finding`.
        at: wall time, ISO 8601 with offset.
        elapsed_us: microseconds of monotonic time since the writing process opened the book.
        payload: JSON object text in canonical form.
        raw: bytes exactly as they went over the wire, where there were any.
        previous: digest of the entry before.
        digest: digest of this entry.
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

    @property
    def facts(self) -> dict[str, Any]:
        """The payload as values."""
        values = json.loads(self.payload)
        if not isinstance(values, dict):
            raise TypeError(f"Entry {self.sequence} holds no JSON object")
        return values


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


def link_entry(
    previous: Entry | None,
    *,
    run: str,
    kind: str,
    at: str,
    elapsed_us: int,
    facts: Mapping[str, Any],
    raw: bytes | None = None,
) -> Entry:
    """The entry that follows `previous` in the chain."""
    sequence = 1 if previous is None else previous.sequence + 1
    before = ORIGIN if previous is None else previous.digest
    payload = canonical(dict(facts))
    digest = digest_of(sequence, run, kind, at, elapsed_us, payload, raw, before)
    return Entry(sequence, run, kind, at, elapsed_us, payload, raw, before, digest)


@dataclass(frozen=True)
class ChainFault:
    """A place where the book is not as it was written."""

    sequence: int
    what: str


def check_chain(entries: Iterable[Entry]) -> list[ChainFault]:
    """Every place where an entry was altered, removed, inserted or moved; empty for a whole chain."""
    faults = []
    expected, before = 1, ORIGIN
    for entry in entries:
        if entry.sequence != expected:
            faults.append(
                ChainFault(
                    expected,
                    f"entry {expected} is missing or moved; entry {entry.sequence} stands in its place",
                )
            )
        elif entry.previous != before:
            faults.append(ChainFault(entry.sequence, f"entry {entry.sequence} does not follow the entry before it"))
        if entry.digest != _digest_again(entry):
            faults.append(
                ChainFault(entry.sequence, f"entry {entry.sequence} ({entry.kind}) was altered after it was written")
            )
        expected, before = entry.sequence + 1, entry.digest
    return faults


def _digest_again(entry: Entry) -> str:
    return digest_of(
        entry.sequence,
        entry.run,
        entry.kind,
        entry.at,
        entry.elapsed_us,
        entry.payload,
        entry.raw,
        entry.previous,
    )
