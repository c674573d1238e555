"""What the file of a record book looks like from outside; no database is opened to see it.

SQLite documentation, "Database File Format", 1.3: the first 16 bytes name the format, and bytes 68 to 71 hold the
application's own number, the greatest byte first.

A book that this process has open as a database is never opened here as a file. On POSIX systems a process loses all its
locks on a file as soon as it closes any opening of it (fcntl; SQLite documentation, "How To Corrupt An SQLite Database
File", 2.2): another process would take the book for unused and tidy its log away, and what is written then is lost. So
whoever opens a book says so by `opened` and `closed`, and whoever wants to look into a file asks `is_open_book` first.
"""

import os
import threading
from collections import Counter
from pathlib import Path

APPLICATION_ID = 0x436F6D42
"""Written into the file, so that another program's database is never taken for a record book."""

FORMAT_BYTES = b"SQLite format 3\x00"
HEADER_BYTES = 100
SIDE_FILES = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside an open database."""


_open_books: Counter[tuple[int, int]] = Counter()
"""How often this process has each book open, by device and number of its file: a link has the same ones."""
_changing = threading.Lock()


def _number_of(path: Path) -> tuple[int, int]:
    found = os.stat(path)  # noqa: PTH116 - looked at without being opened
    return found.st_dev, found.st_ino


def opened(path: Path) -> tuple[int, int]:
    """Say that this process opens a book as a database; returns what is handed to `closed`.

    Raises:
        OSError: it is not there.
    """
    with _changing:
        number = _number_of(path)
        _open_books[number] += 1
        return number


def closed(number: tuple[int, int]) -> None:
    """Say that it is closed again."""
    with _changing:
        _open_books[number] -= 1


def is_open_book(path: Path) -> bool:
    """Whether the file, by whatever name, is a book that this process has open now.

    Raises:
        OSError: it cannot be looked at.
    """
    with _changing:
        return _open_books[_number_of(path)] > 0


def is_database(head: bytes) -> bool:
    """Whether a file that begins so is a database of SQLite."""
    return head.startswith(FORMAT_BYTES)


def application_of(head: bytes) -> int:
    """The application's number in a database that begins so; 0 where none is written yet."""
    return int.from_bytes(head[68:72], "big")


def is_book(head: bytes) -> bool:
    """Whether a file that begins so is a record book."""
    return is_database(head) and application_of(head) == APPLICATION_ID


def belongs_to_book(path: Path) -> bool:
    """Whether the name is one that SQLite gives to a file beside a record book."""
    for ending in SIDE_FILES:
        if path.name.endswith(ending):
            book = path.with_name(path.name.removesuffix(ending))
            return book.is_file() and (is_open_book(book) or is_book(head_of(book)))
    return False


def head_of(path: Path) -> bytes:
    """The file's first bytes.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        return file.read(HEADER_BYTES)
