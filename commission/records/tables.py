"""The tables, and how the database is opened and brought up to date; SQLAlchemy Core lives in this room only."""

from pathlib import Path
from typing import Any

from sqlalchemy import (
    Column,
    Connection,
    Engine,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    create_engine,
    event,
    text,
)

SCHEMA_VERSION = 1
APPLICATION_ID = 0x436F6D42
"""Written into the file, so that another program's database is never taken for a record book."""

metadata = MetaData()
entries = Table(
    "entries",
    metadata,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("run", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("elapsed_us", Integer, nullable=False),
    Column("payload", Text, nullable=False),
    Column("raw", LargeBinary),
    Column("previous", Text, nullable=False),
    Column("digest", Text, nullable=False, unique=True),
)
Index("entries_by_run", entries.c.run, entries.c.sequence)
Index("entries_by_kind", entries.c.kind, entries.c.sequence)

APPEND_ONLY = tuple(
    f"CREATE TRIGGER entries_no_{verb.lower()} BEFORE {verb} ON entries "
    "BEGIN SELECT RAISE(ABORT, 'the record book is append-only'); END"
    for verb in ("UPDATE", "DELETE")
)


class BookError(Exception):
    """The record book cannot be used; the text says what to do."""


def open_engine(path: Path) -> Engine:
    """An engine on the book's file with full synchronous durability.

    Write-ahead log and `synchronous=FULL`: every commit reaches the disk before it is acknowledged (SQLite
    documentation, pragma synchronous). Transactions begin as IMMEDIATE, so that two writers wait for each other
    instead of failing.
    """
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": 5.0})

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            "busy_timeout=5000",
            "trusted_schema=OFF",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def bring_up_to_date(engine: Engine, path: Path) -> None:
    """Create the tables in a new file; refuse one that is not ours or newer than this program.

    Raises:
        BookError: the file cannot serve as a record book.
    """
    with engine.begin() as connection:
        version = int(connection.execute(text("PRAGMA user_version")).scalar_one())
        owner = int(connection.execute(text("PRAGMA application_id")).scalar_one())
        foreign = (
            connection.execute(text("SELECT count(*) FROM sqlite_master")).scalar_one() and owner != APPLICATION_ID
        )
        if foreign:
            raise BookError(f"{path} is a database of another program. Name another file with --book.")
        if version > SCHEMA_VERSION:
            raise BookError(
                f"{path} was written by a newer version of this program (book format {version}, this one knows "
                f"{SCHEMA_VERSION}). Update this program, or name another file with --book."
            )
        if version < SCHEMA_VERSION:
            _create(connection)


def _create(connection: Connection) -> None:
    metadata.create_all(connection)
    for trigger in APPEND_ONLY:
        connection.execute(text(trigger))
    connection.execute(text(f"PRAGMA application_id = {APPLICATION_ID}"))
    connection.execute(text(f"PRAGMA user_version = {SCHEMA_VERSION}"))
