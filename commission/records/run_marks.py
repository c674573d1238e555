"""What begins, takes up and ends runs, from the lines of `facts`; where these are not as made, from the entries."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from itertools import groupby
from operator import attrgetter

from sqlalchemy import Connection

from commission.evidence.found import Established
from commission.evidence.runs import tag_in
from commission.records import facts
from commission.records.chain import Row
from commission.records.deciding import deciding
from commission.records.facts import MARKS, Fact, Line
from commission.records.numbering import Numbering, split
from commission.records.rows import record_of


class RunMarks:
    """The marks of one book.

    Args:
        reading: opens a connection that only reads.
        numbering: the chains that are read.
        rows: reads the rows of some runs or all, of some kinds, in order.
    """

    def __init__(
        self,
        reading: Callable[[], AbstractContextManager[Connection]],
        numbering: Numbering,
        rows: Callable[[Collection[str] | None, Collection[str]], Iterator[Row]],
    ) -> None:
        self._reading = reading
        self._numbering = numbering
        self._rows = rows

    def of(self, tag: str | None) -> Iterator[Line | list[Fact]]:
        """Of every run, those told in one line first; of a printer all one by one, and perhaps of others."""
        with self._reading() as connection:
            others = facts.not_in_a_line(connection) if tag is None else set(facts.runs_of(connection, tag))
            lines = facts.lines(connection, others) if tag is None else []
            found = self._one_by_one(connection, others)
        yield from self._placed(lines)
        yield from self._by_run(found)

    def deciding(self, in_whole: Sequence[str], grade: str) -> Iterator[Line | list[Fact]]:
        """The same of the runs that decide how each printer stands, and perhaps of others; see `deciding`."""
        with self._reading() as connection:
            others = facts.not_in_a_line(connection)
            found = self._one_by_one(connection, others)
            several = {run for name in in_whole for _, run in facts.runs_with(connection, Established.kind(), name)}
            in_sight = {fact.tag for fact in found if fact.run in several and fact.tag is not None}
            lines = deciding(connection, others, grade, several, in_sight)
        yield from self._placed(lines)
        yield from self._by_run(found)

    def read(self, runs: Collection[str] | None) -> Iterator[list[Fact]]:
        """The same from the entries themselves."""
        found: dict[str, list[Fact]] = {}
        for row in self._rows(runs, [mark.kind() for mark in MARKS]):
            fact = facts.fact_of(record_of(row))
            if fact is not None:
                found.setdefault(row.run, []).append(fact)
        yield from found.values()

    def read_printer(self, run: str) -> str:
        """The printer of a run whose line does not tell it."""
        return self.printer_of(next(self.read([run]), []), run)

    def printer_of(self, marks: Sequence[Fact], run: str = "") -> str:
        """The printer of a run: as its beginning says, else as its number does."""
        said = marks[0].tag if marks else None
        return tag_in(run or marks[0].run) if said is None else said

    def _one_by_one(self, connection: Connection, runs: Iterable[str]) -> list[Fact]:
        return [fact for fact in facts.marks(connection, sorted(runs)) if self._known(fact.sequence)]

    def _by_run(self, found: Iterable[Fact]) -> Iterator[list[Fact]]:
        for run, of in groupby(map(self._named, found), key=attrgetter("run")):
            marks = list(of)
            yield marks if None not in [mark.word for mark in marks] else next(self.read([run]))

    def _known(self, where: int) -> bool:
        return split(where)[0] in self._numbering.chains

    def _placed(self, lines: Iterable[Line]) -> Iterator[Line]:
        if self._numbering.single:
            yield from lines
            return
        place, name = self._numbering.place, self._numbering.name
        for line in lines:
            if self._known(line.began):
                run, began, last = name(line.began, line.run), place(line.began), place(line.last)
                yield line._replace(run=run, began=began, last=last)

    def _named(self, fact: Fact) -> Fact:
        name = self._numbering.name(fact.sequence, fact.run)
        return fact._replace(run=name, sequence=self._numbering.place(fact.sequence))
