"""What the file of a record book looks like from outside; no database is opened to see it.

SQLite documentation, "Database File Format", 1.3: the first 16 bytes name the format, and bytes 68 to 71 hold the
application's own number, the greatest byte first.
"""

from pathlib import Path

APPLICATION_ID = 0x436F6D42
"""Written into the file, so that another program's database is never taken for a record book."""

FORMAT_BYTES = b"SQLite format 3\x00"
HEADER_BYTES = 100
SIDE_FILES = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside an open database."""


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
            return book.is_file() and is_book(head_of(book))
    return False


def head_of(path: Path) -> bytes:
    """The file's first bytes.

    Raises:
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        return file.read(HEADER_BYTES)
