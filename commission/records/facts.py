"""What some entries say, in a few words beside the book's table: so that no question grows with the whole book.

Which runs there are, what became of them, where a kind of finding or an unsafe item stands: each is a line of the table
`facts`, written with its entry. The entries alone are the record. `book verify` works every line out again and names
what differs, and a book whose indexes are not as this tool makes them is read entry by entry instead.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from sqlalchemy import Connection, distinct, func, insert, select, text

from commission.evidence.entry import AnyRecord, Unreadable
from commission.evidence.found import Established
from commission.evidence.runs import RunEnded, RunResumed, RunStarted
from commission.evidence.talk import Punched
from commission.records.numbering import CHAIN_BITS, extent, lies_at
from commission.records.schema import IS_MARK, facts

MARKS = (RunStarted, RunResumed, RunEnded)
"""The entries that begin a run, take it up again, and end it."""
KINDS = frozenset(kind.kind() for kind in (*MARKS, Established, Punched))
"""The entries that have a line."""
AT_ONCE = 500


class Fact(NamedTuple):
    """What an entry says in a few words; None where it cannot be read, so that who asks must look for himself.

    Attributes:
        sequence: where the entry lies; as the `Reader` tells it, its place.
        tag: of a beginning, the printer.
        word: of a beginning, what the run is for; of an end, its outcome; of a finding its name, of an item its class.
        verdict: of an end.
    """

    sequence: int
    run: str
    kind: str
    at: str
    tag: str | None = None
    word: str | None = None
    verdict: str | None = None

    @property
    def told(self) -> bool:
        """Whether the entry could be read when the line was written."""
        return self.word is not None


def fact_of(record: AnyRecord) -> Fact | None:
    """The line of an entry; None for one that has none."""
    entry = record.entry
    kind = entry.kind if isinstance(entry, Unreadable) else entry.kind()
    place = (record.sequence, record.run, kind, record.at)
    match entry:
        case RunStarted() | RunResumed():
            return Fact(*place, tag=entry.tag, word=entry.purpose)
        case RunEnded():
            return Fact(*place, word=entry.outcome.value, verdict=entry.verdict.value)
        case Established():
            return Fact(*place, word=entry.finding.name())
        case Punched():
            return Fact(*place, word=entry.grade.value)
    return Fact(*place) if kind in KINDS else None


def keep(connection: Connection, found: Iterable[Fact | None]) -> None:
    """Write the lines beside their entries."""
    lines = [fact._asdict() for fact in found if fact is not None]
    if lines:
        connection.execute(insert(facts), lines)


_MARKS = (
    "SELECT sequence, run, kind, at, tag, word, verdict FROM facts INDEXED BY facts_by_mark "  # noqa: S608 - our own words
    f"WHERE {IS_MARK}"
)


def marks(connection: Connection, runs: Iterable[str]) -> Iterator[Fact]:
    """What begins, takes up and ends these runs; run by run and in order."""
    cursor = connection.connection.cursor()  # rows as the driver has them: of 50,000 runs they are what takes the time
    try:
        for run in runs:
            yield from map(Fact._make, cursor.execute(f"{_MARKS} AND run = ? ORDER BY sequence", (run,)).fetchall())
    finally:
        cursor.close()


class Line(NamedTuple):
    """A run of one beginning and at most one end, which the database tells in one line: of 50,000 runs nearly all."""

    run: str
    marks: int
    told: int
    again: int
    began: int
    last: int
    started_at: str
    tag: str
    purpose: str
    ended_at: str | None
    outcome: str | None
    verdict: str | None

    @property
    def plain(self) -> bool:
        """Whether the line tells all: else its marks must be looked at one by one."""
        ends = 1 if self.ended_at is not None else 0
        return self.marks == self.told == 1 + ends and not self.again and self.started_at is not None


_LINES = (
    "SELECT run, count(*), count(word), sum(kind = 'run_resumed'), min(sequence), max(sequence), "  # noqa: S608 - ours
    "max(CASE kind WHEN 'run_started' THEN at END), max(tag), max(CASE kind WHEN 'run_started' THEN word END), "
    "max(CASE kind WHEN 'run_ended' THEN at END), max(CASE kind WHEN 'run_ended' THEN word END), max(verdict) "
    f"FROM facts INDEXED BY facts_by_mark WHERE {IS_MARK} GROUP BY run, sequence >> {CHAIN_BITS}"
)


def lines(connection: Connection) -> Iterator[Line]:
    """Every run in one line each; of the same number in two chains, two."""
    cursor = connection.connection.cursor()
    try:
        yield from map(Line._make, cursor.execute(_LINES).fetchall())
    finally:
        cursor.close()


def runs_of(connection: Connection, tag: str) -> list[str]:
    """The printer's runs, and those whose beginning cannot be read."""
    begun = facts.c.kind == RunStarted.kind()
    return list(connection.scalars(select(facts.c.run).where(begun, (facts.c.tag == tag) | facts.c.tag.is_(None))))


def places(connection: Connection, kind: str, words: Sequence[str], runs: Sequence[str] | None = None) -> list[int]:
    """Where entries of that kind with these words stand, in these runs or all; those that cannot be read among them."""
    line = select(facts.c.sequence).where(facts.c.kind == kind, facts.c.word.in_(words) | facts.c.word.is_(None))
    if runs is None:
        return sorted(connection.scalars(line))
    found: list[int] = []
    for begin in range(0, len(runs), AT_ONCE):
        found += connection.scalars(line.where(facts.c.run.in_(runs[begin : begin + AT_ONCE])))
    return sorted(found)


def runs_with(connection: Connection, kind: str, word: str) -> Iterator[tuple[int, str]]:
    """Where such entries lie, and their runs; those that cannot be read among them."""
    line = select(facts.c.sequence, facts.c.run)
    line = line.where(facts.c.kind == kind, (facts.c.word == word) | facts.c.word.is_(None))
    yield from ((where, run) for where, run in connection.execute(line))


def newest(connection: Connection, words: Sequence[str]) -> Iterator[tuple[str, str, int]]:
    """Of each run and each of these findings: the run, the finding's name, and where its newest lies."""
    chain = facts.c.sequence.op(">>")(CHAIN_BITS)
    line = select(facts.c.run, facts.c.word, func.max(facts.c.sequence)).group_by(facts.c.word, facts.c.run, chain)
    found = connection.execute(line.where(facts.c.kind == Established.kind(), facts.c.word.in_(words)))
    yield from ((run, word, place) for run, word, place in found)


def run_twice(connection: Connection) -> set[str]:
    """The numbers of runs that more than one chain has."""
    chains = func.count(distinct(facts.c.sequence.op(">>")(CHAIN_BITS)))
    begun = select(facts.c.run).where(facts.c.kind == RunStarted.kind()).group_by(facts.c.run)
    return set(connection.scalars(begun.having(chains > 1)))


def turns(connection: Connection, chain: int, behind: int) -> list[tuple[int, str]]:
    """Where the beginnings and ends of runs lie in a chain behind the entry of that number, and their times."""
    first, last = lies_at(chain, behind + 1), extent(chain)[1]
    line = (
        select(facts.c.sequence, facts.c.at)
        .with_hint(facts, "NOT INDEXED")
        .where(text(IS_MARK), facts.c.sequence.between(first, last))
    )
    return [(where, at) for where, at in connection.execute(line)]


def every(connection: Connection) -> Iterator[Fact]:
    """All lines, in order, read without any index."""
    lines = "SELECT sequence, run, kind, at, tag, word, verdict FROM facts NOT INDEXED ORDER BY sequence"
    yield from map(Fact._make, connection.exec_driver_sql(lines))
