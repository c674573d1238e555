"""Reads the shared book: by a copy of it on this computer, which is brought up to date before each look.

Every question to a book is answered by one set of queries, on SQLite, whose answers the tests know. A second set for
another database would have to give the same answers for ever. So the entries that are not here yet are fetched, checked
against the chain, and put into a book of no bench; what is asked then is asked of it. While the network is away the
copy still answers, and it is said how old it is.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain
from pathlib import Path

from commission.clock import Clock
from commission.records.chain import Row
from commission.records.place import book_path, mirror_path
from commission.records.shared.address import SharedAddress
from commission.records.shared.book import SharedBook
from commission.records.shared.line import SharedAway
from commission.records.shared.seen import cut_off, seen_before
from commission.records.shared.sync import sync
from commission.records.tables import BookError


@dataclass(frozen=True)
class Mirror:
    """A copy that can be read.

    Attributes:
        path: the file.
        said: what whoever reads it must know, in sentences.
    """

    path: Path
    said: tuple[str, ...]


def mirrored(address: SharedAddress, clock: Clock) -> Mirror:
    """The copy, brought up to date.

    Raises:
        NotInstalled: the extra is not installed.
        SharedAway: the shared book cannot be reached, and there is no copy.
        BookError: the shared book lets nobody in, or the copy cannot be used.
    """
    return mirrored_at(mirror_path(address), address, clock)


def mirrored_at(path: Path, address: SharedAddress, clock: Clock) -> Mirror:
    """The same of a copy in that file; its folder is made where there is none."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise BookError(f"The copy of the shared book cannot be kept in {path.parent}: {error.strerror}.") from error
    try:
        done = sync(path, address, clock, "", mirror=True)
    except SharedAway as away:
        seen = seen_before(path)
        if seen is None:
            raise
        age = _age(clock.now() - datetime.fromisoformat(seen.at))
        when = seen.at[:16].replace("T", " ")
        return Mirror(path, (f"{away.what} This is the copy of {when} on this computer, {age} old.",))
    refused = [f"{each.sentence} Read it by another address, or delete {path.parent}." for each in done.refused]
    return Mirror(path, (*refused, *(f"{lost} The copy here has it still." for lost in done.lost), *done.clocks))


def _age(old: timedelta) -> str:
    minutes = max(0, round(old.total_seconds() / 60))
    if minutes < 120:
        return f"{minutes} min"
    return f"{minutes // 60} h" if minutes < 48 * 60 else f"{minutes // (24 * 60)} days"


@dataclass(frozen=True)
class WholeBook:
    """All of the shared book as it is there now, by no copy.

    Attributes:
        rows: chain by chain, in order.
        lost: what it no longer has of what this computer has seen in it, in sentences.
    """

    rows: tuple[Row, ...]
    lost: tuple[str, ...]


def whole_book(address: SharedAddress) -> WholeBook:
    """Everything that stands in the shared book, for who verifies it.

    Raises:
        NotInstalled, SharedAway, BookError: as `mirrored`, and the copy is of no help.
    """
    with SharedBook(address) as shared:
        ends = shared.ends()
        rows = [row for origin in ends for row in chain.from_iterable(shared.behind(origin, 0))]
    places = [mirror_path(address), book_path(None, {})]
    lost = [said for place in places for said in cut_off(seen_before(place), str(address), ends)]
    return WholeBook(tuple(rows), tuple(dict.fromkeys(lost)))
