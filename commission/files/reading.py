"""Reads a file that somebody named, up to the length that such a file has: a device never ends, and memory does."""

import errno
from pathlib import Path

MOST_BYTES = 16 * 1024 * 1024
"""Scripts, rosters and kept ends have some kilobytes; a greater file was named by mistake."""


def read_whole(place: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """All of a file.

    Raises:
        OSError: it cannot be read, or is larger than that.
    """
    with place.open("rb") as stream:
        data = stream.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise OSError(errno.EFBIG, f"it is larger than {most_bytes // 2**20} MiB", str(place))
    return data
