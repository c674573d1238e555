"""Opens a book for reading only: nothing is written into it, nobody waits for who reads, a read-only medium will do.

A book is kept with a write-ahead log (SQLite documentation, "Write-Ahead Logging", "Read-Only Databases"):

| what is there | how it is read |
|---|---|
| a folder that can be written | as it is; the database keeps its two side files beside the book while anybody reads |
| a medium that cannot, the log empty or gone | as a file that nobody changes |
| the same, with entries in the log that a killed run left | in a copy of both, which is thrown away afterwards |
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, QueuePool, create_engine, event
from sqlalchemy.exc import OperationalError

from commission.records.tables import Compiler


def reading_engine(path: Path, kept_until: ExitStack, patience_s: float) -> Engine:
    """An engine that reads the book and cannot write.

    Args:
        path: the book's file.
        kept_until: closes what was needed beside it.
        patience_s: so long it is waited for a program that has it for itself alone.

    Raises:
        DatabaseError: it is no database, or is damaged from its first page on.
        OSError: there is no room for a copy.
    """
    engine = _engine(path, "mode=ro", patience_s)
    try:
        _look(engine)
    except OperationalError as error:
        engine.dispose()
        if not _is_read_only_medium(error):
            raise
        engine = _on_a_read_only_medium(path, kept_until, patience_s)
    kept_until.callback(engine.dispose)
    return engine


def _is_read_only_medium(error: OperationalError) -> bool:
    """Whether the side files cannot be made; where this process has the book open as well, they are there."""
    code = getattr(error.orig, "sqlite_errorcode", 0) & 0xFF  # the lowest byte is the primary code
    return code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)


def _on_a_read_only_medium(path: Path, kept_until: ExitStack, patience_s: float) -> Engine:
    log = path.with_name(f"{path.name}-wal")
    if not log.exists() or log.stat().st_size == 0:
        engine = _engine(path, "mode=ro&immutable=1", patience_s)
        _look(engine)
        return engine
    folder = Path(kept_until.enter_context(tempfile.TemporaryDirectory(prefix="commission-")))
    copy = folder / path.name
    for each in (path, log):
        shutil.copyfile(each, folder / each.name)
    return _engine(copy, "mode=ro", patience_s)


def _engine(path: Path, how: str, patience_s: float) -> Engine:
    address = f"{path.resolve().as_uri()}?{how}"
    opened: Callable[[], Any] = partial(sqlite3.connect, address, uri=True, timeout=patience_s, check_same_thread=False)
    engine = create_engine("sqlite://", creator=opened, poolclass=QueuePool)
    engine.dialect.statement_compiler = Compiler

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: object) -> None:
        connection.isolation_level = None
        for pragma in ("query_only=ON", "trusted_schema=OFF"):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def _look(engine: Engine) -> None:
    with engine.connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar()
