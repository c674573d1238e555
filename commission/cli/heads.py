"""Keeps where the book ends, after every command that may have written into it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from commission.records.book import Book


@contextmanager
def head_kept(book: "Book") -> Iterator[None]:
    """Keep it at the end, however that comes; that it cannot be kept is said, and changes nothing of the work."""
    from commission.cli.telling import complain
    from commission.files.output import OutputRefused
    from commission.records.book import BookError
    from commission.records.heads import heads_path, keep_head

    try:
        yield
    finally:
        place = heads_path()
        try:
            keep_head(place, book)
        except OSError as error:
            complain(f"Where the record book ends was not kept in {place}: {error.strerror or error}.")
        except (BookError, OutputRefused) as error:
            complain(f"Where the record book ends was not kept: {error}")
