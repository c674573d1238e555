"""Bytes in which one exchange is like the other: each that differs is kept once, with how often it came and when.

Where every exchange differs, as of a dense watch whose answers overlap the next question, all of them are kept as one,
which packs as well: then the order within each direction is kept, and not that of the two against each other.
"""

import hashlib
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from commission.evidence.wire import CountedBytes, Exchanged
from commission.files.deflate import packed, unpacked

MOST_BYTES = 64 * 1024 * 1024
MOST_THAT_DIFFER = 8
"""With more of them in one entry they are alike no longer."""


class Piece(NamedTuple):
    """Bytes of one direction, and their monotonic time in seconds."""

    sent: bool
    data: bytes
    at_s: float


def counted_bytes(parts: Sequence[Piece], *, timed: bool = False) -> tuple[CountedBytes, bytes]:
    """The entry for these bytes, and its `raw`; `whole_bytes` gives the bytes back as they were.

    Args:
        parts: in the order of the wire.
        timed: whether it is kept when each row of alike exchanges began; a soak says its times itself.

    Raises:
        ValueError: there are none.
    """
    if not parts:
        raise ValueError("There are no bytes to count.")
    exchanges = _exchanges(parts)
    if timed and len({(sent, received) for _, sent, received in exchanges}) > MOST_THAT_DIFFER:
        sent, received = (b"".join(each.data for each in parts if each.sent is way) for way in (True, False))
        exchanges = [(parts[0].at_s, sent, received)]
    places: dict[tuple[bytes, bytes], int] = {}
    rows = []
    for alike, group in groupby(exchanges, key=lambda each: each[1:]):
        began = [at_s for at_s, _, _ in group]
        rows.append((places.setdefault(alike, len(places)), len(began), began[0]))
    entry = CountedBytes(
        began_us=_us(parts[0].at_s),
        ended_us=_us(parts[-1].at_s),
        exchanges=tuple(Exchanged(len(sent), len(received)) for sent, received in places),
        order=tuple((place, count) for place, count, _ in rows),
        sha256=hashlib.sha256(b"".join(sent + received for _, sent, received in exchanges)).hexdigest(),
        after_us=tuple(_us(at_s) - _us(parts[0].at_s) for _, _, at_s in rows) if timed else (),
    )
    return entry, packed(b"".join(sent + received for sent, received in places))


def _us(at_s: float) -> int:
    return round(1e6 * at_s)


def _exchanges(parts: Sequence[Piece]) -> list[tuple[float, bytes, bytes]]:
    """When it began, sent and received; a new one wherever something is sent after something was heard."""
    found: list[tuple[float, bytes, bytes]] = []
    for sent, group in groupby(parts, key=lambda part: part.sent):
        pieces = list(group)
        data = b"".join(part.data for part in pieces)
        if sent or not found:
            found.append((pieces[0].at_s, data, b"") if sent else (pieces[0].at_s, b"", data))
        else:
            at_s, asked, heard = found[-1]
            found[-1] = (at_s, asked, heard + data)
    return found


def exchanges_in(entry: CountedBytes, raw: bytes) -> Iterator[tuple[bytes, bytes]]:
    """What was sent and what came back, in order, as often as it came.

    Raises:
        ValueError: they are not those that the entry was written for.
    """
    if len(whole_bytes(entry, raw)) == 0:
        return
    known = _known(entry, unpacked(raw, MOST_BYTES))
    for number, times in entry.order:
        yield from [known[number]] * times


def whole_bytes(entry: CountedBytes, raw: bytes) -> bytes:
    """All bytes, each exchange's sent before its received.

    Raises:
        ValueError: they are not those that the entry was written for.
    """
    try:
        data = unpacked(raw, MOST_BYTES)
    except ValueError as error:
        raise ValueError(f"The bytes cannot be unpacked: {error}") from error
    known = _known(entry, data)
    if any(number >= len(known) for number, _ in entry.order) or _size(entry) > MOST_BYTES:
        raise ValueError("The bytes are not those that went over the wire: their order names others.")
    whole = b"".join(b"".join(known[number]) * times for number, times in entry.order)
    if hashlib.sha256(whole).hexdigest() != entry.sha256:
        raise ValueError("The bytes are not those that went over the wire: their digest differs.")
    return whole


def _size(entry: CountedBytes) -> int:
    sizes = [each.sent + each.received for each in entry.exchanges]
    return sum(sizes[number] * times for number, times in entry.order)


def _known(entry: CountedBytes, data: bytes) -> list[tuple[bytes, bytes]]:
    known, place = [], 0
    for each in entry.exchanges:
        middle, end = place + each.sent, place + each.sent + each.received
        known.append((data[place:middle], data[middle:end]))
        place = end
    return known
