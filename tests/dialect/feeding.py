"""The one way parsers are fed here: whole, byte by byte, and with the beginning of another line behind."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from commission.dialect.framing import LineBuffer, RawLine

Result = TypeVar("Result")

TAIL = b"echo:busy: proc"
"""Stray bytes that follow a reply: a line that has begun and not ended."""


def whole(data: bytes) -> list[RawLine]:
    """The lines of data that comes at once."""
    return LineBuffer().feed(data)


def byte_by_byte(data: bytes) -> list[RawLine]:
    """The lines of data that trickles in."""
    buffer = LineBuffer()
    return [line for index in range(len(data)) for line in buffer.feed(data[index : index + 1])]


def with_a_tail(data: bytes) -> list[RawLine]:
    """The lines of data with stray bytes behind it, which stay behind."""
    buffer = LineBuffer()
    lines = buffer.feed(data + TAIL)
    assert buffer.pending == TAIL
    return lines


def texts(lines: Sequence[RawLine]) -> list[str]:
    """Lines as the topic parsers take them."""
    return [line.text for line in lines]


def every_way(parse: Callable[[list[RawLine]], Result], data: bytes) -> Result:
    """What `parse` makes of data that ends with a newline, provided that it makes the same of it every way."""
    assert data.endswith(b"\n")
    result = parse(whole(data))

    assert result == parse(byte_by_byte(data))
    assert result == parse(with_a_tail(data))
    assert result == parse(whole(data.replace(b"\n", b"\r\n")))
    return result


def read_texts(parse: Callable[[list[str]], Result], data: bytes) -> Result:
    """The same for a parser of printable lines."""
    return every_way(lambda lines: parse(texts(lines)), data)
