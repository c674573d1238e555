"""The tables of the shared book, as its entries are written and read; `migrations/` makes them."""

from typing import Any

import sqlalchemy
from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    DateTime,
    ForeignKey,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    func,
)

from commission.records.chain import Row
from commission.records.packing import restored, stored
from commission.records.tables import BookError

SCHEMA = "commission"
metadata = MetaData(schema=SCHEMA)

chains = Table(
    "chains",
    metadata,
    Column("chain", Integer, Identity(always=True), primary_key=True),
    Column("origin", LargeBinary, CheckConstraint("length(origin) = 32"), nullable=False, unique=True),
)
"""Each chain by its origin, the digest of its first entry."""

entries = Table(
    "entries",
    metadata,
    Column("chain", Integer, ForeignKey(chains.c.chain), primary_key=True, autoincrement=False),
    Column("number", BigInteger, CheckConstraint("number >= 1"), primary_key=True, autoincrement=False),
    Column("run", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("elapsed_us", BigInteger, nullable=False),
    Column("packed", Boolean, nullable=False),
    Column("payload", LargeBinary, nullable=False),
    Column("raw", LargeBinary),
    Column("previous", LargeBinary, CheckConstraint("length(previous) = 32"), nullable=False),
    Column("digest", LargeBinary, CheckConstraint("length(digest) = 32"), nullable=False),
)
"""One row an entry. Payload and raw bytes lie there as in a book's file, packed where that is less; see `packing`."""

clock_checks = Table(
    "clock_checks",
    metadata,
    Column("number", BigInteger, Identity(always=True), primary_key=True),
    Column("at", DateTime(timezone=True), nullable=False, server_default=func.clock_timestamp()),
    Column("origin", LargeBinary),
    Column("computer", Text, nullable=False),
    Column("ahead_ms", BigInteger, nullable=False),
    Column("within_ms", BigInteger, nullable=False),
)
"""How far a bench's clock was ahead of this database's at each sync; `origin` is that of the bench's own chain."""
Index("clock_checks_by_origin", clock_checks.c.origin, clock_checks.c.number)

_TEXTS = ("run", "kind", "at")


def values_of(chain: int, row: Row) -> dict[str, Any]:
    """The values of the columns of a row.

    Raises:
        BookError: a text of it cannot be kept by this database.
    """
    if any("\0" in getattr(row, name) for name in _TEXTS):
        raise BookError(f"Entry {row.sequence} has a zero character in a text, which the shared book cannot keep.")
    values = stored(row)
    values.pop("sequence")
    packed = isinstance(values["payload"], bytes)
    payload = values["payload"] if packed else values["payload"].encode()
    return values | {"chain": chain, "number": row.sequence, "packed": packed, "payload": payload}


def row_in(found: sqlalchemy.Row[Any]) -> Row:
    """A row of the shared book as a row of its chain; what is damaged in it is said in the row."""
    values = dict(found._mapping)  # noqa: SLF001 - SQLAlchemy's documented way to a row's names
    plain = {name: values[name] for name in ("run", "kind", "at", "elapsed_us", "previous", "digest", "raw")}
    try:
        payload = values["payload"] if values["packed"] else values["payload"].decode()
        fields = restored(plain | {"payload": payload})
        damage = ""
    except ValueError as error:
        fields, damage = restored(plain | {"payload": "", "raw": None}), str(error)
    return Row(sequence=values["number"], chain=values["chain"], damage=damage, **fields)
