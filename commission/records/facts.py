"""What some entries say, in a few words beside the book's table: so that no question grows with the whole book.

Which runs there are, what became of them, where a kind of finding or an unsafe item stands: each is a line of the table
`facts`, written with its entry. The entries alone are the record. `book verify` works every line out again and names
what differs, and a book whose indexes are not as this tool makes them is read entry by entry instead.
"""

import sqlite3
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import closing
from typing import NamedTuple, cast

from sqlalchemy import Connection, distinct, func, select

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
"""Runs that are named to the database; with more it tells all lines of the kind."""


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
    lines = [fact for fact in found if fact is not None]
    if lines:
        by_driver(connection).executemany(_KEEP, lines)


_KEEP = f"INSERT INTO facts ({', '.join(Fact._fields)}) VALUES ({', '.join('?' * len(Fact._fields))})"  # noqa: S608 - ours


def by_driver(connection: Connection) -> sqlite3.Cursor:
    """The driver's own way into the same transaction, for what is asked or written for every entry or every run.

    The library's way takes longer than most of such questions themselves.
    """
    if not connection.in_transaction():
        connection.begin()
    return cast("sqlite3.Cursor", connection.connection.cursor())


_MARKS = (
    "SELECT sequence, run, kind, at, tag, word, verdict FROM facts INDEXED BY facts_by_mark "  # noqa: S608 - our own words
    f"WHERE {IS_MARK}"
)


def marks(connection: Connection, runs: Iterable[str]) -> Iterator[Fact]:
    """What begins, takes up and ends these runs; run by run and in order."""
    with closing(by_driver(connection)) as cursor:
        for run in runs:
            yield from map(Fact._make, cursor.execute(f"{_MARKS} AND run = ? ORDER BY sequence", (run,)).fetchall())


class Line(NamedTuple):
    """A run of one beginning and at most one end, which the database tells in one line: of 50,000 runs nearly all."""

    run: str
    began: int
    last: int
    started_at: str
    tag: str
    purpose: str
    ended_at: str | None
    outcome: str | None
    verdict: str | None


LAST = "coalesce(e.sequence, s.sequence)"
LINE = f"s.run, s.sequence, {LAST}, s.at, s.tag, s.word, e.at, e.word, e.verdict"
LINES = (
    "FROM facts AS s INDEXED BY facts_by_mark LEFT JOIN facts AS e INDEXED BY facts_by_mark "
    f"ON e.run = s.run AND e.kind = 'run_ended' AND e.sequence >> {CHAIN_BITS} = s.sequence >> {CHAIN_BITS} "
    f"AND e.{IS_MARK} WHERE s.kind = 'run_started' AND s.{IS_MARK}"
)
NOT_IN_A_LINE = (
    "SELECT run FROM facts WHERE kind = 'run_resumed' "  # noqa: S608 - our own words
    f"UNION SELECT run FROM facts WHERE {IS_MARK} AND word IS NULL "
    f"UNION SELECT run FROM facts INDEXED BY facts_by_mark WHERE {IS_MARK} GROUP BY run "
    "HAVING count(*) > 2 OR sum(kind = 'run_started') > 1"
)
"""Runs whose marks must be looked at one by one: they were taken up again, begun or ended twice, or have a mark that
could not be read. A number that two chains have is among them."""


def not_in_a_line(connection: Connection) -> set[str]:
    """The numbers of these runs."""
    with closing(by_driver(connection)) as cursor:
        return {run for (run,) in cursor.execute(NOT_IN_A_LINE).fetchall()}


def lines(connection: Connection, others: Collection[str]) -> list[Line]:
    """All runs in one line each, without those that cannot be told so."""
    with closing(by_driver(connection)) as cursor:
        found = list(map(Line._make, cursor.execute(f"SELECT {LINE} {LINES}").fetchall()))
    return [line for line in found if line.run not in others] if others else found


def runs_of(connection: Connection, tag: str) -> list[str]:
    """The printer's runs, and those whose beginning cannot be read."""
    with closing(by_driver(connection)) as cursor:
        return [run for (run,) in cursor.execute(_RUNS_OF, (tag,)).fetchall()]


# in two questions, for one with `OR` reads the lines of every printer
_BEGUN = "SELECT run FROM facts INDEXED BY facts_by_printer WHERE kind = 'run_started' AND tag"
_RUNS_OF = f"{_BEGUN} = ? UNION ALL {_BEGUN} IS NULL"


def places(connection: Connection, kind: str, words: Sequence[str], runs: Sequence[str]) -> list[int]:
    """Where entries of that kind with these words stand in these runs; those that cannot be read among them."""
    named = runs if len(runs) <= AT_ONCE else ()
    of_runs = f" AND run IN ({marks_for(named)})" if named else ""
    line = f"{_PLACES} word IN ({marks_for(words)}){of_runs} UNION ALL {_PLACES} word IS NULL{of_runs}"
    wanted = set(runs)
    with closing(by_driver(connection)) as cursor:
        found = cursor.execute(line, (kind, *words, *named, kind, *named)).fetchall()
    return sorted(where for where, run in found if run in wanted)


_PLACES = "SELECT sequence, run FROM facts INDEXED BY facts_by_word WHERE kind = ? AND"


def marks_for(values: Sequence[str]) -> str:
    """So many places for values in a question."""
    return ", ".join("?" * len(values))


def runs_with(connection: Connection, kind: str, word: str) -> list[tuple[int, str]]:
    """Where such entries lie, and their runs; those that cannot be read among them."""
    with closing(by_driver(connection)) as cursor:
        line = f"{_PLACES} word = ? UNION ALL {_PLACES} word IS NULL"
        return cursor.execute(line, (kind, word, kind)).fetchall()


def newest(connection: Connection, words: Sequence[str]) -> Iterator[tuple[str | None, str, str, int]]:
    """Of each printer, each chain and each of these findings the newest: printer, finding's name, run, where it lies.

    The printer is None where the beginning of the run could not be read: then it is the newest of that run.
    """
    with closing(by_driver(connection)) as cursor:
        yield from cursor.execute(_NEWEST.format(marks_for(words)), tuple(words)).fetchall()


_NEWEST = (
    # the row with the greatest sequence tells the run (SQLite documentation, "Bare columns in an aggregate query")
    "SELECT s.tag, f.word, f.run, max(f.sequence) FROM facts AS f INDEXED BY facts_by_word "  # noqa: S608 - our own words
    "JOIN facts AS s INDEXED BY facts_by_mark ON s.run = f.run AND s.kind = 'run_started' "
    f"AND s.sequence >> {CHAIN_BITS} = f.sequence >> {CHAIN_BITS} AND s.{IS_MARK} "
    f"WHERE f.kind = '{Established.kind()}' AND f.word IN ({{}}) "
    f"GROUP BY s.tag, f.word, f.sequence >> {CHAIN_BITS}, CASE WHEN s.tag IS NULL THEN f.run END"
)


def run_twice(connection: Connection) -> set[str]:
    """The numbers of runs that more than one chain has."""
    chains = func.count(distinct(facts.c.sequence.op(">>")(CHAIN_BITS)))
    begun = select(facts.c.run).where(facts.c.kind == RunStarted.kind()).group_by(facts.c.run)
    return set(connection.scalars(begun.having(chains > 1)))


def turns(connection: Connection, chain: int, behind: int) -> list[tuple[int, str]]:
    """Where the beginnings and ends of runs lie in a chain behind the entry of that number, and their times."""
    with closing(by_driver(connection)) as cursor:
        return cursor.execute(_TURNS, (lies_at(chain, behind + 1), extent(chain)[1])).fetchall()


_TURNS = f"SELECT sequence, at FROM facts NOT INDEXED WHERE {IS_MARK} AND sequence BETWEEN ? AND ?"  # noqa: S608 - ours


def every(connection: Connection) -> Iterator[Fact]:
    """All lines, in order, read without any index."""
    lines = "SELECT sequence, run, kind, at, tag, word, verdict FROM facts NOT INDEXED ORDER BY sequence"
    yield from map(Fact._make, connection.exec_driver_sql(lines))
