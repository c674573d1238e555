import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect.framing import LINE_LIMIT_BYTES, LineBuffer, RawLine, checksum, numbered, split_lines
from tests.dialect.feeding import byte_by_byte, every_way, texts, whole


def test_lines_come_out_in_order() -> None:
    """Every terminated line is handed out once, blank ones too."""
    assert ["start", "", "ok"] == every_way(texts, b"start\n\nok\n")


def test_pending_bytes_wait() -> None:
    """A line that has not ended is not handed out but can be seen."""
    buffer = LineBuffer()

    assert [] == buffer.feed(b"o")
    assert b"o" == buffer.pending
    assert [RawLine(b"ok")] == buffer.feed(b"k\n")
    assert b"" == buffer.pending


def test_flush_hands_out_the_rest() -> None:
    """What is pending when the wire goes dead is handed out once."""
    buffer = LineBuffer()
    buffer.feed(b"ok\nEr")

    assert RawLine(b"Er") == buffer.flush()
    assert buffer.flush() is None


def test_finished_capture_keeps_its_last_line() -> None:
    """A capture that was cut off in a line keeps that line."""
    assert [RawLine(b"ok"), RawLine(b"echo:bu")] == split_lines(b"ok\necho:bu")


@pytest.mark.parametrize("length", [LINE_LIMIT_BYTES, LINE_LIMIT_BYTES + 1, 2 * LINE_LIMIT_BYTES, 8192 + 1])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_long_line_is_cut_the_same_way_however_it_comes(length: int, end: bytes) -> None:
    """A line past the limit comes in marked pieces that join to the whole, whole or byte by byte."""
    data = b"x" * length + end + b"ok\n"
    lines = whole(data)

    assert lines == byte_by_byte(data)
    assert b"x" * length == b"".join(line.content for line in lines[:-1]).rstrip(b"\r")
    assert all(line.cut for line in lines[:-1]) is (length + len(end) - 1 > LINE_LIMIT_BYTES)
    assert RawLine(b"ok") == lines[-1]


def test_line_that_never_ends_takes_no_memory() -> None:
    """However long a line grows, no more than the limit is kept of it."""
    buffer = LineBuffer()
    for _ in range(1000):
        buffer.feed(b"x" * 1000)

    assert LINE_LIMIT_BYTES >= len(buffer.pending)


def test_nul_padding_is_no_part_of_the_text() -> None:
    """NUL bytes around a line are left out of its text and kept in its bytes."""
    line = RawLine(b"\x00mm since detection: 0.00\x00")

    assert "mm since detection: 0.00" == line.text
    assert b"\x00mm since detection: 0.00\x00" == line.content


def test_line_from_text_is_bounded() -> None:
    """A line made from text that is too long is a piece of it and says so."""
    line = RawLine.of("x" * 5000)

    assert LINE_LIMIT_BYTES == len(line.content)
    assert line.cut


@pytest.mark.parametrize("content", [b"a\nb", b"x" * (LINE_LIMIT_BYTES + 1)])
def test_impossible_line_is_refused(content: bytes) -> None:
    """A line with a newline inside, or past the limit, cannot be made."""
    with pytest.raises(ValueError, match="LineBuffer"):
        RawLine(content)


@pytest.mark.parametrize(
    ("number", "command", "frame"),
    [
        (3, "T0", b"N3 T0*57"),  # the usual worked example of this checksum, from memory
        # these two with a separate exclusive-or over the frame's bytes
        (0, "M110 N0", b"N0 M110 N0*125"),
        (7, "M115", b"N7 M115*33"),
    ],
)
def test_frame_carries_number_and_checksum(number: int, command: str, frame: bytes) -> None:
    """A numbered frame is the number, the command and the exclusive-or of both in decimal."""
    assert frame == numbered(number, command)


@pytest.mark.parametrize(("number", "command"), [(-1, "M115"), (1, "M117 a*b"), (1, "M117 \n"), (1, "M117 °")])
def test_impossible_frame_is_refused(number: int, command: str) -> None:
    """A frame with a negative number, an asterisk, a line end or a foreign letter cannot be made."""
    with pytest.raises(ValueError, match=r"line number|numbered frame"):
        numbered(number, command)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.binary(max_size=40), max_size=20))
def test_chunks_do_not_matter(chunks: list[bytes]) -> None:
    """However the same bytes are cut up on the way, the same lines come out and no byte is lost."""
    data = b"".join(chunks)
    buffer = LineBuffer()
    lines = [line for chunk in chunks for line in buffer.feed(chunk)]

    assert whole(data) == lines
    assert data.rpartition(b"\n")[2] == buffer.pending


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=80), st.integers(0, 7), st.integers(0, 79))
def test_checksum_sees_every_single_flipped_bit(frame: bytes, bit: int, place: int) -> None:
    """One flipped bit anywhere changes the checksum."""
    if place < len(frame):
        damaged = bytes(byte ^ (1 << bit if index == place else 0) for index, byte in enumerate(frame))

        assert checksum(frame) != checksum(damaged)
