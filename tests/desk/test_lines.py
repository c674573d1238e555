"""Typed bytes become lines."""

import io

import pytest

from commission.desk.lines import LINE_LIMIT, TypedLines

WHOLE = "yes\n\r\nzwölf\r\n".encode()


def lines_of(*pieces: bytes) -> list[str | None]:
    """What comes of the bytes, fed piece by piece."""
    typed = TypedLines(io.TextIOWrapper(io.BytesIO(), encoding="utf-8"))
    for piece in pieces:
        typed.feed(piece)
    return typed.waiting()


@pytest.mark.parametrize("pieces", [(WHOLE,), tuple(WHOLE[at : at + 1] for at in range(len(WHOLE)))])
@pytest.mark.parametrize("tail", [b"", b"no"])
def test_whole_byte_by_byte_and_with_a_tail(pieces: tuple[bytes, ...], tail: bytes) -> None:
    """Lines come out the same however their bytes arrive; an open one is waited for."""
    assert ["yes", "", "zwölf"] == lines_of(*pieces, *([tail] if tail else []))


def test_end_of_input() -> None:
    """The end of input is handed out after the lines, the last of which needs no end of its own."""
    assert ["yes", "no", None] == lines_of(b"yes\nno", b"")
    assert ["yes", None] == lines_of(b"yes\n", b"")


def test_bytes_that_are_no_text() -> None:
    """Bytes of another encoding are spelled out."""
    assert [r"\xff\xe9"] == lines_of(b"\xff\xe9\n")


def test_line_without_end() -> None:
    """A line that never ends is cut, not kept growing."""
    assert [LINE_LIMIT] == [len(line or "") for line in lines_of(*[b"x" * 4096] * 50, b"\n")]


async def test_end_of_input_stays() -> None:
    """Once the input has ended every later question learns so, also after old lines were thrown away."""
    typed = TypedLines(io.TextIOWrapper(io.BytesIO(), encoding="utf-8"))
    typed.feed(b"yes\n")
    typed.feed(b"")
    typed.forget()

    assert (None, None) == (await typed.next(), await typed.next())
