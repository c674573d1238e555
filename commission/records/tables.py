"""How the database of a book is begun and opened; SQLAlchemy Core lives in this room only."""

import os
import secrets
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, FromClause, create_engine, event, text
from sqlalchemy.dialects.sqlite.base import SQLiteCompiler

from commission.command_lines import IMPORT
from commission.files.book_file import APPLICATION_ID, SIDE_FILES, application_of, head_of, is_database, is_open_book
from commission.files.kept import OWNER_ALONE
from commission.records.refused import BookError
from commission.records.schema import SCHEMA_VERSION, create_tables

__all__ = [
    "BY_SEQUENCE",
    "PATIENCE_S",
    "READS",
    "BookError",
    "Compiler",
    "begin_book",
    "open_engine",
    "reading",
    "require_book",
    "version_of",
]

PATIENCE_S = 30.0
"""So long a writer waits for others. They take no turns: with two dozen at once one was seen to wait above 5 s."""
BY_SEQUENCE = "NOT INDEXED"
"""How entries are read: from the table itself, in order. An index only says where in it to look; see `reader`."""
READS = "commission_reads"
"""The option of a connection that only reads."""


class Compiler(SQLiteCompiler):
    """SQL for SQLite; a hint on a table is written behind its name, which the library leaves out."""

    def get_from_hint_text(self, table: FromClause, text: str | None) -> str | None:  # noqa: ARG002 - the library's form
        """The hint as it was given."""
        return text


def open_engine(path: Path, patience_s: float = PATIENCE_S) -> Engine:
    """An engine on the book's file with full synchronous durability.

    Write-ahead log and `synchronous=FULL`: every commit reaches the disk before it is acknowledged (SQLite
    documentation, pragma synchronous). Transactions that write begin as IMMEDIATE, so that two writers wait for each
    other instead of failing.
    """
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": patience_s})
    engine.dialect.statement_compiler = Compiler

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            "trusted_schema=OFF",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        reads = connection.get_execution_options().get(READS, False)
        with closing(connection.connection.cursor()) as driver:  # the library's own way takes longer than the rest
            driver.execute("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine


def reading(engine: Engine) -> Connection:
    """A connection that only reads: it waits for no writer, and none waits for it."""
    return engine.connect().execution_options(**{READS: True})


def require_book(path: Path) -> None:
    """Refuse a file that is no record book before any database is opened: opening one could already change it.

    Raises:
        BookError: it is empty, no file, no database, or another program's.
        OSError: it cannot be read.
    """
    if not path.is_file():
        raise BookError(f"{path} is no file, and no record book. Name another file with --book.")
    if path.stat().st_size == 0:
        raise BookError(
            f"{path} is an empty file, and no record book. Name another file with --book; to begin a new book under "
            "that name, delete the empty file first."
        )
    if is_open_book(path):
        return  # it was looked at when it was opened, and must not be opened as a file now: see book_file
    head = head_of(path)
    if not is_database(head):
        raise BookError(
            f"{path} is no record book, and was left as it is. Name another file with --book; if your book should be "
            f"under that name, look for a copy or an export of it (`{IMPORT}`)."
        )
    # a book that was killed before its first tidying up has its number in the write-ahead log only
    if application_of(head) != APPLICATION_ID and not path.with_name(f"{path.name}-wal").exists():
        raise _foreign(path)


def begin_book(path: Path) -> None:
    """Make a new book that has its name only when it is whole, so that nobody ever sees half of one.

    It is for its owner alone, whatever the user's mask allows: it holds names, and what was done where. The database
    gives its side files the same permissions.

    Raises:
        OSError, DatabaseError: it cannot be made.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL, OWNER_ALONE))
        engine = open_engine(draft)
        with engine.begin() as connection:
            create_tables(connection, APPLICATION_ID)
        engine.dispose()
        _name(draft, path)
    finally:
        for each in (draft, *(draft.with_name(draft.name + ending) for ending in SIDE_FILES)):
            each.unlink(missing_ok=True)


def _name(draft: Path, path: Path) -> None:
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        return  # another process was first: its book is as good
    except OSError:
        # a file system without links: between the look and the renaming another program might still come first
        if not path.exists():
            draft.rename(path)


def version_of(connection: Connection, path: Path) -> int:
    """The book's format; 0 for an empty database."""
    version = int(connection.execute(text("PRAGMA user_version")).scalar_one())
    owner = int(connection.execute(text("PRAGMA application_id")).scalar_one())
    if connection.execute(text("SELECT count(*) FROM sqlite_master")).scalar_one() and owner != APPLICATION_ID:
        raise _foreign(path)
    if version > SCHEMA_VERSION:
        raise BookError(
            f"{path} was written by a newer version of this program (book format {version}, this one knows "
            f"{SCHEMA_VERSION}). Update this program, or name another file with --book."
        )
    return version


def _foreign(path: Path) -> BookError:
    return BookError(f"{path} is a database of another program. Name another file with --book.")
