"""Bytes of a soak, packed: exchanges that are alike are kept once, with how often they came and in which order."""

import hashlib
import zlib
from collections.abc import Sequence
from itertools import groupby

from commission.evidence.wire import CountedBytes, Exchanged
from commission.session import Traffic


def counted_bytes(parts: Sequence[Traffic]) -> tuple[CountedBytes, bytes]:
    """The entry for these bytes, and its `raw`; `unpacked` gives the bytes back as they were.

    Raises:
        ValueError: there are none.
    """
    if not parts:
        raise ValueError("There are no bytes to count.")
    exchanges = _exchanges(parts)
    known = list(dict.fromkeys(exchanges))
    order = [(known.index(alike), len(list(group))) for alike, group in groupby(exchanges)]
    entry = CountedBytes(
        began_us=round(1e6 * parts[0].at_s),
        ended_us=round(1e6 * parts[-1].at_s),
        exchanges=tuple(Exchanged(len(sent), len(received)) for sent, received in known),
        order=tuple(order),
        sha256=hashlib.sha256(b"".join(sent + received for sent, received in exchanges)).hexdigest(),
    )
    return entry, zlib.compress(b"".join(sent + received for sent, received in known), 9)


def _exchanges(parts: Sequence[Traffic]) -> list[tuple[bytes, bytes]]:
    """Sent and received, a new one wherever something is sent after something was heard."""
    pairs: list[tuple[bytes, bytes]] = []
    for sent, group in groupby(parts, key=lambda part: part.sent):
        data = b"".join(part.data for part in group)
        if sent or not pairs:
            pairs.append((data, b"") if sent else (b"", data))
        else:
            pairs[-1] = (pairs[-1][0], pairs[-1][1] + data)
    return pairs


def unpacked(entry: CountedBytes, raw: bytes) -> bytes:
    """All bytes of both directions, in the order of the wire.

    Raises:
        ValueError: they are not those that the entry was written for.
    """
    try:
        data = zlib.decompress(raw)
    except zlib.error as error:
        raise ValueError(f"The bytes cannot be unpacked: {error}") from error
    known, place = [], 0
    for each in entry.exchanges:
        known.append(data[place : place + each.sent + each.received])
        place += each.sent + each.received
    whole = b"".join(known[number] * times for number, times in entry.order)
    if hashlib.sha256(whole).hexdigest() != entry.sha256:
        raise ValueError("The bytes are not those that went over the wire: their digest differs.")
    return whole
