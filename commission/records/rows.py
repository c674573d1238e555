"""Rows of the database as rows of the chain, and as what they tell."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import sqlalchemy
from sqlalchemy import Connection, desc, select

from commission.evidence.codec import Each, record
from commission.evidence.entry import AnyRecord, Record, Unreadable
from commission.records.chain import Row
from commission.records.facts import MARKS
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
    return record(
        row.kind,
        row.payload,
        sequence=row.sequence,
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
            raise BookError(
                f"Entry {found.sequence} ({found.entry.kind}) of the record book {book} cannot be read: "
                f"{found.entry.why}. `commission book verify` says whether it was altered."
            )
        yield found


def newest_row(connection: Connection) -> Row | None:
    """The last row written."""
    row = connection.execute(select(entries).order_by(desc(entries.c.sequence)).limit(1)).first()
    return None if row is None else row_of(row)


def newest_mark(connection: Connection, run: str) -> str | None:
    """Whether the run's last beginning or its end was written last."""
    kinds = [mark.kind() for mark in MARKS]
    marks = (
        select(entries.c.kind).with_hint(entries, BY_SEQUENCE).where(entries.c.run == run, entries.c.kind.in_(kinds))
    )
    return connection.execute(marks.order_by(desc(entries.c.sequence)).limit(1)).scalar()


def row_of(row: sqlalchemy.Row[Any]) -> Row:
    """A row of the database as a row of the chain.

    Raises:
        BookError: a value is of another type than a book keeps, or cannot be unpacked.
    """
    lies = row._mapping  # noqa: SLF001 - SQLAlchemy's documented way to a row's names
    try:
        values = restored(dict(lies))
    except ValueError as error:
        raise BookError(
            f"Entry {lies['sequence']} of the record book cannot be read: {error}. `commission book verify` names "
            "everything that is wrong."
        ) from error
    for name, value in values.items():
        if not isinstance(value, _TYPES[name]):
            raise BookError(
                f"Entry {values['sequence']} of the record book cannot be read: its {name} is of another type. "
                "`commission book verify` names everything that is wrong."
            )
    return Row(**values)
