"""What every entry of the record book has in common."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Annotated, Generic, TypeVar, cast

from msgspec import Meta, Struct

PLAIN, FORMAT = 2, 3
"""The forms in which entries are written now: with readings in short (3), all others as ever (2); see `upgrades`."""

Seconds = Annotated[float, Meta(ge=0, lt=1e7, description="seconds; four months at most")]
Count = Annotated[int, Meta(ge=0, lt=10_000_000)]
Size = Annotated[int, Meta(ge=0, description="bytes")]
NEVER = datetime.min.replace(tzinfo=UTC)


class Entry(Struct, frozen=True, kw_only=True, tag_field="kind"):
    """What happened, as one row of the book tells it. Each kind is a class of its own with its fixed tag."""

    @classmethod
    def kind(cls) -> str:
        """The tag under which this kind stands in the book."""
        return str(cls.__struct_config__.tag)


class About(Struct, frozen=True, omit_defaults=True):
    """What an entry belongs to; empty where that is not told, as in every entry of the first form.

    Attributes:
        sensor: the sensor under test, as the printer names it.
        source: how its reading is asked for.
        series: number of the series of trials, as in `bench-3/2`.
        bench: the computer that wrote it.
    """

    sensor: str = ""
    source: str = ""
    series: str = ""
    bench: str = ""


NOTHING_TOLD = About()


class Unreadable(Struct, frozen=True):
    """Stands in place of an entry that cannot be read: altered, damaged, or written by a newer version of the tool."""

    kind: str
    why: str


E_co = TypeVar("E_co", bound=Entry | Unreadable, covariant=True)
Kind = TypeVar("Kind", bound=Entry)


class Record(Struct, Generic[E_co], frozen=True):
    """One entry with its place in the book.

    Attributes:
        sequence: position in the whole book, from 1.
        run: number of the run it belongs to.
        at: wall time, ISO 8601 with offset.
        elapsed_us: microseconds of monotonic time since the writing process opened the book.
        entry: what happened.
        about: what it belongs to.
        raw: bytes exactly as they went over the wire, where there were any.
    """

    sequence: int
    run: str
    at: str
    elapsed_us: int
    entry: E_co
    about: About = NOTHING_TOLD
    raw: bytes = b""

    @property
    def moment(self) -> datetime:
        """When it was written; one whose time is none any more stands at the beginning of all times."""
        return moment(self.at)


AnyRecord = Record[Entry | Unreadable]
"""A record of which it is not known yet whether it can be read."""


def of_kind(records: Iterable[AnyRecord], kind: type[Kind]) -> list[Record[Kind]]:
    """The records whose entries are of this kind, in order."""
    return [cast("Record[Kind]", record) for record in records if isinstance(record.entry, kind)]


def moment(at: str) -> datetime:
    """A time of the record, with its zone."""
    try:
        found = datetime.fromisoformat(at)
    except ValueError:
        return NEVER
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)
