"""The questions to a book that its entries answer, in the order over all its chains."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Hashable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, TypeVar, cast, overload

from sqlalchemy import Connection

from commission.evidence.entry import AnyRecord, Entry, Record
from commission.evidence.found import Established
from commission.records.chain import Row
from commission.records.facts import Fact, Line
from commission.records.look import Looks
from commission.records.reader import Reader
from commission.records.rows import readable, record_of
from commission.vocabulary import PunchClass

_Kind = TypeVar("_Kind", bound=Entry)
_T = TypeVar("_T")


class Questions(ABC):
    """What a book is asked; see `Reader` for how it is found.

    Attributes:
        path: named where an entry cannot be read.
    """

    path: Path
    _looks: Looks

    @property
    @abstractmethod
    def _reader(self) -> Reader:
        """Answers them."""

    @abstractmethod
    def _reading(self) -> AbstractContextManager[Connection]:
        """A connection that only reads."""

    def one_look(self) -> AbstractContextManager[None]:
        """What this thread asks within the block is answered from one state of the book, and read from it once."""
        return self._looks.one(self._reading)

    def once(self, key: Hashable, work: Callable[[], _T]) -> _T:
        """What `work` finds out from this book alone: within a look once for each key. Nobody may change what comes."""
        look = self._looks.now
        return work() if look is None else look.within(self._reader.numbering).once(key, work)

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
        wanted = runs if run is None else [run]
        return map(self._told, self._reader.rows(wanted, [kind.kind() for kind in kinds]))

    def _told(self, row: Row) -> AnyRecord:
        look = self._looks.now
        return record_of(row) if look is None else look.within(self._reader.numbering).record(row)

    def rows(self, run: str | None = None, *kinds: str, runs: Collection[str] | None = None) -> Iterator[Row]:
        """Rows in order, as they were written; of one run, of several, of some kinds, or all."""
        return self._reader.rows(runs if run is None else [run], kinds)

    def marks(self, tag: str | None = None) -> Iterator[Line | list[Fact]]:
        """What begins, takes up and ends each run; see `Reader.marks`."""
        return self._reader.marks(tag)

    def deciding_marks(self, in_whole: Sequence[str]) -> Iterator[Line | list[Fact]]:
        """The same of the runs that decide how each printer stands, and perhaps of others; see `deciding`.

        Args:
            in_whole: names of findings; of a printer that has one, all runs come.
        """
        return self._reader.deciding_marks(in_whole, PunchClass.UNSAFE.value)

    def findings(self, names: Sequence[str], runs: Collection[str]) -> Iterator[Record[Established]]:
        """Findings of these names in these runs, in order, and perhaps some others.

        Raises:
            BookError: one of them cannot be read; it is named.
        """
        found = readable(self.path, map(self._told, self._reader.findings(names, runs)))
        return (cast("Record[Established]", record) for record in found)

    def newest_findings(self, names: Sequence[str]) -> Iterator[tuple[str, AnyRecord]]:
        """The newest finding of each name of each printer, in order, and perhaps others; each with its printer."""
        return ((tag, self._told(row)) for tag, row in self._reader.newest_findings(names))

    def at(self, places: Collection[int]) -> Iterator[AnyRecord]:
        """The entries at these places, in order."""
        return map(record_of, self._reader.at(places))

    def runs_with_unsafe_items(self) -> Mapping[str, int]:
        """The runs in which an item of class A was opened, and the place of the last one; perhaps others."""
        return self._reader.runs_with(PunchClass.UNSAFE.value)

    def may_be_later(self, one: int, other: int) -> bool:
        """Whether the entry of the one place may be later than that of the other; see `Numbering.may_be_later`."""
        return self._reader.numbering.may_be_later(one, other)
