"""Opens the record book for a command that only reads it or adds a note."""

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli.exit_codes import NO_BOOK
from commission.cli.heads import head_kept
from commission.clock import SystemClock

if TYPE_CHECKING:
    from commission.records.book import Book


@contextmanager
def opened_book(named: Path | None, *, create: bool = False, writes: bool = False) -> Iterator["Book"]:
    """The book that a command works on.

    Args:
        named: the file named on the command line.
        create: whether a file that is not there is begun; else it is an error to say so.
        writes: whether entries are added; else it is only read, and nothing of it is written or locked.

    Raises:
        Ending: it is not there, or cannot be used.
    """
    from commission.cli.telling import Ending
    from commission.records.book import Book, BookError
    from commission.records.place import book_path

    place = book_path(named)
    if not create and not place.exists():
        said = f"There is no record book {place} yet: it begins with `commission install`. Or name another with --book."
        raise Ending(said, NO_BOOK)
    try:
        writes = writes or create
        with Book(place, SystemClock(), reads_only=not writes) as book, head_kept(book) if writes else nullcontext():
            yield book
    except BookError as error:
        raise Ending(str(error), NO_BOOK) from error
