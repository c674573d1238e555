"""Reads a book's entries: an index says where to look, the table says what stands there.

Entries of a run come from the table, by sequence, from the first to the last place that an index knows of it. What an
index lost in between is read all the same, and one that knows nothing is not believed. Only lists over every run (which
there are, what became of them, what is due) go by the lines of `facts` alone, and only where these are as this tool
makes them. A book of the first format is read from end to end, as it always was.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from itertools import groupby
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, Select, func, select

from commission.evidence.found import Established
from commission.evidence.talk import Punched
from commission.records import facts
from commission.records.chain import Row
from commission.records.facts import MARKS, Fact, Line
from commission.records.rows import record_of, row_of
from commission.records.schema import entries
from commission.records.tables import BY_SEQUENCE

PAGE = 500
"""Entries read at a time: a wiggle's readings and bytes make some of them large."""
MANY = 100
"""With more runs than this it is a list over a workshop that is asked for, and no printer's history."""
Span = tuple[int, int]
"""From the first to the last place in the book, both taken."""


class Reader:
    """Answers the questions to one book.

    Args:
        reading: opens a connection that only reads, and translates its troubles.
        indexed: whether questions may go by index.
    """

    def __init__(self, reading: Callable[[], AbstractContextManager[Connection]], *, indexed: bool) -> None:
        self._reading = reading
        self._indexed = indexed

    def rows(self, runs: Collection[str] | None, kinds: Collection[str]) -> Iterator[Row]:
        """Rows in order; of some runs or all, of some kinds or all."""
        if runs is not None:
            yield from self._of_runs(runs, kinds)
        elif kinds and self._indexed:
            yield from self._at(self._places(kinds))
        else:
            yield from self._read(_wanted(None, kinds), (1, 0))

    def after(self, sequence: int) -> Iterator[Row]:
        """The rows behind an entry, in order."""
        return self._read(_wanted(None, ()).where(entries.c.sequence > sequence), (1, 0))

    def _of_runs(self, runs: Collection[str], kinds: Collection[str]) -> Iterator[Row]:
        wanted = set(runs)
        if not wanted:
            return
        if self._indexed and len(wanted) > MANY:
            yield from self._at(self._places(kinds, sorted(wanted)))
            return
        one = next(iter(wanted)) if len(wanted) == 1 else None
        for span in self._spans(wanted):
            found = self._read(_wanted(one, kinds), span)
            yield from (row for row in found if row.run in wanted)

    def _spans(self, runs: Collection[str]) -> list[Span]:
        """Where to look for the entries of these runs: stretches in order, apart; the whole book in doubt."""
        whole = [(1, 0)]
        if not self._indexed:
            return whole
        spans: list[Span] = []
        with self._reading() as connection:
            for run in runs:
                ends = select(func.min(entries.c.sequence), func.max(entries.c.sequence)).where(entries.c.run == run)
                first, last = connection.execute(ends).one()
                if first is None:
                    return whole
                spans.append((first, last))
        return _joined(sorted(spans))

    def _places(self, kinds: Collection[str], runs: Sequence[str] | None = None) -> list[int]:
        """Where the entries of these kinds stand, or of all kinds where none is named; in all runs or some."""
        line = select(entries.c.sequence)
        line = line.where(entries.c.kind.in_(kinds)) if kinds else line
        with self._reading() as connection:
            if runs is None:
                return sorted(connection.scalars(line))
            found: list[int] = []
            for begin in range(0, len(runs), PAGE):
                found += connection.scalars(line.where(entries.c.run.in_(runs[begin : begin + PAGE])))
            return sorted(found)

    def _at(self, places: Sequence[int]) -> Iterator[Row]:
        """The rows at these places, in order."""
        for begin in range(0, len(places), PAGE):
            some = places[begin : begin + PAGE]
            query = select(entries).with_hint(entries, BY_SEQUENCE).where(entries.c.sequence.in_(some))
            with self._reading() as connection:
                found = [row_of(each) for each in connection.execute(query.order_by(entries.c.sequence))]
            yield from found

    def _read(self, query: Select[Any], span: Span) -> Iterator[Row]:
        # Page by page, each in a transaction that is over before anybody sees a row: who stops reading half-way
        # holds no lock, and an append-only book cannot change under the reader.
        first, last = span
        before: int | None = None
        while True:
            page = query.limit(PAGE)
            if last:
                page = page.where(entries.c.sequence.between(first, last))
            if before is not None:
                page = page.where(entries.c.sequence > before)
            with self._reading() as connection:
                found = [row_of(each) for each in connection.execute(page)]
            yield from found
            if len(found) < PAGE:
                return
            before = found[-1].sequence

    def marks(self, tag: str | None = None) -> Iterator[Line | list[Fact]]:
        """What begins, takes up and ends each run, run by run; of one printer and perhaps of others.

        With no printer named, a run that is told in one line comes so, and the others behind these.
        """
        if not self._indexed:
            yield from self._marks_read(None)
            return
        with self._reading() as connection:
            if tag is None:
                every = list(facts.lines(connection))
                yield from (line for line in every if line.plain)
                looked_at = [line.run for line in every if not line.plain]
            else:
                looked_at = facts.runs_of(connection, tag)
            found = list(facts.marks(connection, looked_at))
        for run, of in groupby(found, key=attrgetter("run")):
            marks = list(of)
            yield marks if None not in [mark.word for mark in marks] else next(self._marks_read([run]))

    def _marks_read(self, runs: Collection[str] | None) -> Iterator[list[Fact]]:
        """The same from the entries themselves."""
        found: dict[str, list[Fact]] = {}
        for row in self.rows(runs, [mark.kind() for mark in MARKS]):
            fact = facts.fact_of(record_of(row))
            if fact is not None:
                found.setdefault(row.run, []).append(fact)
        yield from found.values()

    def findings(self, names: Sequence[str], runs: Collection[str]) -> Iterator[Row]:
        """The findings of these names in these runs, in order, and perhaps some others."""
        if not self._indexed:
            yield from self.rows(runs, [Established.kind()])
            return
        with self._reading() as connection:
            places = facts.places(connection, Established.kind(), names, sorted(runs))
        yield from self._at(places)

    def newest_findings(self, names: Sequence[str], whose: Mapping[str, str]) -> Iterator[Row]:
        """The newest finding of each of these names of each printer, and perhaps some others.

        Args:
            names: of the findings.
            whose: the printer of each run.
        """
        if not self._indexed:
            yield from (row for row in self.rows(None, [Established.kind()]) if row.run in whose)
            return
        places: dict[tuple[str, str], int] = {}
        with self._reading() as connection:
            for run, name, place in facts.newest(connection, names):
                if run in whose:
                    key = (whose[run], name)
                    places[key] = max(place, places.get(key, 0))
        yield from self._at(sorted(places.values()))

    def at(self, places: Collection[int]) -> Iterator[Row]:
        """The rows at these places, in order; none where nothing stands."""
        return self._at(sorted(places))

    def runs_with(self, grade: str) -> set[str]:
        """The runs in which an item of that class was opened, and perhaps some others."""
        if self._indexed:
            with self._reading() as connection:
                return facts.runs_with(connection, Punched.kind(), grade)
        return {row.run for row in self.rows(None, [Punched.kind()])}


def _wanted(run: str | None, kinds: Collection[str]) -> Select[Any]:
    query = select(entries).with_hint(entries, BY_SEQUENCE).order_by(entries.c.sequence)
    if run is not None:
        query = query.where(entries.c.run == run)
    return query.where(entries.c.kind.in_(kinds)) if kinds else query


def _joined(spans: Sequence[Span]) -> list[Span]:
    """Stretches that overlap or touch as one."""
    found: list[Span] = []
    for first, last in spans:
        if found and first <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return found
