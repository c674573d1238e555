"""Whether the lines of `facts` say what the entries say: they decide which runs are listed and what is due."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from commission.dialect.sanitise import clean_text
from commission.records import facts
from commission.records.chain import ChainFault, Row, digest_again
from commission.records.facts import Fact
from commission.records.numbering import lies, split
from commission.records.rows import record_of


def other_facts(connection: Connection, rows: Sequence[Row], unread: Collection[int]) -> Iterator[ChainFault]:
    """Every line that is missing, strange, or differs from its entry.

    Entries that were altered themselves are named by the chain, and are left out here.

    Args:
        connection: to the book.
        rows: all of it that can be read, chain by chain.
        unread: where entries lie that could not be read.
    """
    try:
        there = {fact.sequence: fact for fact in facts.every(connection)}
    except DatabaseError as error:
        yield ChainFault(0, f"the list of what entries say cannot be read: {clean_text(str(error.orig or error))}")
        return
    last: defaultdict[int, int] = defaultdict(int)
    for chain, number in [*((row.chain, row.sequence) for row in rows), *map(split, unread)]:
        last[chain] = max(number, last[chain])
    for row in rows:
        line = there.pop(lies(row), None)
        told = facts.fact_of(record_of(row)) if row.kind in facts.KINDS else None
        expected = None if told is None else told._replace(sequence=lies(row))
        if not _same(line, expected) and row.digest == digest_again(row):
            yield ChainFault(row.sequence, f"what is listed of entry {row.sequence} ({row.kind}) is not what it says")
    for where in there:
        chain, number = split(where) if isinstance(where, int) else (0, where)
        end = last[chain]
        if not isinstance(number, int) or number > end or number < 1:
            yield ChainFault(end, f"entry {number} is listed, and the book ends with entry {end}")


def _same(line: Fact | None, expected: Fact | None) -> bool:
    """Whether a line says what it must.

    One that tells no word sends whoever asks to the entry itself, and hides nothing. An entry that this version of the
    tool cannot read may have been told by a newer one.
    """
    if line is None or expected is None:
        return line is expected
    untold = not line.told and line.tag is None
    return line[:4] == expected[:4] and (untold or not expected.told or line == expected)
