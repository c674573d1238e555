"""The option --book: a file, or for commands that only read the shared book."""

from pathlib import Path
from typing import Any

import click

BOOK_READ = "Record book, or the address of a shared one (else $COMMISSION_BOOK)."


class BookPlace(click.Path):
    """A record book's file, or the address of a shared book; `shared:` is the one in $COMMISSION_SHARED.

    Args:
        writes: whether something is written into it: then it is a file.
    """

    name = "path"

    def __init__(self, *, writes: bool = False) -> None:
        super().__init__(path_type=Path)
        self._writes = writes

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The file or the address."""
        from commission.records.place import book_path, place_in
        from commission.records.refused import BookError

        try:
            shared = place_in(value) if isinstance(value, str) else None
            if shared is not None and self._writes:
                book_path(shared)
        except BookError as error:
            self.fail(str(error), param, ctx)
        return shared or super().convert(value, param, ctx)


READ_BOOK = click.option("--book", "place", type=BookPlace(), help=BOOK_READ)
WRITTEN_BOOK = click.option("--book", "place", type=BookPlace(writes=True), help="Record book (else $COMMISSION_BOOK).")
