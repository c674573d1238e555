"""The settings memory as bytes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.memory import Memory, Retrieved, WrongChecksum, WrongSize, WrongVersion, checksum


def test_checksum_of_the_usual_string() -> None:
    """The checksum of `123456789` is 31C3 hex (check value of CRC-16 with polynomial 1021 and start 0; from memory)."""
    assert checksum(b"123456789") == 0x31C3


def test_blank_memory_has_no_version() -> None:
    """A memory that was never written belongs to no version that could be read."""
    assert WrongVersion("?") == Memory().retrieve("V87", 8)


def test_values_come_back() -> None:
    """What was stored is retrieved by a build of the same version and size."""
    memory = Memory()
    crc = memory.store("V87", b"12345678")

    assert Retrieved(b"12345678", crc) == memory.retrieve("V87", 8)
    assert memory.writes == 1


def test_other_version_is_named() -> None:
    """A build of another version is told which version it found."""
    memory = Memory()
    memory.store("V55", b"12345678")

    assert WrongVersion("V55") == memory.retrieve("V87", 8)


def test_other_size_is_refused() -> None:
    """A build whose layout takes another size is told both."""
    memory = Memory()
    memory.store("V87", b"12345678")

    assert WrongSize(8, 16) == memory.retrieve("V87", 16)


@given(st.binary(min_size=8, max_size=64), st.integers(0))
@settings(deadline=None, max_examples=100)
def test_every_single_bit_is_missed(payload: bytes, place: int) -> None:
    """Any one bit of the values that tips over is found by the checksum."""
    memory = Memory()
    memory.store("V87", payload)
    damaged = bytearray(memory.image)
    bit = place % (8 * len(payload))
    damaged[8 + bit // 8] ^= 1 << bit % 8

    assert isinstance(Memory(bytes(damaged)).retrieve("V87", len(payload)), WrongChecksum)


@pytest.mark.parametrize("image", [b"", b"V8"])
def test_image_too_short_for_a_head_is_refused(image: bytes) -> None:
    """An image without room for a head is refused with a sentence."""
    with pytest.raises(ValueError, match="at least 8 bytes"):
        Memory(image)


def test_a_bit_tips_over_and_cells_are_erased() -> None:
    """One bit makes the checksum wrong and leaves head and size; erased cells have no version that could be read."""
    memory = Memory()
    memory.tip_a_bit()
    assert WrongVersion("?") == memory.retrieve("V87", 4)

    memory.store("V87", b"1234")
    memory.tip_a_bit()
    assert isinstance(memory.retrieve("V87", 4), WrongChecksum)

    memory.erase()
    assert WrongVersion("?") == memory.retrieve("V87", 4)
