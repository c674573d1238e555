"""Bytes made small and back: zlib (RFC 1950) of the standard library, and nothing taken that is not whole."""

import zlib
from functools import cache

LEVEL = 9


def packed(data: bytes, words: bytes = b"") -> bytes:
    """The bytes, made small; `words` are known on both sides and need not be told again (RFC 1950, 2.2, FDICT)."""
    if not words:
        return zlib.compress(data, LEVEL)
    machine = _begun(words).copy()
    return machine.compress(data) + machine.flush()


@cache
def _begun(words: bytes) -> "zlib._Compress":
    """What has read the words: a copy of it takes half the time of reading them again."""
    return zlib.compressobj(LEVEL, zdict=words)


def unpacked(data: bytes, most_bytes: int, words: bytes = b"") -> bytes:
    """The bytes as they were.

    Args:
        data: what `packed` made of them.
        most_bytes: so many may come of it; a few bytes can be forged to stand for any number.
        words: what it was packed with; it says itself whether it was.

    Raises:
        ValueError: they are not packed, not whole, stand before something else, or are more than that.
    """
    machine = zlib.decompressobj(zdict=words) if words else zlib.decompressobj()
    try:
        found = machine.decompress(data, most_bytes + 1)
    except zlib.error as error:
        raise ValueError(f"it cannot be unpacked ({error})") from error
    if len(found) > most_bytes:
        raise ValueError(f"it would unpack to more than {most_bytes} bytes")
    if not machine.eof:
        raise ValueError("it cannot be unpacked (its end is missing)")
    if machine.unused_data or machine.unconsumed_tail:
        raise ValueError("something stands behind what is packed")
    return found
