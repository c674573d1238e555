"""The record book on disk: append an entry, read entries back."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

from sqlalchemy import Connection, Row, Select, desc, insert, select
from sqlalchemy.exc import DatabaseError, OperationalError

from commission.clock import Clock
from commission.records.chain import ORIGIN, ChainFault, Entry, check_chain, link_entry
from commission.records.tables import BookError, bring_up_to_date, entries, open_engine

__all__ = ["Book", "BookError"]

PAGE = 500
"""Entries read at a time: a wiggle's readings and bytes make some of them large."""


class Book:
    """One file that holds every run. Entries are only ever appended; the database refuses anything else.

    Not for use by several threads at once; several processes may append in turn.
    """

    def __init__(self, path: Path, clock: Clock) -> None:
        """Open or create the book.

        Raises:
            BookError: the file is not a book this program can use, or cannot be written.
        """
        self.path = path
        self._clock = clock
        self._opened_s = clock.monotonic()
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._engine = open_engine(path)
            bring_up_to_date(self._engine, path)
        except (DatabaseError, OSError) as error:
            raise BookError(
                f"The record book {path} cannot be opened ({_reason(error)}). Check that the folder can be written "
                "and that the file is a record book, or name another file with --book."
            ) from error

    def __enter__(self) -> "Book":
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._engine.dispose()

    def append(self, run: str, kind: str, facts: Mapping[str, Any], raw: bytes | None = None) -> Entry:
        """Write one entry behind the newest and return it once it is on the disk.

        Raises:
            BookError: it could not be written; nothing of it was kept.
        """
        try:
            with self._engine.begin() as connection:
                entry = link_entry(
                    _newest(connection),
                    run=run,
                    kind=kind,
                    at=self._clock.now().isoformat(timespec="milliseconds"),
                    elapsed_us=round(1e6 * (self._clock.monotonic() - self._opened_s)),
                    facts=facts,
                    raw=raw,
                )
                connection.execute(insert(entries).values(**vars(entry)))
        except OperationalError as error:
            raise BookError(
                f"The record book {self.path} cannot be written ({_reason(error)}). Free disk space or check the file."
            ) from error
        return entry

    def receive(self, imported: Sequence[Entry]) -> None:
        """Write entries of an export behind the newest, all or none of them, digests and all as they are.

        Raises:
            BookError: they do not follow the newest entry, or cannot be written; nothing of them was kept.
        """
        if not imported:
            return
        try:
            with self._engine.begin() as connection:
                newest = _newest(connection)
                follows = (0, ORIGIN) if newest is None else (newest.sequence, newest.digest)
                if (imported[0].sequence - 1, imported[0].previous) != follows:
                    raise BookError(f"The entries do not follow the newest one of {self.path}: import them again.")
                connection.execute(insert(entries), [vars(entry) for entry in imported])
        except DatabaseError as error:
            raise BookError(f"The record book {self.path} cannot be written ({_reason(error)}).") from error

    def entries(self, run: str | None = None, kind: str | None = None) -> Iterator[Entry]:
        """Entries in order; of one run, of one kind, or all."""
        query = select(entries).order_by(entries.c.sequence)
        if run is not None:
            query = query.where(entries.c.run == run)
        if kind is not None:
            query = query.where(entries.c.kind == kind)
        return self._read(query)

    def newest(self) -> Entry | None:
        """The last entry written."""
        with self._engine.connect() as connection:
            return _newest(connection)

    def verify(self) -> list[ChainFault]:
        """Every fault of the chain, from the first entry on."""
        return check_chain(self.entries())

    def _read(self, query: Select[Any]) -> Iterator[Entry]:
        # Page by page, each in a transaction that is over before anybody sees an entry: who stops reading half-way
        # holds no lock, and an append-only book cannot change under the reader.
        last = 0
        while True:
            with self._engine.connect() as connection:
                page = query.where(entries.c.sequence > last).limit(PAGE)
                found = [_entry(row) for row in connection.execute(page)]
            yield from found
            if len(found) < PAGE:
                return
            last = found[-1].sequence


def _newest(connection: Connection) -> Entry | None:
    row = connection.execute(select(entries).order_by(desc(entries.c.sequence)).limit(1)).first()
    return None if row is None else _entry(row)


def _entry(row: Row[Any]) -> Entry:
    return Entry(**row._mapping)  # noqa: SLF001 - SQLAlchemy's documented way to a row's names


def _reason(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error)
