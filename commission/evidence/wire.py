"""Entries of what was sent and what came back."""

from msgspec import Struct

from commission.dialect.commands import Effect
from commission.evidence.entry import Count, Entry, Seconds, Size


class Intent(Entry, frozen=True, kw_only=True, tag="intent"):
    """A command is about to be sent; what came of it stands in the next `Result`."""

    command: str
    purpose: str
    effect: Effect
    release: str = ""


class Result(Entry, frozen=True, kw_only=True, tag="result"):
    """An exchange.

    Attributes:
        end: how it ended, in words.
        lines: the answer, sanitised.
        asides: lines that came in between and belong to nothing asked.
        took_s: from sending to the end.
    """

    command: str
    end: str
    lines: tuple[str, ...] = ()
    asides: tuple[str, ...] = ()
    took_s: Seconds = 0.0


class Stretch(Struct, frozen=True, array_like=True):
    """A stretch of bytes in one direction: when, in microseconds of monotonic time, and how long it is."""

    sent: bool
    at_us: int
    size: Count


class Bytes(Entry, frozen=True, kw_only=True, tag="traffic"):
    """Every byte both ways since the entry before it; the bytes themselves are the record's `raw`."""

    parts: tuple[Stretch, ...]

    @property
    def size(self) -> int:
        """How many bytes there are in all."""
        return sum(part.size for part in self.parts)


class Exchanged(Struct, frozen=True, array_like=True):
    """Bytes sent, and what came back for them: how many of each there are."""

    sent: Size
    received: Size


class CountedBytes(Entry, frozen=True, kw_only=True, tag="counted_traffic"):
    """Every byte both ways since the entry before it, where the same exchange comes again and again.

    Attributes:
        began_us, ended_us: monotonic time of the first and of the last byte, in microseconds.
        exchanges: each one that differs, with its sizes; its bytes stand in the record's `raw`, compressed by zlib.
        order: which exchange came when: its place in the list, and how often in a row.
        sha256: of all bytes as they went over the wire, in order, in hexadecimal.
        after_us: when each of `order` began, in microseconds after `began_us`; empty for a soak.
    """

    began_us: int
    ended_us: int
    exchanges: tuple[Exchanged, ...]
    order: tuple[tuple[Count, Count], ...]
    sha256: str
    after_us: tuple[int, ...] = ()


class HeardSign(Struct, frozen=True, array_like=True):
    """Something the printer said by itself, with its moment in seconds since the moves or the listening began."""

    at_s: float
    sign: str
    text: str


class OpenQuestion(Struct, frozen=True):
    """A question with buttons that the printer had put and nobody had answered."""

    text: str
    buttons: tuple[str, ...] = ()


Open = tuple[OpenQuestion, ...] | None
"""The question that was open at the end: one or none; None where that was not kept, as by earlier releases."""


class Listening(Entry, frozen=True, kw_only=True, tag="listening"):
    """The printer is about to be listened to, until one of these signs or for so long."""

    seconds: Seconds
    until: tuple[str, ...] = ()


class Heard(Entry, frozen=True, kw_only=True, tag="heard"):
    """What it said, and the question that was open then."""

    signs: tuple[HeardSign, ...] = ()
    open: Open = None
