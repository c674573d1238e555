"""Reads a book's entries: an index says where to look, the table says what stands there.

Entries of a run come from the table, by sequence, from the first to the last place that an index knows of it. What an
index lost in between is read all the same, and one that knows nothing is not believed. Within a look, and once the
whole index was compared with the table (`index_in_step`), it alone says where they lie. Only lists over every run
(which there are, what became of them, what is due) go by the lines of `facts` alone, and only where these are as this
tool makes them. A book of the first format is read from end to end, as it always was.
"""

import itertools
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from heapq import merge
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, Select, func, select, text

from commission.evidence.found import Established
from commission.evidence.runs import Note
from commission.evidence.talk import Punched
from commission.records import facts
from commission.records.chain import Row
from commission.records.facts import Fact, Line
from commission.records.look import Looks, Lying
from commission.records.numbering import CHAIN_BITS, Numbering, extent, lies_at, split
from commission.records.rows import noted_in, row_of
from commission.records.run_marks import RunMarks
from commission.records.schema import entries
from commission.records.tables import BY_SEQUENCE

PAGE = 500
"""Entries read at a time: a wiggle's readings and bytes make some of them large."""
MANY = 100
"""With more runs than this it is a list over a workshop that is asked for, and no printer's history."""
Span = tuple[int, int]
"""From the first to the last place in the book, both taken."""


class Reader:
    """Answers the questions to one book: its chains in one order.

    Args:
        reading: opens a connection that only reads, and translates its troubles.
        indexed: whether questions may go by index.
        numbering: the chains that are read.
        looks: those within which questions are asked.

    Attributes:
        numbering: as given.
    """

    def __init__(
        self,
        reading: Callable[[], AbstractContextManager[Connection]],
        *,
        indexed: bool,
        numbering: Numbering,
        looks: Looks | None = None,
    ) -> None:
        self._reading = reading
        self._indexed = indexed
        self._looks = looks or Looks()
        self.numbering = numbering
        self._marks = RunMarks(reading, numbering, self.rows)

    def rows(self, runs: Collection[str] | None, kinds: Collection[str]) -> Iterator[Row]:
        """Rows in order; of some runs or all, of some kinds or all."""
        self._take_turns()
        if runs is not None:
            yield from self._of_runs(runs, kinds)
        elif kinds and self._indexed:
            yield from self._at(self._places(kinds))
        else:
            yield from _merged(self._read(_wanted(None, kinds), [span]) for span in self._whole())

    def _take_turns(self) -> None:
        """Learn the turns that were written since; a book of one chain needs none."""
        if self.numbering.single:
            return
        with self._reading() as connection:
            self.learn(connection)

    def learn(self, connection: Connection) -> None:
        """Learn the turns that this connection sees and that are not known yet."""
        for chain in self.numbering.chains:
            behind = self.numbering.last_turn(chain)
            found = list(facts.turns(connection, chain, behind)) if self._indexed else []
            noted = list(noted_in(connection, chain, behind, indexed=self._indexed))
            before = lies_at(chain, 0)
            found = sorted(found + noted) if noted else found
            self.numbering.take(chain, [(where - before, at) for where, at in found])

    def _whole(self) -> list[Span]:
        return [(1, 0)] if self.numbering.single else [extent(chain) for chain in self.numbering.chains]

    def _of_runs(self, runs: Collection[str], kinds: Collection[str]) -> Iterator[Row]:
        wanted, plain = set(runs), {self.numbering.plain(run) for run in runs}
        if not wanted:
            return
        look = self._looks.now
        if self._indexed and len(wanted) > MANY:
            found = self._at(self._places(kinds, sorted(plain)))
        elif look is not None:
            found = look.within(self.numbering).rows(plain, set(kinds), self._lying)
        else:
            query = _wanted(plain, kinds)
            found = _merged(self._read(query, spans) for spans in self._spans(plain))
        yield from (row for row in found if row.run in wanted)

    def _lying(self, runs: Collection[str]) -> Iterable[Lying]:
        """All entries of these runs as they lie in the file, in order within each chain."""
        if self._indexed:
            with self._reading() as connection:
                if self._looks.index.has_all(
                    connection, self.numbering.chains, lambda: itertools.chain(*self._spans(runs))
                ):
                    return [each for run in runs for each in connection.execute(_BY_INDEX, {"run": run}).fetchall()]
        pages = (self._pages(_wanted(runs, ()), span) for span in itertools.chain(*self._spans(runs)))
        return (each for of_span in pages for page in of_span for each in page)

    def _spans(self, runs: Collection[str]) -> list[list[Span]]:
        """Where to look for the entries of these runs, chain by chain: stretches in order; all of it in doubt."""
        if not self._indexed:
            return [[span] for span in self._whole()]
        found: dict[int, list[Span]] = {}
        with self._reading() as connection:
            for run in runs:
                ends = select(func.min(entries.c.sequence), func.max(entries.c.sequence)).where(entries.c.run == run)
                of_run = connection.execute(ends.group_by(_CHAIN)).fetchall()
                if not of_run:
                    return [[span] for span in self._whole()]
                for first, last in of_run:
                    found.setdefault(split(first)[0], []).append((first, last))
        return [_joined(sorted(spans)) for spans in found.values()]

    def _places(self, kinds: Collection[str], runs: Sequence[str] | None = None) -> list[int]:
        """Where the entries of these kinds lie, or of all kinds where none is named; in all runs or some."""
        line = select(entries.c.sequence)
        if set(kinds) == {Note.kind()}:
            line = line.where(text("kind = 'note'"))  # as the index says it: a value that is given would not find it
        elif kinds:
            line = line.where(entries.c.kind.in_(kinds))
        with self._reading() as connection:
            if runs is None:
                return sorted(connection.scalars(line))
            found: list[int] = []
            for begin in range(0, len(runs), PAGE):
                found += connection.scalars(line.where(entries.c.run.in_(runs[begin : begin + PAGE])))
            return sorted(found)

    def _at(self, places: Sequence[int]) -> Iterator[Row]:
        """The rows that lie there, in order."""
        by_chain: dict[int, list[int]] = {}
        for where in places:
            by_chain.setdefault(split(where)[0], []).append(where)
        known = [by_chain[chain] for chain in self.numbering.chains if chain in by_chain]
        yield from _merged(self._of_chain_at(some) for some in known)

    def _of_chain_at(self, places: Sequence[int]) -> Iterator[Row]:
        for begin in range(0, len(places), PAGE):
            some = places[begin : begin + PAGE]
            query = select(entries).with_hint(entries, BY_SEQUENCE).where(entries.c.sequence.in_(some))
            with self._reading() as connection:
                rows = connection.execute(query.order_by(entries.c.sequence))
                found = [row_of(each, self.numbering) for each in rows]
            yield from found

    def _read(self, query: Select[Any], spans: Iterable[Span]) -> Iterator[Row]:
        for span in spans:
            for page in self._pages(query, span):
                yield from [row_of(each, self.numbering) for each in page]

    def _pages(self, query: Select[Any], span: Span) -> Iterator[Sequence[Lying]]:
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
                found = connection.execute(page).fetchall()
            yield found
            if len(found) < PAGE:
                return
            before = found[-1].sequence

    def marks(self, tag: str | None = None) -> Iterator[Line | list[Fact]]:
        """What begins, takes up and ends each run, run by run; of one printer and perhaps of others.

        With no printer named, a run that is told in one line comes so, and the others behind these.
        """
        look = self._looks.now
        if look is None or tag is None:
            yield from self._every_mark(tag)
        else:
            yield from look.within(self.numbering).marks(tag, lambda: self._every_mark(tag))

    def _every_mark(self, tag: str | None) -> Iterator[Line | list[Fact]]:
        self._take_turns()
        return self._marks.of(tag) if self._indexed else self._marks.read(None)

    def deciding_marks(self, in_whole: Sequence[str], grade: str) -> Iterator[Line | list[Fact]]:
        """The same of the runs that decide how each printer stands, and perhaps of others; see `deciding`.

        Args:
            in_whole: names of findings; of a printer that has one, all runs come.
            grade: a class of items; every run in which one was opened comes.
        """
        self._take_turns()
        return self._marks.deciding(in_whole, grade) if self._indexed else self._marks.read(None)

    def findings(self, names: Sequence[str], runs: Collection[str]) -> Iterator[Row]:
        """The findings of these names in these runs, in order, and perhaps others of them."""
        if not self._indexed:
            yield from self.rows(runs, [Established.kind()])
            return
        look = self._looks.now
        plain = sorted({self.numbering.plain(run) for run in runs})
        if look is not None and look.within(self.numbering).has_read(plain):
            yield from self.rows(runs, [Established.kind()])
            return
        self._take_turns()
        wanted = set(runs)
        with self._reading() as connection:
            places = facts.places(connection, Established.kind(), names, plain)
        yield from (row for row in self._at(places) if row.run in wanted)

    def newest_findings(self, names: Sequence[str]) -> Iterator[tuple[str, Row]]:
        """The newest finding of each of these names of each printer, with the printer; in order, and perhaps others."""
        self._take_turns()
        if not self._indexed:
            whose = {marks[0].run: self._marks.printer_of(marks) for marks in self._marks.read(None)}
            found = ((whose.get(row.run, ""), row) for row in self.rows(None, [Established.kind()]))
            yield from ((tag, row) for tag, row in found if tag)
            return
        newest: dict[tuple[str, str], int] = {}
        with self._reading() as connection:
            for said, name, run, where in facts.newest(connection, names):
                if split(where)[0] in self.numbering.chains:
                    key = (self._marks.read_printer(self.numbering.name(where, run)) if said is None else said, name)
                    place = self.numbering.place(where)
                    newest[key] = max(place, newest.get(key, place))
        whose_at = {place: tag for (tag, _), place in newest.items()}
        yield from ((whose_at[row.place], row) for row in self.at(whose_at))

    def at(self, places: Collection[int]) -> Iterator[Row]:
        """The rows at these places, in order; none where nothing stands."""
        return self._at(sorted(map(self.numbering.lies, places)))

    def runs_with(self, grade: str) -> dict[str, int]:
        """The runs in which an item of that class was opened, perhaps some others, and where the last one stands."""
        self._take_turns()
        if not self._indexed:
            return {row.run: row.place for row in self.rows(None, [Punched.kind()])}
        newest: dict[str, int] = {}
        with self._reading() as connection:
            for where, run in facts.runs_with(connection, Punched.kind(), grade):
                if split(where)[0] in self.numbering.chains:
                    name, place = self.numbering.name(where, run), self.numbering.place(where)
                    newest[name] = max(place, newest.get(name, place))
        return newest


_BY_INDEX = text(
    # the index says where, the table which run and all else
    "SELECT there.* FROM entries AS known INDEXED BY entries_by_run "
    "CROSS JOIN entries AS there NOT INDEXED ON there.sequence = known.sequence "
    "WHERE known.run = :run AND there.run = known.run ORDER BY known.sequence"
)
_CHAIN = entries.c.sequence.op(">>")(CHAIN_BITS)


def _merged(streams: Iterable[Iterator[Row]]) -> Iterator[Row]:
    """Rows of several chains in one order; each stream is in order."""
    every = list(streams)
    yield from every[0] if len(every) == 1 else merge(*every, key=attrgetter("order"))


def _wanted(runs: Collection[str] | None, kinds: Collection[str]) -> Select[Any]:
    query = select(entries).with_hint(entries, BY_SEQUENCE).order_by(entries.c.sequence)
    if runs is not None:
        query = query.where(entries.c.run.in_(sorted(runs)))
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
