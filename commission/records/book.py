"""The record book on disk: append an entry, read entries back."""

import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar, cast, overload

from sqlalchemy import Connection, Engine, insert, select

from commission.clock import Clock
from commission.evidence.codec import written
from commission.evidence.entry import NOTHING_TOLD, About, AnyRecord, Entry, Record
from commission.evidence.found import Established
from commission.evidence.runs import RunEnded, RunStarted
from commission.files.book_file import closed, opened
from commission.records import facts
from commission.records.chain import ORIGIN, ChainFault, Row, canonical, check_chain, link_row
from commission.records.facts import MARKS, Fact, Line
from commission.records.joint import Joint
from commission.records.packing import stored
from commission.records.read_only import reading_engine
from commission.records.reader import PAGE, Reader
from commission.records.rows import Moment, newest_mark, newest_row, readable, record_of
from commission.records.schema import entries
from commission.records.survey import Damage, survey
from commission.records.tables import (
    BY_SEQUENCE,
    PATIENCE_S,
    BookError,
    begin_book,
    open_engine,
    reading,
    require_book,
)
from commission.records.trouble import NOT_OPENED, NOT_READ, REFUSALS, REFUSALS_TO_OPEN, advice, reason
from commission.records.upgrade import bring_up_to_date
from commission.vocabulary import PunchClass

__all__ = ["MARKS", "PAGE", "Book", "BookError", "record_of"]

_Kind = TypeVar("_Kind", bound=Entry)


class Book:
    """One file that holds every run. Entries are only ever appended; the database refuses anything else.

    Several processes may append in turn; of a process one thread at a time, while others read.
    """

    def __init__(self, path: Path, clock: Clock, *, reads_only: bool = False, patience_s: float = PATIENCE_S) -> None:
        """Open or create the book.

        Args:
            path: its file.
            clock: for what is appended.
            reads_only: nothing is made, written or locked; appending is an error then.
            patience_s: so long it is waited for a program that has the book locked.

        Raises:
            BookError: the file is not a book this program can use, or cannot be written.
        """
        self.path = path
        self._clock = clock
        self._opened_s = clock.monotonic()
        self._reads_only = reads_only
        self._open = ExitStack()
        try:
            if not path.exists() and not reads_only:
                begin_book(path)
            require_book(path)
            self._open.callback(closed, opened(path))
            self._engine = self._engine_on(path, patience_s)
            self._open.callback(self._engine.dispose)
            self._joint = Joint(self._engine, path, reads_only=reads_only)
            as_made = bring_up_to_date(self._engine, path, reads_only=reads_only)
            self._reader = Reader(self._reading, indexed=as_made)
        except REFUSALS_TO_OPEN as error:
            self._open.close()
            raise BookError(
                f"The record book {path} cannot be opened ({reason(error)}). {advice(error, NOT_OPENED)}"
            ) from error
        except BookError:
            self._open.close()
            raise

    def _engine_on(self, path: Path, patience_s: float) -> Engine:
        if self._reads_only:
            return reading_engine(path, self._open, patience_s)
        return open_engine(path, patience_s)

    def __enter__(self) -> "Book":
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._open.close()

    def moment(self) -> Moment:
        """Now, as an entry keeps it."""
        elapsed_us = round(1e6 * (self._clock.monotonic() - self._opened_s))
        return Moment(self._clock.now().isoformat(timespec="milliseconds"), elapsed_us)

    def append(
        self,
        run: str,
        entry: Entry,
        about: About = NOTHING_TOLD,
        raw: bytes = b"",
        moment: Moment | None = None,
    ) -> Row:
        """Write one entry behind the newest and return its row once it is on the disk.

        Args:
            run: number of the run it belongs to.
            entry: what happened.
            about: what it belongs to, as far as that is known.
            raw: bytes that went over the wire.
            moment: when it happened, where it is written later.

        Raises:
            BookError: it could not be written, or is a second end of a run; nothing of it was kept.
            ValueError: it could not be read back; nothing of it was kept.
        """
        with self._joint.writing() as connection:
            if isinstance(entry, RunEnded) and newest_mark(connection, run) == RunEnded.kind():
                raise BookError(f"The run {run} has come to its end already: what it came to stands.")
            return self._insert(connection, run, entry, about, raw, moment)

    def start_run(self, tag: str, day: date, begin: Callable[[str], RunStarted], about: About = NOTHING_TOLD) -> Row:
        """Give a new run its number and write its beginning, both at once: no two runs get the same number.

        Args:
            tag: the owner's name for the printer.
            day: the day it begins; tag, day and a count are the number.
            begin: its first entry, given the number.
            about: what it belongs to, as far as that is known.

        Raises:
            BookError: it could not be written; nothing of it was kept.
        """
        with self._joint.writing() as connection:
            begins = f"{tag}/{day.isoformat()}/"
            query = select(entries.c.run).where(entries.c.run.startswith(begins, autoescape=True)).distinct()
            query = query.with_hint(entries, BY_SEQUENCE)
            taken = set(connection.scalars(query))
            number = next(number for count in itertools.count(1) if (number := f"{begins}{count}") not in taken)
            return self._insert(connection, number, begin(number), about)

    def _insert(
        self,
        connection: Connection,
        run: str,
        entry: Entry,
        about: About,
        raw: bytes = b"",
        moment: Moment | None = None,
    ) -> Row:
        happened = moment or self.moment()
        row = link_row(
            newest_row(connection),
            run=run,
            kind=entry.kind(),
            at=happened.at,
            elapsed_us=happened.elapsed_us,
            payload=canonical(written(entry, about)),
            raw=raw or None,
        )
        self._keep(connection, [row])
        return row

    def _keep(self, connection: Connection, rows: Sequence[Row]) -> None:
        connection.execute(insert(entries), [stored(row) for row in rows])
        facts.keep(connection, (facts.fact_of(record_of(row)) for row in rows if row.kind in facts.KINDS))

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        try:
            with reading(self._engine) as connection:
                yield connection
        except REFUSALS as error:
            raise BookError(
                f"The record book {self.path} cannot be read ({reason(error)}). {advice(error, NOT_READ)}"
            ) from error

    def together(self) -> AbstractContextManager[None]:
        """What this thread appends within the block is on the disk when the block has ended, all of it or nothing.

        Raises:
            BookError: when it ends: nothing of it was kept.
        """
        return self._joint.together()

    def receive(self, imported: Sequence[Row]) -> None:
        """Write rows of an export behind the newest, all or none of them, digests and all as they are.

        Raises:
            BookError: they do not follow the newest one, or cannot be written; nothing of them was kept.
        """
        if not imported:
            return
        with self._joint.writing() as connection:
            newest = newest_row(connection)
            follows = (0, ORIGIN) if newest is None else (newest.sequence, newest.digest)
            if (imported[0].sequence - 1, imported[0].previous) != follows:
                raise BookError(f"The entries do not follow the newest one of {self.path}: import them again.")
            self._keep(connection, imported)

    @overload
    def records(
        self, kind: type[_Kind], /, *, run: str | None = None, runs: Collection[str] | None = None
    ) -> Iterator[Record[_Kind]]: ...

    @overload
    def records(
        self, *kinds: type[Entry], run: str | None = None, runs: Collection[str] | None = None
    ) -> Iterator[Record[Entry]]: ...

    def records(
        self, *kinds: type[Entry], run: str | None = None, runs: Collection[str] | None = None
    ) -> Iterator[Record[Any]]:
        """Entries of these kinds, or of all, in order; of one run, of several, or of every one.

        Raises:
            BookError: one of them cannot be read; it is named.
        """
        return readable(self.path, self.every_record(*kinds, run=run, runs=runs))

    def every_record(
        self, *kinds: type[Entry], run: str | None = None, runs: Collection[str] | None = None
    ) -> Iterator[AnyRecord]:
        """The same for who must go on: what cannot be read comes through as `Unreadable`, to be told."""
        wanted = runs if run is None else [run] if runs is None or run in runs else []
        return map(record_of, self._reader.rows(wanted, [kind.kind() for kind in kinds]))

    def rows(self, run: str | None = None, *kinds: str, runs: Collection[str] | None = None) -> Iterator[Row]:
        """Rows in order, as they were written; of one run or several, of some kinds, or all."""
        return self._reader.rows(runs if run is None else [run], kinds)

    def rows_after(self, sequence: int) -> Iterator[Row]:
        """Rows behind that entry, in order, as they were written."""
        return self._reader.after(sequence)

    def marks(self, tag: str | None = None) -> Iterator[Line | list[Fact]]:
        """What begins, takes up and ends each run; see `Reader.marks`."""
        return self._reader.marks(tag)

    def findings(self, names: Sequence[str], runs: Collection[str]) -> Iterator[Record[Established]]:
        """Findings of these names in these runs, in order, and perhaps some others.

        Raises:
            BookError: one of them cannot be read; it is named.
        """
        found = readable(self.path, map(record_of, self._reader.findings(names, runs)))
        return (cast("Record[Established]", record) for record in found)

    def newest_findings(self, names: Sequence[str], whose: Mapping[str, str]) -> Iterator[AnyRecord]:
        """The newest finding of each name of each printer, in order, and perhaps others; `whose` tells of each run."""
        return map(record_of, self._reader.newest_findings(names, whose))

    def at(self, places: Collection[int]) -> Iterator[AnyRecord]:
        """The entries at these places, in order."""
        return map(record_of, self._reader.at(places))

    def runs_with_unsafe_items(self) -> set[str]:
        """The runs in which an item of class A was opened; and perhaps some others."""
        return self._reader.runs_with(PunchClass.UNSAFE.value)

    def newest(self) -> Row | None:
        """The last row written."""
        with self._reading() as connection:
            return newest_row(connection)

    def survey(self) -> tuple[list[Row], Damage]:
        """Everything that can be read of the book, and what is wrong with its file; no fault ends it.

        Raises:
            BookError: the file cannot be opened any more.
        """
        with self._reading() as connection:
            return survey(connection)

    def verify(self) -> list[ChainFault]:
        """Every fault of the file and of the chain, from the first entry on."""
        rows, damage = self.survey()
        return [*damage.faults, *check_chain(rows, damage.unread)]
