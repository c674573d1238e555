"""Writes into a book: into the chain of this bench, and into no other one."""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

from sqlalchemy import Connection, select, text

from commission.evidence.chains import ChainBegun, SeenHead
from commission.evidence.codec import written
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.records import facts
from commission.records.bench import Bench, keep_bench, new_bench
from commission.records.chain import Row, canonical, link_row
from commission.records.chains import chains_in, heads_in, is_owned, own_chain
from commission.records.numbering import extent, lies
from commission.records.packing import stored
from commission.records.rows import Moment, end_of, record_of
from commission.records.schema import OWNED, entries
from commission.records.tables import BY_SEQUENCE, BookError

BEGIN = "chain"
"""What stands in place of the number of a run in the entry that begins a chain."""


class Pen:
    """Appends entries; every call is within a transaction that writes.

    Args:
        book: the file.
    """

    def __init__(self, book: Path) -> None:
        self._book = book
        self._bench: Bench = new_bench()
        self._chain: int | None = None
        self._last: Row | None = None
        self._within: Row | None = None
        self._owned = False  # what is of that format stays so: it is asked until a transaction finds it

    def own(self, connection: Connection, now: Moment) -> int:
        """The number of this bench's chain; it is begun where there is none.

        Raises:
            BookError: it cannot be kept beside the book whose it is.
        """
        if self._chain is not None:
            return self._chain
        self._bench, chain = own_chain(connection, self._book)
        if chain is None:
            chain = self._begun(connection, now)
        elif not self._bench.origin:
            self._adopt(connection, chain)
        self._chain = chain
        return chain

    def _begun(self, connection: Connection, now: Moment) -> int:
        """The number of a new chain; its first entry says who begins it, if there are others."""
        there = chains_in(connection)
        if not there:
            return 0
        behind = tuple(SeenHead(origin, row.sequence, row.digest) for origin, row in heads_in(connection))
        begun = ChainBegun(identity=self._bench.identity, behind=behind)
        self._link(connection, there[-1] + 1, BEGIN, begun, NOTHING_TOLD, None, now)
        return there[-1] + 1

    def _adopt(self, connection: Connection, chain: int) -> None:
        first, newest = next(head for head in heads_in(connection) if head[1].chain == chain)
        self._bench = replace(self._bench, origin=first, entries=newest.sequence, digest=newest.digest)
        keep_bench(self._book, self._bench)

    def number(self, connection: Connection, tag: str, day: date) -> str:
        """The number of the next run: tag, day, and a count with the mark of this bench, that no run has."""
        begins = f"{tag}/{day.isoformat()}/"
        # a sign that stands for others finds more runs, and none of them has that very number
        query = select(entries.c.run).where(entries.c.run.startswith(begins)).distinct()
        taken = set(connection.scalars(query.with_hint(entries, BY_SEQUENCE)))
        numbers = (f"{begins}{count}-{self._bench.mark}" for count in itertools.count(1))
        return next(number for number in numbers if number not in taken)

    def append(
        self, connection: Connection, run: str, entry: Entry, about: About, raw: bytes | None, moment: Moment
    ) -> Row:
        """Write one entry behind the newest of the own chain."""
        return self._link(connection, self.own(connection, moment), run, entry, about, raw, moment)

    def _link(
        self,
        connection: Connection,
        chain: int,
        run: str,
        entry: Entry,
        about: About,
        raw: bytes | None,
        moment: Moment,
    ) -> Row:
        row = link_row(
            self._within or end_of(connection, chain),
            run=run,
            kind=entry.kind(),
            at=moment.at,
            elapsed_us=moment.elapsed_us,
            payload=canonical(written(entry, about)),
            raw=raw,
            chain=chain,
        )
        if row.sequence == 1:
            # kept before the entry: where that is not written after all, the next one begins anew
            self._bench = replace(self._bench, origin=row.digest)
            keep_bench(self._book, self._bench)
        _write(connection, [row])
        if self._within is None and not self._owned:
            self._owned = _own(connection)
        self._last = self._within = row
        return row

    def require_own(self, connection: Connection, run: str, moment: Moment) -> None:
        """Refuse to go on with a run of another chain: one run stands in one chain.

        Raises:
            BookError: it was begun by another bench.
        """
        chain = self.own(connection, moment)
        query = select(entries.c.sequence).where(entries.c.run == run)
        here = connection.scalar(query.where(entries.c.sequence.between(*extent(chain))))
        if here is None and connection.scalar(query) is not None:
            raise BookError(
                f"The run {run} was begun by another bench, or in another copy of this book: it is taken up there. "
                "Begin a new one here."
            )

    @contextmanager
    def in_part(self) -> Iterator[None]:
        """What is written within is a part of a transaction: where it fails, what was decided before it stands."""
        before = self._bench, self._chain, self._last, self._within
        try:
            yield
        except BaseException:
            self._bench, self._chain, self._last, self._within = before
            raise

    def begin(self) -> None:
        """A transaction that writes has begun: another process may have written since the one before."""
        self._within = None

    def forget(self) -> None:
        """Forget what was decided in a transaction that came to nothing."""
        self._chain, self._last, self._within = None, None, None
        self._owned = False

    def put_down(self) -> None:
        """Keep how far the chain has come: by it an older state that is put back is known."""
        if self._last is not None:
            keep_bench(self._book, replace(self._bench, entries=self._last.sequence, digest=self._last.digest))
            self._last = None


def keep(connection: Connection, rows: Sequence[Row]) -> None:
    """Write rows as they are, and the lines of `facts` beside them."""
    _write(connection, rows)
    _own(connection)


def _write(connection: Connection, rows: Sequence[Row]) -> None:
    with closing(facts.by_driver(connection)) as driver:
        driver.executemany(_KEEP, [stored(row) for row in rows])
    facts.keep(connection, _lines(rows))


_KEEP = (
    f"INSERT INTO entries ({', '.join(each.name for each in entries.c)}) "  # noqa: S608 - our own names
    f"VALUES ({', '.join(f':{each.name}' for each in entries.c)})"
)


def _own(connection: Connection) -> bool:
    """Have the book be of the format in which each chain belongs to a bench; whether it was before."""
    was = is_owned(connection)
    if not was:
        connection.execute(text(f"PRAGMA user_version = {OWNED}"))
    return was


def _lines(rows: Iterable[Row]) -> Iterable[facts.Fact | None]:
    for row in rows:
        if row.kind in facts.KINDS and (line := facts.fact_of(record_of(row))) is not None:
            yield line._replace(sequence=lies(row))
