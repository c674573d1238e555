"""Carries chains between two holders of them, until both have the longer part of each; once more changes nothing.

A holder is a book on a disk, a mirror, or the shared book. A chain is written by one bench and only grows, so of two
copies one is the beginning of the other, or they are a fork. What one lacks is carried in stretches, in order, each
kept whole or not at all: whatever ends it in between leaves a shorter copy of the same chain, and the next time goes on
from there. Each stretch is checked before it is handed on; nothing that was altered travels.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from commission.records.chain import ORIGIN, Row, check_chain
from commission.records.joining import ForkError, fork
from commission.records.numbering import short

STRETCH = 500
"""So many entries are carried at a time: some of them are large."""


@dataclass(frozen=True)
class End:
    """How far a holder has a chain: the number of its newest entry there, and that one's digest."""

    entries: int
    digest: str


class Holder(Protocol):
    """Who holds chains; each is called by its origin, the digest of its first entry."""

    def ends(self) -> Mapping[str, End]:
        """How far it has each chain."""
        ...

    def digest_of(self, origin: str, number: int) -> str | None:
        """The digest of an entry; None where it has none of that number."""
        ...

    def behind(self, origin: str, number: int) -> Iterator[Sequence[Row]]:
        """What it has of the chain behind that entry, in stretches."""
        ...

    def take(self, origin: str, rows: Sequence[Row]) -> int:
        """Take what it lacks of a sound stretch, whole or not at all; returns how many entries that were.

        Raises:
            ForkError: it has the chain, and it goes on otherwise.
        """
        ...


@dataclass(frozen=True)
class Carried:
    """What became of one chain.

    Attributes:
        origin: digest of its first entry.
        entries: how many the one that has more of it holds.
        given: entries that the other one got from here.
        got: entries that came from there.
        refused: why nothing further was carried; empty where both have the same now.
    """

    origin: str
    entries: int
    given: int = 0
    got: int = 0
    refused: str = ""

    @property
    def sentence(self) -> str:
        """The same in words."""
        if self.refused:
            return f"Chain {short(self.origin)} was not carried over: {self.refused}"
        return f"Chain {short(self.origin)}: {self.entries} entries, {self.given} of them new there, {self.got} here."


def carry(here: Holder, there: Holder, *, gives: bool = True) -> list[Carried]:
    """Carry every chain both ways, or only to here.

    A chain that was altered, or goes on in two ways, is left as it is and told; the others are carried.
    """
    mine, theirs = here.ends(), there.ends()
    wanted = sorted(set(mine) | set(theirs) if gives else theirs)
    return [_carry_chain(origin, here, there, mine.get(origin), theirs.get(origin), gives=gives) for origin in wanted]


_NONE = End(0, ORIGIN)


def _carry_chain(
    origin: str, here: Holder, there: Holder, mine: End | None, theirs: End | None, *, gives: bool
) -> Carried:
    mine, theirs = mine or _NONE, theirs or _NONE
    most = max(mine.entries, theirs.entries)
    common = _common(origin, here, there, mine, theirs)
    if isinstance(common, ForkError):
        return Carried(origin, most, refused=str(common))
    if theirs.entries > mine.entries:
        got, why = _handed_on(origin, there, here, common)
        return Carried(origin, most, got=got, refused=why)
    if gives and mine.entries > theirs.entries:
        given, why = _handed_on(origin, here, there, common)
        return Carried(origin, most, given=given, refused=why)
    return Carried(origin, most)


def _common(origin: str, here: Holder, there: Holder, mine: End, theirs: End) -> End | ForkError:
    """The newest entry that both have, or that there is none such because the chain goes on in two ways."""
    shorter, longer = (mine, there) if mine.entries <= theirs.entries else (theirs, here)
    if not shorter.entries or longer.digest_of(origin, shorter.entries) == shorter.digest:
        return shorter
    return fork(origin, _first_difference(origin, here, there, shorter.entries))


def _first_difference(origin: str, here: Holder, there: Holder, upto: int) -> int:
    """Each entry carries the digest of the one before it: behind a difference all differ, before it none does."""
    same, differs = 0, upto
    while differs - same > 1:
        middle = (same + differs) // 2
        if here.digest_of(origin, middle) == there.digest_of(origin, middle):
            same = middle
        else:
            differs = middle
    return differs


def _handed_on(origin: str, source: Holder, target: Holder, common: End) -> tuple[int, str]:
    """How many entries were carried behind the common one, and why no more; empty where that is all of them."""
    carried, after = 0, (common.entries, common.digest)
    for rows in source.behind(origin, common.entries):
        faults = check_chain(rows, after=after)
        damaged = next((row for row in rows if row.damage), None)
        if faults or damaged:
            what = faults[0].what if faults or damaged is None else f"entry {damaged.sequence}: {damaged.damage}"
            return carried, f"it is not as it was written ({what}). It was carried up to entry {after[0]}."
        try:
            carried += target.take(origin, rows)
        except ForkError as forked:
            return carried, str(forked)
        after = rows[-1].sequence, rows[-1].digest
    return carried, ""


__all__ = ["Carried", "End", "Holder", "carry"]
