"""The record book on disk: append an entry, read entries back."""

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Any

from sqlalchemy import Connection, Row, Select, desc, insert, select
from sqlalchemy.exc import DatabaseError

from commission.clock import Clock
from commission.files.book_file import closed, opened
from commission.records.chain import ORIGIN, ChainFault, Entry, check_chain, link_entry
from commission.records.tables import (
    BookError,
    begin_book,
    bring_up_to_date,
    entries,
    open_engine,
    reading,
    require_book,
)

__all__ = ["ENDED", "RESUMED", "STARTED", "Book", "BookError"]

STARTED, RESUMED, ENDED = "run_started", "run_resumed", "run_ended"
"""The kinds of entries that begin a run, take it up again, and end it."""

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
            if not path.exists():
                begin_book(path)
            require_book(path)
            self._number: tuple[int, int] | None = opened(path)
            self._engine = open_engine(path)
            self._bring_up_to_date()
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
        if self._number is not None:
            closed(self._number)
            self._number = None

    def _bring_up_to_date(self) -> None:
        try:
            bring_up_to_date(self._engine, self.path)
        except BaseException:
            self.close()
            raise

    def append(self, run: str, kind: str, facts: Mapping[str, Any], raw: bytes | None = None) -> Entry:
        """Write one entry behind the newest and return it once it is on the disk.

        Raises:
            BookError: it could not be written, or is a second end of a run; nothing of it was kept.
        """
        with self._writing() as connection:
            if kind == ENDED and _newest_mark(connection, run) == ENDED:
                raise BookError(f"The run {run} has come to its end already: what it came to stands.")
            return self._insert(connection, run, kind, facts, raw)

    def start_run(self, tag: str, day: date, facts_of: Callable[[str], Mapping[str, Any]]) -> Entry:
        """Give a new run its number and write its beginning, both at once: no two runs get the same number.

        Args:
            tag: the owner's name for the printer.
            day: the day it begins; tag, day and a count are the number.
            facts_of: what its first entry says, given the number.

        Raises:
            BookError: it could not be written; nothing of it was kept.
        """
        with self._writing() as connection:
            begins = f"{tag}/{day.isoformat()}/"
            query = select(entries.c.run).where(entries.c.run.startswith(begins, autoescape=True)).distinct()
            taken = set(connection.scalars(query))
            number = next(number for count in itertools.count(1) if (number := f"{begins}{count}") not in taken)
            return self._insert(connection, number, STARTED, facts_of(number))

    def _insert(
        self, connection: Connection, run: str, kind: str, facts: Mapping[str, Any], raw: bytes | None = None
    ) -> Entry:
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
        return entry

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        try:
            with reading(self._engine) as connection:
                yield connection
        except DatabaseError as error:
            raise BookError(
                f"The record book {self.path} cannot be read ({_reason(error)}). Look at it with `commission book "
                "verify`, and take a copy of it before anything else."
            ) from error

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """One transaction, kept whole or not at all."""
        try:
            with self._engine.begin() as connection:
                yield connection
        except DatabaseError as error:
            reason = _reason(error)
            busy = "Another program keeps it locked: wait until that is done, then try again."
            advice = busy if "locked" in reason else "Free disk space or check the file."
            raise BookError(f"The record book {self.path} cannot be written ({reason}). {advice}") from error

    def receive(self, imported: Sequence[Entry]) -> None:
        """Write entries of an export behind the newest, all or none of them, digests and all as they are.

        Raises:
            BookError: they do not follow the newest entry, or cannot be written; nothing of them was kept.
        """
        if not imported:
            return
        with self._writing() as connection:
            newest = _newest(connection)
            follows = (0, ORIGIN) if newest is None else (newest.sequence, newest.digest)
            if (imported[0].sequence - 1, imported[0].previous) != follows:
                raise BookError(f"The entries do not follow the newest one of {self.path}: import them again.")
            connection.execute(insert(entries), [vars(entry) for entry in imported])

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
        with self._reading() as connection:
            return _newest(connection)

    def verify(self) -> list[ChainFault]:
        """Every fault of the chain, from the first entry on."""
        return check_chain(self.entries())

    def _read(self, query: Select[Any]) -> Iterator[Entry]:
        # Page by page, each in a transaction that is over before anybody sees an entry: who stops reading half-way
        # holds no lock, and an append-only book cannot change under the reader.
        last = 0
        while True:
            with self._reading() as connection:
                page = query.where(entries.c.sequence > last).limit(PAGE)
                found = [_entry(row) for row in connection.execute(page)]
            yield from found
            if len(found) < PAGE:
                return
            last = found[-1].sequence


def _newest(connection: Connection) -> Entry | None:
    row = connection.execute(select(entries).order_by(desc(entries.c.sequence)).limit(1)).first()
    return None if row is None else _entry(row)


def _newest_mark(connection: Connection, run: str) -> str | None:
    """Whether the run's last beginning or its end was written last."""
    marks = select(entries.c.kind).where(entries.c.run == run, entries.c.kind.in_((STARTED, RESUMED, ENDED)))
    return connection.execute(marks.order_by(desc(entries.c.sequence)).limit(1)).scalar()


def _entry(row: Row[Any]) -> Entry:
    return Entry(**row._mapping)  # noqa: SLF001 - SQLAlchemy's documented way to a row's names


def _reason(error: Exception) -> str:
    return str(getattr(error, "orig", None) or error)
