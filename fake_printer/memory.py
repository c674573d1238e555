"""The memory that keeps settings without power: a head with version, size and checksum, then the values.

It is bytes, as in the real part, so that every way of being wrong is a real one: a head of another version, a length
that does not fit the build's layout, a bit that tipped over, or a layout that happens to fit and reads as nonsense.
"""

import binascii
import struct
from dataclasses import dataclass

_HEAD = struct.Struct("<4sHH")
_BLANK = b"\xff" * _HEAD.size


@dataclass(frozen=True)
class Retrieved:
    """The values, as written."""

    payload: bytes
    checksum: int


@dataclass(frozen=True)
class WrongVersion:
    """The head belongs to another layout; `found` is its version, or `?` where none can be read."""

    found: str


@dataclass(frozen=True)
class WrongSize:
    """The values are longer or shorter than this build's layout; both in bytes."""

    found: int
    expected: int


@dataclass(frozen=True)
class WrongChecksum:
    """The values do not match the checksum in the head."""

    stored: int
    computed: int


Retrieval = Retrieved | WrongVersion | WrongSize | WrongChecksum


def checksum(payload: bytes) -> int:
    """CRC-16 with polynomial 0x1021 and start value 0, as the standard library computes it."""
    return binascii.crc_hqx(payload, 0)


class Memory:
    """One memory part. It outlives power cuts, restarts and reflashes.

    Attributes:
        image: everything in it. writes: how often it was written.
    """

    def __init__(self, image: bytes = _BLANK) -> None:
        if len(image) < _HEAD.size:
            raise ValueError(f"a memory image has at least {_HEAD.size} bytes, for its head; this one has {len(image)}")
        self.image = image
        self.writes = 0

    def store(self, version: str, payload: bytes) -> int:
        """Write the values under this version; returns their checksum."""
        computed = checksum(payload)
        self.image = _HEAD.pack(version.encode("ascii"), len(payload), computed) + payload
        self.writes += 1
        return computed

    def tip_a_bit(self) -> None:
        """One bit of the last value tips over; a blank part has none that could."""
        if len(self.image) > _HEAD.size:
            self.image = self.image[:-1] + bytes([self.image[-1] ^ 1])

    def erase(self) -> None:
        """All cells read as one."""
        self.image = b"\xff" * len(self.image)

    def retrieve(self, version: str, size: int) -> Retrieval:
        """Read the values back for a build of this version whose layout takes `size` bytes."""
        head, payload = self.image[: _HEAD.size], self.image[_HEAD.size :]
        found, stated, stored = _HEAD.unpack(head)
        if found.rstrip(b"\0") != version.encode("ascii"):
            return WrongVersion(_printable(found))
        if stated != size:
            return WrongSize(stated, size)
        computed = checksum(payload)
        return Retrieved(payload, stored) if computed == stored else WrongChecksum(stored, computed)


def _printable(version: bytes) -> str:
    text = version.rstrip(b"\0")
    return text.decode("ascii") if text.isalnum() and text.isascii() else "?"
