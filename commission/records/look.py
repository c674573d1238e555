"""One look at a book: what is asked within it is answered from one state of the file, and read from the file once.

A transaction that only reads sees the book as it was when it began (SQLite documentation, "Isolation In SQLite"). So
what was read in it can be kept until its end, and no longer: the next look reads anew.
"""

import threading
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any, TypeVar, cast

import sqlalchemy
from sqlalchemy import Connection

from commission.evidence.entry import AnyRecord
from commission.records.chain import Row
from commission.records.facts import Fact, Line
from commission.records.index_in_step import IndexInStep
from commission.records.numbering import Numbering
from commission.records.rows import record_of, row_of

_T = TypeVar("_T")
Lying = sqlalchemy.Row[Any]
"""An entry as it lies in the file."""
Marks = Line | list[Fact]


class Look:
    """What one thread has read in one transaction.

    Args:
        connection: the transaction that reads.
    """

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self._numbering: Numbering | None = None
        self._lying: dict[str, list[Lying]] = {}
        self._rows: dict[int, Row] = {}
        self._records: dict[int, AnyRecord] = {}
        self._marks: dict[str, list[Marks]] = {}
        self._worked_out: dict[Hashable, object] = {}

    def within(self, numbering: Numbering) -> "Look":
        """This look; emptied where the book's chains are numbered otherwise than before."""
        if numbering is not self._numbering:
            self._numbering = numbering
            for kept in (self._lying, self._rows, self._records, self._marks, self._worked_out):
                kept.clear()
        return self

    def rows(self, runs: set[str], kinds: set[str], read: Callable[[set[str]], Iterable[Lying]]) -> Iterator[Row]:
        """The rows of these runs in order, of some kinds or all; `read` is asked for runs that were not read yet."""
        new = {run for run in runs if run not in self._lying}
        if new:
            self._lying |= {run: [] for run in new}
            for each in read(new):
                self._lying[each.run].append(each)
        wanted = (each for run in runs for each in self._lying[run] if not kinds or each.kind in kinds)
        yield from sorted(map(self._row, wanted), key=_place)

    def has_read(self, runs: Collection[str]) -> bool:
        """Whether the rows of all these runs were read in this look."""
        return all(run in self._lying for run in runs)

    def record(self, row: Row) -> AnyRecord:
        """What a row of this look tells."""
        found = self._records.get(row.place)
        if found is None:
            found = self._records[row.place] = record_of(row)
        return found

    def marks(self, tag: str, read: Callable[[], Iterable[Marks]]) -> Iterator[Marks]:
        """What begins and ends the printer's runs; `read` is asked the first time."""
        if tag not in self._marks:
            self._marks[tag] = list(read())
        yield from self._marks[tag]

    def once(self, key: Hashable, work: Callable[[], _T]) -> _T:
        """What `work` comes to; done the first time that this key is asked for."""
        if key not in self._worked_out:
            self._worked_out[key] = work()
        return cast("_T", self._worked_out[key])

    def _row(self, lying: Lying) -> Row:
        found = self._rows.get(lying.sequence)
        if found is None:
            found = self._rows[lying.sequence] = row_of(lying, self._numbering)
        return found


def _place(row: Row) -> int:
    return row.place


class Looks:
    """The look of each thread, where it has one.

    Attributes:
        index: what all of them know of the index of the runs.
    """

    def __init__(self) -> None:
        self.index = IndexInStep()
        self._own = threading.local()

    @property
    def now(self) -> Look | None:
        """That of this thread; None outside of one."""
        return getattr(self._own, "look", None)

    @contextmanager
    def one(self, reading: Callable[[], AbstractContextManager[Connection]]) -> Iterator[None]:
        """Have one until the end of the block; within another one it is that one."""
        if self.now is not None:
            yield
            return
        with reading() as connection:
            self._own.look = Look(connection)
            try:
                yield
            finally:
                self._own.look = None
