"""Rows of the database as rows of the chain, and as what they tell."""

from collections.abc import Iterable, Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any, NamedTuple

import sqlalchemy
from sqlalchemy import Connection, bindparam, desc, select, text

from commission.command_lines import VERIFY
from commission.evidence.codec import Each, record
from commission.evidence.entry import AnyRecord, Record, Unreadable
from commission.evidence.place import number_in_chain
from commission.evidence.runs import Note
from commission.records.chain import End, Row
from commission.records.facts import MARKS, by_driver
from commission.records.numbering import Numbering, extent, lies_at, split
from commission.records.packing import restored
from commission.records.schema import entries
from commission.records.tables import BY_SEQUENCE, BookError

_NUMBERS, _TEXTS = ("sequence", "elapsed_us"), ("run", "kind", "at", "payload", "previous", "digest")
_TYPES = dict.fromkeys(_NUMBERS, int) | dict.fromkeys(_TEXTS, str) | {"raw": bytes | None}


class Moment(NamedTuple):
    """When an entry happened: wall time, ISO 8601 with offset, and microseconds since the book was opened."""

    at: str
    elapsed_us: int


def record_of(row: Row, each: Each | None = None) -> AnyRecord:
    """What a row tells; `each` is applied to its JSON value before it is understood."""
    if row.damage:
        return Record(row.place, row.run, row.at, row.elapsed_us, Unreadable(row.kind, row.damage))
    return record(
        row.kind,
        row.payload,
        sequence=row.place,
        run=row.run,
        at=row.at,
        elapsed_us=row.elapsed_us,
        raw=row.raw or b"",
        each=each,
    )


def readable(book: Path, records: Iterable[AnyRecord]) -> Iterator[Record[Any]]:
    """The same records, as far as all of them can be read.

    Raises:
        BookError: one of them cannot; it is named.
    """
    for found in records:
        if isinstance(found.entry, Unreadable):
            number = number_in_chain(found.sequence)
            raise BookError(
                f"Entry {number} ({found.entry.kind}) of the record book {book} cannot be read: "
                f"{found.entry.why}. `{VERIFY}` says whether it was altered."
            )
        yield found


def end_of(connection: Connection, chain: int) -> Row | End | None:
    """What the next entry of that chain follows; None where it has none.

    Asked before every entry: the driver's own way, which leaves what is packed as it lies. What does not lie there as
    this tool writes it is read as a whole row.

    Raises:
        BookError: as for any row.
    """
    with closing(by_driver(connection)) as driver:
        found = driver.execute(_END, extent(chain)).fetchone()
    if found is None:
        return None
    where, digest, plain = found
    if not plain or not isinstance(digest, bytes) or len(digest) != _DIGEST_BYTES:
        return newest_row(connection, chain)
    return End(split(where)[1], digest.hex())


_DIGEST_BYTES = 32
_END = (
    "SELECT sequence, digest, typeof(run) = 'text' AND typeof(kind) = 'text' AND typeof(at) = 'text' "
    "AND typeof(elapsed_us) = 'integer' AND typeof(payload) IN ('text', 'blob') AND typeof(raw) IN ('blob', 'null') "
    "AND typeof(previous) = 'blob' FROM entries WHERE sequence BETWEEN ? AND ? ORDER BY sequence DESC LIMIT 1"
)
"""The types are those of `_TYPES`, packed or not, and of digests as bytes."""


def newest_row(connection: Connection, chain: int) -> Row | None:
    """The last row written into that chain."""
    first, last = extent(chain)
    row = connection.execute(_NEWEST, {"first": first, "last": last}).first()
    return None if row is None else row_of(row)


_NEWEST = (
    select(entries)
    .where(entries.c.sequence.between(bindparam("first"), bindparam("last")))
    .order_by(desc(entries.c.sequence))
    .limit(1)
)


def digest_at(connection: Connection, where: int) -> str | None:
    """The digest of the entry that lies there; None where none does."""
    digest = connection.scalar(select(entries.c.digest).where(entries.c.sequence == where))
    return digest.hex() if isinstance(digest, bytes) else digest


def newest_mark(connection: Connection, run: str, chain: int) -> str | None:
    """Whether the run's last beginning or its end was written last into that chain."""
    kinds = [mark.kind() for mark in MARKS]
    of_run = entries.c.run == run, entries.c.kind.in_(kinds), entries.c.sequence.between(*extent(chain))
    marks = select(entries.c.kind).with_hint(entries, BY_SEQUENCE).where(*of_run)
    return connection.scalar(marks.order_by(desc(entries.c.sequence)))


def noted_in(connection: Connection, chain: int, behind: int, *, indexed: bool) -> Iterator[tuple[int, str]]:
    """Where the notes of a chain lie, and their times; without an index, those of runs' beginnings and ends too."""
    within = entries.c.sequence.between(lies_at(chain, behind + 1), extent(chain)[1])
    line = select(entries.c.sequence, entries.c.at).where(within)
    if indexed:
        line = line.where(text("kind = 'note'"))
    else:
        kinds = [Note.kind(), *(mark.kind() for mark in MARKS)]
        line = line.with_hint(entries, BY_SEQUENCE).where(entries.c.kind.in_(kinds))
    yield from ((where, at) for where, at in connection.execute(line))


def row_of(row: sqlalchemy.Row[Any], numbering: Numbering | None = None) -> Row:
    """A row of the database as a row of the chain; with its place and the name of its run, where a numbering is given.

    Raises:
        BookError: a value is of another type than a book keeps.
    """
    lies = row._mapping  # noqa: SLF001 - SQLAlchemy's documented way to a row's names
    number = split(lies["sequence"])[1]
    values, damage = _restored(dict(lies))
    for name, value in values.items():
        if not isinstance(value, _TYPES[name]):
            raise BookError(
                f"Entry {number} of the record book cannot be read: its {name} is of another type. "
                f"`{VERIFY}` names everything that is wrong."
            )
    where = values.pop("sequence")
    chain, number = split(where)
    if numbering is None or numbering.single:
        return Row(sequence=number, chain=chain, damage=damage, **values)
    values["run"] = numbering.name(where, values["run"])
    return Row(sequence=number, chain=chain, order=numbering.place(where), damage=damage, **values)


def _restored(lies: dict[str, Any]) -> tuple[dict[str, Any], str]:
    """The fields of a row, and why what is packed of it cannot be read; empty where it can.

    What is damaged in one entry holds nobody up who does not need it.
    """
    try:
        return restored(lies), ""
    except ValueError as error:
        empty = {"payload": "", "raw": None}
        bare = {name: "" if isinstance(lies[name], bytes) else lies[name] for name in ("previous", "digest")}
        with suppress(ValueError):
            bare = {name: restored(lies | empty)[name] for name in bare}
        return lies | empty | bare, str(error)
