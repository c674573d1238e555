"""The few runs of a printer that decide how it stands, out of all of them.

Whoever asks what is due, what is open and what was done last asks for the newest run of a purpose that came to its end
in some way. Of one printer, in one chain, the newest run of each purpose, outcome and verdict answers that: every older
one of the same three is followed by it, and what clears the newer failure of a kind clears the older one too. In
addition every run that opened an item of the asked class comes, for each item is told by itself.

Of a printer all runs come where that does not hold: where a run began before another of the same three and ended behind
it, and where the runs are to be compared one with the next.

The database makes the groups, so that of 50,000 runs a few thousand are read.
"""

import sqlite3
from collections.abc import Collection, Iterator
from contextlib import closing
from itertools import islice
from typing import Any

from sqlalchemy import Connection

from commission.evidence.talk import Punched
from commission.records.facts import AT_ONCE, LAST, LINE, LINES, NOT_IN_A_LINE, Line, by_driver, marks_for
from commission.records.numbering import CHAIN_BITS
from commission.records.schema import IS_MARK

_NEWEST = (
    f"WITH newest AS (SELECT max(s.sequence) AS began, max({LAST}) AS last {LINES} AND s.run NOT IN ({{}}) "  # noqa: S608 - our own words
    f"GROUP BY s.tag, s.word, e.word, e.verdict, s.sequence >> {CHAIN_BITS}) "
    f"SELECT newest.last, {LINE} FROM newest CROSS JOIN facts AS s ON s.sequence = newest.began "
    "LEFT JOIN facts AS e INDEXED BY facts_by_mark ON e.run = s.run AND e.kind = 'run_ended' "
    f"AND e.sequence >> {CHAIN_BITS} = s.sequence >> {CHAIN_BITS} AND e.{IS_MARK}"
)
_OPENED = (
    f"SELECT {LINE} {LINES} AND s.run IN "  # noqa: S608 - our own words
    f"(SELECT run FROM facts WHERE kind = '{Punched.kind()}' AND (word = ? OR word IS NULL))"
)
_PRINTERS = "SELECT DISTINCT tag FROM facts WHERE kind = 'run_started' AND run IN ({})"
_OF_PRINTERS = f"SELECT {LINE} {LINES} AND s.tag IN ({{}})"


def deciding(
    connection: Connection, others: Collection[str], grade: str, several: Collection[str], in_sight: Collection[str]
) -> list[Line]:
    """The lines of these runs, each once.

    Args:
        connection: to the book.
        others: the numbers of runs that cannot be told in a line; none of them comes.
        grade: a class of items; every run in which one was opened comes.
        several: the numbers of runs of whose printers all runs come.
        in_sight: printers of which all runs come.
    """
    with closing(by_driver(connection)) as cursor:
        newest = _newest(cursor, others)
        whole = {line.tag for last, line in newest if line.last != last} | set(in_sight)
        whole |= {tag for (tag,) in _of_some(cursor, _PRINTERS, several)}
        found = [line for _, line in newest]
        found += map(Line._make, cursor.execute(_OPENED, (grade,)).fetchall())
        found += map(Line._make, _of_some(cursor, _OF_PRINTERS, whole))
    return list({line.began: line for line in found if line.run not in others}.values())


def _newest(cursor: sqlite3.Cursor, others: Collection[str]) -> list[tuple[int, Line]]:
    """Of each group the run that began last, with where the last of its group ended."""
    named = list(others) if len(others) <= AT_ONCE else []
    left_out = marks_for(named) if len(others) <= AT_ONCE else NOT_IN_A_LINE
    return [(last, Line(*line)) for last, *line in cursor.execute(_NEWEST.format(left_out), named).fetchall()]


def _of_some(cursor: sqlite3.Cursor, question: str, values: Collection[str]) -> Iterator[tuple[Any, ...]]:
    """The answers for these values, some of them at a time."""
    every = iter(sorted(values))
    while some := list(islice(every, AT_ONCE)):
        yield from cursor.execute(question.format(marks_for(some)), some).fetchall()
