"""Opens the record book for a command that only reads it or adds a note; who only reads may read the shared one."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli.exit_codes import NO_BOOK
from commission.cli.heads import head_kept
from commission.clock import SystemClock

if TYPE_CHECKING:
    from commission.records.bench_clock import BenchClock
    from commission.records.book import Book
    from commission.records.place import Place
    from commission.records.shared.address import SharedAddress


@contextmanager
def opened_book(
    named: "Place | None", *, create: bool = False, writes: bool = False, by_time: bool = False
) -> Iterator["Book"]:
    """The book that a command works on.

    Args:
        named: the file named on the command line, or the address of a shared book for who only reads.
        create: whether a file that is not there is begun; else it is an error to say so.
        writes: whether entries are added; else it is only read, and nothing of it is written or locked.
        by_time: whether it shows the runs of several benches in order: what is known of their clocks counts then, and
            one that is far off is told.

    Raises:
        Ending: it is not there, or cannot be used.
    """
    from commission.cli.telling import Ending
    from commission.records.book import Book, BookError
    from commission.records.place import book_path, reading_place
    from commission.records.shared.address import SharedAddress

    try:
        place = book_path(named) if create or writes else reading_place(named)
    except BookError as error:
        raise Ending(str(error), NO_BOOK) from error
    if isinstance(place, SharedAddress):
        place = _copy_of(place)
    elif by_time:
        _tell_clocks(place)
    if not create and not place.exists():
        said = f"There is no record book {place} yet: it begins with `commission install`. Or name another with --book."
        raise Ending(said, NO_BOOK)
    try:
        writes = writes or create
        clocks = _known_clocks(place) if by_time else None
        with (
            Book(place, SystemClock(), reads_only=not writes, clocks=clocks) as book,
            head_kept(book) if writes else nullcontext(),
        ):
            yield book
    except BookError as error:
        raise Ending(str(error), NO_BOOK) from error


def _copy_of(address: "SharedAddress") -> Path:
    """The copy of the shared book on this computer, brought up to date; what must be known of it is said."""
    from commission.cli.telling import Ending, remark
    from commission.records.book import BookError
    from commission.records.shared.mirror import mirrored

    try:
        copy = mirrored(address, SystemClock())
    except BookError as error:
        raise Ending(str(error), NO_BOOK) from error
    for sentence in copy.said:
        remark(sentence)
    return copy.path


def _known_clocks(place: Path) -> "Mapping[str, BenchClock]":
    from commission.records.shared.clocks import bench_clocks
    from commission.records.shared.seen import seen_before

    seen = seen_before(place)
    return bench_clocks(seen.history if seen else ())


def _tell_clocks(place: Path) -> None:
    from commission.cli.telling import remark
    from commission.records.shared.clocks import in_doubt
    from commission.records.shared.seen import seen_before

    seen = seen_before(place)
    for sentence in in_doubt(seen.clocks if seen else ()):
        remark(sentence)
