"""Reads a whole book as it lies on the disk, for who has to say what is wrong with it: no fault ends the reading.

Entries are read from their table by sequence. Damaged pages, values of another type and text that is none are each
named, and what stands beside them is read all the same. Sources: SQLite documentation, "PRAGMA integrity_check",
"The Schema Table", "Datatypes In SQLite".
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from commission.dialect.sanitise import clean_text
from commission.records.chain import ChainFault, Row
from commission.records.facts_check import other_facts
from commission.records.packing import restored
from commission.records.schema import SCHEMA_VERSION, schema_of
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
_PIECE = f"SELECT sequence, {_COLUMNS} FROM entries NOT INDEXED WHERE sequence >= ? ORDER BY sequence LIMIT ?"  # noqa: S608 - our own names
_ENDS = ("NOT INDEXED", "INDEXED BY entries_by_run", "INDEXED BY entries_by_kind")


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
    """What has been read so far."""

    rows: list[Row] = field(default_factory=list)
    faults: list[ChainFault] = field(default_factory=list)
    unread: dict[int, str] = field(default_factory=dict)
    last: int | None = None
    types: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: _TYPES)


def survey(connection: Connection) -> tuple[list[Row], Damage]:
    """Every entry that can be read, in order, and everything that is wrong with the file."""
    said_version = _number(connection, "user_version")
    version = 1 if said_version == 1 else SCHEMA_VERSION
    found = _Reading(types=_TYPES if version == 1 else _PACKED_TYPES)
    if said_version != version:
        found.faults.append(ChainFault(0, f"the book says that its format is {said_version}, which there is not"))
    said = (*_damages(connection), *_other_schema(connection, version))
    found.faults += (ChainFault(0, what) for what in said)
    _read_entries(connection, found)
    if version > 1:
        found.faults += other_facts(connection, found.rows, found.unread)
    faults = (*found.faults, *_ranges(found.unread))
    return found.rows, Damage(faults, frozenset(found.unread))


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
        at = _first(connection)
    except DatabaseError as error:
        found.faults.append(ChainFault(0, f"no entry can be read: {_reason(error)}"))
        return
    size, failed = AT_ONCE, 0
    while True:
        try:
            piece = connection.exec_driver_sql(_PIECE, (at, size)).fetchall()
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
        at, size, failed = piece[-1][0] + 1, min(2 * size, AT_ONCE), 0


def _is_over(connection: Connection, at: int, failed: int, found: _Reading) -> bool:
    """Whether nothing more is to be had from this number on; that the end is not known is a fault too."""
    last = found.last = _last(connection) if found.last is None else found.last
    if last and at > last:
        return True
    if last and failed < MOST_UNREAD:
        return False
    found.faults.append(ChainFault(at, f"from entry {at} on nothing can be read, and where the book ends is not known"))
    return True


def _first(connection: Connection) -> int:
    """Where to begin: at 1, or before it where somebody put entries there.

    Raises:
        DatabaseError: there is no such table.
    """
    connection.exec_driver_sql("SELECT sequence, raw FROM entries WHERE 0").fetchall()
    try:
        return min(1, connection.exec_driver_sql("SELECT min(sequence) FROM entries NOT INDEXED").scalar() or 1)
    except DatabaseError:
        return 1


def _last(connection: Connection) -> int:
    """The greatest number that any way into the book leads to; 0 where none does."""
    greatest = 0
    for way in _ENDS:
        question = f"SELECT max(sequence) FROM entries {way}"  # noqa: S608 - our own words
        try:
            there = connection.exec_driver_sql(question).scalar()
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
        found.faults.append(ChainFault(sequence, f"entry {sequence} cannot be read: {', '.join(wrong)}"))
        found.unread[sequence] = ""
    else:
        found.rows.append(Row(sequence=sequence, **told))  # type: ignore[arg-type]


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
        numbers = [number for _, number in group]
        which = f"entry {numbers[0]}" if len(numbers) == 1 else f"entries {numbers[0]} to {numbers[-1]}"
        yield ChainFault(numbers[0], f"{which} cannot be read: {why}")


def _reason(error: DatabaseError) -> str:
    return clean_text(str(error.orig or error))
