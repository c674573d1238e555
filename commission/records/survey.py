"""Reads a whole book as it lies on the disk, for who has to say what is wrong with it: no fault ends the reading.

Entries are read from their table by sequence. Damaged pages, values of another type and text that is none are each
named, and what stands beside them is read all the same. Sources: SQLite documentation, "PRAGMA integrity_check",
"The Schema Table", "Datatypes In SQLite".
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from operator import attrgetter

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from commission.dialect.sanitise import clean_text
from commission.records.chain import ORIGIN, ChainFault, Row, check_chain
from commission.records.chains import WAYS, chains_in
from commission.records.facts_check import other_facts
from commission.records.numbering import extent, short, split
from commission.records.packing import restored
from commission.records.schema import PACKED, SCHEMA_VERSION, schema_of
from commission.records.upgrade import grew, schema_as_made

AT_ONCE = 256
"""Entries read in one piece; fewer near damage."""
MOST_UNREAD = 10_000
"""So many numbers in a row that cannot be read are taken for the rest of the book."""
MOST_DAMAGES = 20
"""Places of damage that are named; a file with more of them is named no better by more."""

_TEXTS = ("run", "kind", "at", "payload", "previous", "digest")
_TYPES: Mapping[str, tuple[str, ...]] = dict.fromkeys(_TEXTS, ("text",)) | {
    "elapsed_us": ("integer",),
    "raw": ("blob", "null"),
}
_PACKED_TYPES = {**_TYPES, **dict.fromkeys(("payload", "previous", "digest"), ("text", "blob"))}
_COLUMNS = ", ".join(f"typeof({name}), CAST({name} AS BLOB)" for name in _TYPES)
_PIECE = (
    f"SELECT sequence, {_COLUMNS} FROM entries NOT INDEXED "  # noqa: S608 - our own names
    "WHERE sequence BETWEEN ? AND ? ORDER BY sequence LIMIT ?"
)


@dataclass(frozen=True)
class Damage:
    """What is wrong with a book beyond its chain.

    Attributes:
        faults: each with the entry it is about; 0 for the file as a whole.
        unread: numbers of the entries that stand there and cannot be read.
    """

    faults: tuple[ChainFault, ...] = ()
    unread: frozenset[int] = frozenset()


SOUND = Damage()


@dataclass
class _Reading:
    """What has been read so far of the entries that lie there."""

    span: tuple[int, int]
    rows: list[Row] = field(default_factory=list)
    faults: list[ChainFault] = field(default_factory=list)
    unread: dict[int, str] = field(default_factory=dict)
    last: int | None = None
    types: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: _TYPES)


def survey(connection: Connection) -> tuple[list[Row], Damage]:
    """Every entry that can be read, chain by chain and in order, and everything that is wrong with the file."""
    said_version = _number(connection, "user_version")
    version = 1 if said_version == 1 else PACKED
    whole = [
        ChainFault(0, f"the book says that its format is {said_version}, which there is not")
        for known in [range(1, SCHEMA_VERSION + 1)]
        if said_version not in known
    ]
    whole += [ChainFault(0, what) for what in (*_damages(connection), *_other_schema(connection, version))]
    rows: list[Row] = []
    faults: list[ChainFault] = []
    unread: set[int] = set()
    for span in _extents(connection):
        found, damage = survey_chain(connection, span, version)
        rows += found
        faults += damage.faults
        unread |= damage.unread
    if version > 1:
        faults += other_facts(connection, rows, unread)
    return rows, Damage((*whole, *faults), frozenset(unread))


def survey_chain(connection: Connection, span: tuple[int, int], version: int = 0) -> tuple[list[Row], Damage]:
    """The same of one chain, or of its beginning; the file as a whole is not looked at.

    Args:
        connection: to the book.
        span: where its first and its last entry can lie.
        version: the book's format; 0 where it is not known yet.
    """
    version = version or _number(connection, "user_version")
    found = _Reading(span, types=_TYPES if version == 1 else _PACKED_TYPES)
    _read_entries(connection, found)
    faults = (*found.faults, *_ranges(found.unread))
    return found.rows, Damage(faults, frozenset(found.unread))


def faults_of(rows: Sequence[Row], damage: Damage, after: tuple[int, str] = (0, ORIGIN)) -> list[ChainFault]:
    """Where the chains are not as they were written, each by itself; with several, each fault names its chain.

    Args:
        rows: of all chains, chain by chain and in order.
        damage: what was found wrong while they were read.
        after: number and digest of the entry that the first of each must follow.
    """
    found: list[ChainFault] = []
    chains = {chain: list(of) for chain, of in groupby(rows, key=attrgetter("chain"))}
    for chain, of in chains.items():
        unread = {number for which, number in map(split, damage.unread) if which == chain}
        faults = check_chain(of, unread, after)
        name = short(of[0].digest)
        found += (
            faults if len(chains) == 1 else [ChainFault(each.sequence, f"chain {name}: {each.what}") for each in faults]
        )
    return found


def _extents(connection: Connection) -> list[tuple[int, int]]:
    """Where the chains can lie; the first is looked for in any case."""
    return [extent(chain) for chain in sorted({0, *chains_in(connection)})]


def _damages(connection: Connection) -> Iterator[str]:
    """What the database itself finds wrong with its file."""
    try:
        for (said,) in connection.exec_driver_sql(f"PRAGMA integrity_check({MOST_DAMAGES})").fetchall():
            yield from (f"the file is damaged: {clean_text(line)}" for line in str(said).splitlines() if line != "ok")
    except DatabaseError as error:
        yield f"the file is damaged: {_reason(error)}"


def _number(connection: Connection, pragma: str) -> int:
    try:
        return int(connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() or 0)
    except DatabaseError:
        return 0


def _other_schema(connection: Connection, version: int) -> Iterator[str]:
    """Tables, indexes and triggers that are not as this tool makes them: they can hide entries, or let them go."""
    try:
        there = schema_of(connection)
    except DatabaseError as error:
        yield f"the tables cannot be listed: {_reason(error)}"
        return
    ours = schema_as_made(version, grown=grew(there))
    for what in ours.keys() | there.keys():
        name = clean_text(what)
        if what not in there:
            yield f"the {name} is missing"
        elif what not in ours:
            yield f"the {name} is none that this tool makes"
        elif there[what] != ours[what]:
            yield f"the {name} is not as this tool makes it"


def _read_entries(connection: Connection, found: _Reading) -> None:
    try:
        at = _first(connection, found.span[0])
    except DatabaseError as error:
        found.faults.append(ChainFault(0, f"no entry can be read: {_reason(error)}"))
        return
    size, failed = AT_ONCE, 0
    while True:
        try:
            piece = connection.exec_driver_sql(_PIECE, (at, found.span[1], size)).fetchall()
        except DatabaseError as error:
            if size > 1:
                size //= 2  # nearer to the damage, so that what stands before it is read
                continue
            if _is_over(connection, at, failed, found):
                return
            found.unread[at] = _reason(error)
            at, failed = at + 1, failed + 1
            continue
        for sequence, *values in piece:
            _keep(sequence, values, found)
        if len(piece) < size:
            return
        at, size, failed = piece[-1][0] + 1, min(size + size, AT_ONCE), 0


def _is_over(connection: Connection, at: int, failed: int, found: _Reading) -> bool:
    """Whether nothing more is to be had from this number on; that the end is not known is a fault too."""
    last = found.last = _last(connection, found.span) if found.last is None else found.last
    if last and at > last:
        return True
    if last and failed < MOST_UNREAD:
        return False
    number = split(at)[1]
    found.faults.append(
        ChainFault(number, f"from entry {number} on nothing can be read, and where the book ends is not known")
    )
    return True


def _first(connection: Connection, at: int) -> int:
    """Where to begin: there, or before the first of all where somebody put entries there.

    Raises:
        DatabaseError: there is no such table.
    """
    connection.exec_driver_sql("SELECT sequence, raw FROM entries WHERE 0").fetchall()
    if at > 1:
        return at
    try:
        return min(at, connection.exec_driver_sql("SELECT min(sequence) FROM entries NOT INDEXED").scalar() or at)
    except DatabaseError:
        return at


def _last(connection: Connection, span: tuple[int, int]) -> int:
    """The greatest number within them that any way into the book leads to; 0 where none does."""
    greatest = 0
    for way in WAYS:
        question = f"SELECT max(sequence) FROM entries {way} WHERE sequence BETWEEN ? AND ?"  # noqa: S608 - our own words
        try:
            there = connection.exec_driver_sql(question, span).scalar()
        except DatabaseError:
            continue  # this way is damaged: it is named by the database's own check
        greatest = max(greatest, there or 0)
    return greatest


def _keep(sequence: int, values: list[object], found: _Reading) -> None:
    """One entry, if each value is of its type; else it is named with what stands there instead."""
    wrong = []
    told: dict[str, object] = {}
    for name, kind, data in zip(_TYPES, values[::2], values[1::2], strict=True):
        try:
            told[name] = _value(name, str(kind), data, found.types[name])
        except ValueError as error:
            wrong.append(f"its {name} is {error}")
    try:
        told = told if wrong else restored(told)
    except ValueError as error:
        wrong.append(str(error))
    if wrong:
        number = split(sequence)[1]
        found.faults.append(ChainFault(number, f"entry {number} cannot be read: {', '.join(wrong)}"))
        found.unread[sequence] = ""
    else:
        chain, number = split(sequence)
        found.rows.append(Row(sequence=number, chain=chain, **told))  # type: ignore[arg-type]


def _value(name: str, kind: str, data: object, types: Sequence[str]) -> object:
    """The value of a column.

    Raises:
        ValueError: it is of another type, or text that is none.
    """
    if kind not in types:
        raise ValueError(f"of type {kind}, not {types[0]}")
    if kind == "blob" or not isinstance(data, bytes):
        return data
    if name == "elapsed_us":
        return int(data)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"no text (byte {error.start + 1} is {data[error.start]:#04x})") from error


def _ranges(unread: Mapping[int, str]) -> Iterator[ChainFault]:
    """Neighbours that cannot be read for the same reason, as one fault; those told already are left out."""
    numbered = enumerate(sorted(each for each, why in unread.items() if why))
    for (_, why), group in groupby(numbered, key=lambda each: (each[1] - each[0], unread[each[1]])):
        numbers = [split(number)[1] for _, number in group]
        which = f"entry {numbers[0]}" if len(numbers) == 1 else f"entries {numbers[0]} to {numbers[-1]}"
        yield ChainFault(numbers[0], f"{which} cannot be read: {why}")


def _reason(error: DatabaseError) -> str:
    return clean_text(str(error.orig or error))
