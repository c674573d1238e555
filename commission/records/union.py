"""Joins another book into this one: afterwards this one holds every chain of both, each as its bench wrote it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

from commission.dialect.sanitise import clean_text
from commission.records.book import Book
from commission.records.chain import Row, check_chain
from commission.records.joining import ForkError
from commission.records.numbering import short, split
from commission.records.rows import record_of


@dataclass(frozen=True)
class ChainJoined:
    """What became of one chain of the other book.

    Attributes:
        name: the first digits of its origin, and the computer that wrote its newest entry.
        there: how many entries the other book has of it.
        here: how many this book has of it now.
        added: how many of these are new.
        refused: why nothing was taken of it; empty where it was.
    """

    name: str
    there: int
    here: int
    added: int
    refused: str = ""

    @property
    def sentence(self) -> str:
        """The same in words."""
        if self.refused:
            return f"Chain {self.name} was not joined: {self.refused}"
        said = f"Chain {self.name}: {self.there} entries, {self.added} of them new here."
        if self.here > self.there:
            said += (
                f" This book has it up to entry {self.here}: the other one is an older copy, or its end was cut off."
            )
        return said


def join(book: Book, other: Book) -> list[ChainJoined]:
    """Take what this book lacks of each chain of the other, which stays as it is; once more changes nothing.

    A chain that is not as it was written, or goes on otherwise here, is left out and told; the others are taken.

    Raises:
        BookError: the other cannot be opened, or this one not be written; chains that were taken before stay.
    """
    rows, damage = other.survey()
    unread = [split(where) for where in damage.unread]
    return [
        _joined(book, list(of), {number for which, number in unread if which == chain})
        for chain, of in groupby(rows, key=attrgetter("chain"))
    ]


def _joined(book: Book, rows: list[Row], unread: set[int]) -> ChainJoined:
    name = name_of(rows)
    faults = check_chain(rows, unread)
    if faults or unread:
        what = faults[0].what if faults else f"entry {min(unread)} cannot be read"
        return ChainJoined(name, len(rows), 0, 0, f"it is not as it was written ({what}).")
    try:
        added = book.receive(rows)
    except ForkError as fork:
        return ChainJoined(name, len(rows), 0, 0, str(fork))
    here = next(newest.sequence for origin, newest in book.heads() if origin == rows[0].digest)
    return ChainJoined(name, len(rows), here, added)


def name_of(rows: Sequence[Row]) -> str:
    """What a chain is called: the first digits of its origin, and the computer that wrote its newest entry."""
    bench = record_of(rows[-1]).about.bench
    return f"{short(rows[0].digest)} of {clean_text(bench)}" if bench else short(rows[0].digest)
