"""Printing never waits for the terminal."""

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from commission.desk.outlet import MOST_WAITING_BYTES, Outlet, outlet

pytestmark = pytest.mark.skipif(os.name != "posix", reason="only there is a console a descriptor")

A_PIPEFUL = 1 << 16
"""What the system keeps of a pipe that nobody reads (Linux manual, pipe(7): 16 pages)."""


@contextmanager
def pipe() -> Iterator[tuple[int, int]]:
    """Both ends of a pipe; reading end first."""
    ends = os.pipe()
    try:
        yield ends
    finally:
        for end in ends:
            try:
                os.close(end)
            except OSError:
                continue  # the test has closed it


def test_lines_come_out_in_order() -> None:
    """What is printed through the stand-in is all there at the end of the block, letter by letter as it was."""
    with pipe() as (reading, writing):
        with os.fdopen(os.dup(writing), "w", encoding="utf-8") as stream, outlet(stream) as out:
            for number in range(200):
                out.write(f"line {number}, °C\n")
                out.flush()

        assert "".join(f"line {number}, °C\n" for number in range(200)).encode() == os.read(reading, A_PIPEFUL)


def test_it_tells_how_much_it_was_given() -> None:
    """Bytes that wait for the terminal count like those that were written."""
    with pipe() as (_, writing):
        out = Outlet(writing)
        told = [out.tell(), out.write(b"x" * A_PIPEFUL), out.tell(), out.write(b"more"), out.tell()]

        assert [0, A_PIPEFUL, A_PIPEFUL, 4, A_PIPEFUL + 4] == told


def test_a_full_pipe_holds_nobody_up() -> None:
    """With nobody reading, writing returns at once, and what waits is written as soon as somebody reads."""
    with pipe() as (reading, writing):
        out = Outlet(writing)
        for _ in range(8):
            assert A_PIPEFUL == out.write(b"x" * A_PIPEFUL)
        drained_before = out.drain(0.05)
        read = 0
        while read < 8 * A_PIPEFUL:
            read += len(os.read(reading, A_PIPEFUL))

        assert not drained_before
        assert out.drain(10)
        out.finish(10)


def test_a_pipe_that_does_not_wait_is_not_gone() -> None:
    """A descriptor that refuses for the moment is tried again, and nothing is lost."""
    with pipe() as (reading, writing):
        os.set_blocking(writing, False)
        out = Outlet(writing)
        out.write(b"x" * 3 * A_PIPEFUL)
        read = 0
        while read < 3 * A_PIPEFUL:
            read += len(os.read(reading, A_PIPEFUL))

        assert out.drain(10)
        out.write(b"still there")


def test_what_nobody_ever_reads_is_dropped_at_last() -> None:
    """The memory has a limit: far beyond it, no more is kept."""
    with pipe() as (_reading, writing):
        out = Outlet(writing)
        for _ in range(40):
            out.write(b"x" * A_PIPEFUL)

        assert len(out._waiting) < MOST_WAITING_BYTES + A_PIPEFUL


def test_a_reader_that_is_gone_is_an_error() -> None:
    """Once the far end is closed, printing fails as it does without the stand-in."""
    with pipe() as (reading, writing):
        out = Outlet(writing)
        os.close(reading)
        out.write(b"nobody reads this")
        assert out.drain(10)

        with pytest.raises(BrokenPipeError):
            out.write(b"nor this")


def test_a_stream_without_a_file_is_its_own_stand_in() -> None:
    """A stream in memory takes everything at once anyway."""
    stream = io.StringIO()

    with outlet(stream) as out:
        assert stream is out
