"""Whether the book is as it was written, and whether it still holds what a signed report was drawn from."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

from commission.dialect.sanitise import clean_text
from commission.evidence.chains import ChainBegun
from commission.evidence.entry import Unreadable
from commission.records.book import record_of
from commission.records.chain import ORIGIN, ChainFault, Row
from commission.records.numbering import short
from commission.records.survey import SOUND, Damage, faults_of
from commission.records.union import name_of

_DIGEST = re.compile(r"[0-9a-f]{64}")
LEAST_DIGITS = 12
"""So many leading digits of a printed digest are enough to type: a clash by chance is beyond all bounds."""


class NoDigest(ValueError):
    """What was given as a digest is none; the text says what to do."""


@dataclass(frozen=True)
class Sought:
    """A digest printed on a report.

    Attributes:
        digest: as it was asked for, cleaned.
        entry: the entry that has it; None when none has.
    """

    digest: str
    entry: Row | None


@dataclass(frozen=True)
class Verified:
    """What a verification found.

    Attributes:
        entries: how many entries the book holds.
        newest: the newest of them; None in an empty book.
        faults: every place where it is not as it was written, in order.
        sought: the digests that were asked for, in the order they were given.
        unreadable: every entry that this version of the tool cannot read, and why.
        chains: of a book with several, each in words.
    """

    entries: int
    newest: Row | None
    faults: tuple[ChainFault, ...]
    sought: tuple[Sought, ...] = ()
    unreadable: tuple[str, ...] = ()
    chains: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults and all(each.entry is not None for each in self.sought)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The result in words."""
        said = [f"{self.entries} entries; the newest has the digest {self.newest.digest if self.newest else ORIGIN}."]
        if self.chains:
            said = [f"{self.entries} entries in {len(self.chains)} chains.", *self.chains]
        said += [f"Not as it was written: {fault.what}." for fault in self.faults]
        if not self.faults:
            said.append("Each entry follows the one before it, and none was altered.")
        said += [f"This version of the tool cannot read {each}." for each in self.unreadable]
        said += [self._told(each) for each in self.sought]
        missing = [each.digest for each in self.sought if each.entry is None]
        if missing:
            said.append(self._gone(len(missing)))
        elif not self.sought and not self.faults:
            said.append("Entries cut off at the end leave no gap: compare with a signed report by --digest.")
        return tuple(said)

    def _told(self, sought: Sought) -> str:
        if sought.entry is None:
            return f"Not found: no entry has the digest {sought.digest}."
        at = f"Entry {sought.entry.sequence}, the newest of run {sought.entry.run} when its report was drawn"
        return f"Found: the digest {sought.digest}. {at}."

    def _gone(self, missing: int) -> str:
        """Where the book ends, and what that means for the reports it does not lead to."""
        which = "that report was" if missing == 1 else f"those {missing} reports were"
        if self.newest is None:
            return f"The book is empty: what {which} drawn from is not in it."
        if self.chains:
            return f"What {which} drawn from was cut off, altered, or stood in a chain that is not in this book."
        last = f"entry {self.newest.sequence} (run {self.newest.run}, {self.newest.at[:16].replace('T', ' ')})"
        if self.faults:
            return f"What {which} drawn from was altered or removed. The book ends with {last}."
        if any(each.entry is not None for each in self.sought):
            return f"The book ends with {last}: what {which} drawn from stood behind it, and was cut off."
        return (
            f"The book ends with {last}. Either everything behind it was cut off, what {which} drawn from with it, or "
            "this is another book."
        )


def verify(rows: Iterable[Row], *digests: str, damage: Damage = SOUND) -> Verified:
    """Check every entry, and look for the digests printed on reports.

    Args:
        rows: the whole book, in order.
        digests: each as printed, or its first digits; blanks in it are ignored, an empty one is not looked for.
        damage: what was found wrong with the file while the rows were read.

    Raises:
        NoDigest: one is too short, or holds other signs than hexadecimal digits.
    """
    asked = [digest for digest in map(clean_digest, digests) if digest]
    everything = list(rows)
    sought = tuple(Sought(each, next((e for e in everything if e.digest.startswith(each)), None)) for each in asked)
    newest = everything[-1] if everything else None
    unreadable = tuple(said for row in everything for said in _unreadable(row))
    faults = (*damage.faults, *faults_of(everything, damage))
    chains = [list(of) for _, of in groupby(everything, key=attrgetter("chain"))]
    told = tuple(_chain(of) for of in chains) if len(chains) > 1 else ()
    return Verified(len(everything), newest, (*faults, *_cut_off(chains)), sought, unreadable, told)


def _chain(rows: Sequence[Row]) -> str:
    first, newest = rows[0].at[:10], rows[-1]
    return (
        f"Chain {name_of(rows)}: {len(rows)} entries from {clean_text(first)} to {clean_text(newest.at[:10])}; the "
        f"newest, entry {newest.sequence}, has the digest {newest.digest}."
    )


def _cut_off(chains: Sequence[Sequence[Row]]) -> Iterator[ChainFault]:
    """Chains that end before the place at which a bench saw them end when it began its own."""
    here = {of[0].digest: {row.sequence: row.digest for row in of} for of in chains}
    for of in chains:
        begun = record_of(of[0]).entry
        for seen in begun.behind if isinstance(begun, ChainBegun) else ():
            if seen.origin in here and here[seen.origin].get(seen.entries) != seen.digest:
                what = f"chain {short(seen.origin)} had {seen.entries} entries when chain {short(of[0].digest)} began"
                yield ChainFault(seen.entries, f"{what}, and does not hold the last of them")


def _unreadable(row: Row) -> Iterator[str]:
    entry = record_of(row).entry
    if isinstance(entry, Unreadable):
        yield f"entry {row.sequence} ({entry.kind}): {entry.why}"


def clean_digest(text: str) -> str:
    """A digest as typed from paper, without blanks and in lower case; empty stays empty.

    Raises:
        NoDigest: it cannot be one.
    """
    digest = re.sub(r"[\s:-]+", "", text).lower()
    if digest and not (len(digest) >= LEAST_DIGITS and _DIGEST.fullmatch(digest.ljust(64, "0"))):
        raise NoDigest(
            f"A digest has 64 hexadecimal digits; the first {LEAST_DIGITS} are enough. Copy it from the report."
        )
    return digest
