"""Which printers a book knows, told fast enough for a key press: nothing of it is decoded, no library is loaded."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

PATIENCE_S = 0.2
"""So long it is waited for a program that has the book for itself alone: somebody has pressed a key."""


def tags_at_a_glance(path: Path) -> list[str]:
    """The tags of every run in the book, in alphabetical order; `history.tags` says the same, and decodes the entries.

    A run's number is tag, day and a count. The numbers are looked up one by one in the index that begins with them, so
    that a large book takes no longer than one with as many runs.

    Args:
        path: the book's file.

    Raises:
        sqlite3.Error: it is missing, no book, or somebody has it for himself alone.
    """
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=PATIENCE_S)) as book:
        return sorted({number.rsplit("/", 2)[0] for number in _numbers(book) if number.count("/") > 1})


def _numbers(book: sqlite3.Connection) -> Iterator[str]:
    found: str | None = ""
    while (found := book.execute("SELECT min(run) FROM entries WHERE run > ?", (found,)).fetchone()[0]) is not None:
        yield found
