"""Bytes leave at the speed of the line."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.wire.pacing import Pacer

BYTE_S = 10 / 115200  # eight data bits, a start and a stop bit: common practice, no source


def test_a_byte_is_out_when_its_last_bit_is() -> None:
    """A byte is not there just before ten bit times and is there after them."""
    pacer = Pacer(115200)
    pacer.put(b"ab", 5.0)
    assert b"" == pacer.take(5.0 + 0.99 * BYTE_S)
    assert b"a" == pacer.take(5.0 + 1.01 * BYTE_S)
    assert b"b" == pacer.take(5.0 + 2.01 * BYTE_S)


@given(st.lists(st.floats(0.0001, 0.02), min_size=1, max_size=50))
@settings(deadline=None, max_examples=100)
def test_asking_rarely_does_not_slow_the_line(gaps: list[float]) -> None:
    """However the asking is spread, what has come by a moment is the time gone by divided by the time of a byte."""
    pacer = Pacer(115200)
    pacer.put(bytes(20000), 0.0)
    now = came = 0.0
    for gap in gaps:
        now += gap
        came += len(pacer.take(now))
        assert abs(now / BYTE_S - came) < 1.001


def test_an_idle_line_saves_up_no_time() -> None:
    """A byte put on a line that was idle for long takes as long as any other."""
    pacer = Pacer(115200)
    pacer.put(b"a", 0.0)
    assert b"a" == pacer.take(1.0)
    pacer.put(b"b", 2.0)
    assert b"" == pacer.take(2.0 + 0.5 * BYTE_S)
    assert b"b" == pacer.take(2.0 + 1.1 * BYTE_S)


def test_what_is_put_behind_waits_for_what_is_before() -> None:
    """The line is drained one byte time for each byte after the first was put."""
    pacer = Pacer(250000)
    pacer.put(bytes(100), 0.0)
    pacer.put(bytes(100), 0.001)
    assert pytest.approx(200 * 10 / 250000 - 0.001) == pacer.drained_in_s(0.001)
    assert 200 == len(pacer.take(0.0081))
    assert pacer.drained_in_s(0.0081) is None


def test_without_a_speed_everything_leaves_at_once() -> None:
    """An unpaced queue holds nothing back."""
    pacer = Pacer(None)
    pacer.put(bytes(5000), 0.0)
    assert 0.0 == pacer.drained_in_s(0.0)
    assert 5000 == len(pacer.take(0.0))


def test_a_cleared_queue_gives_nothing() -> None:
    """What was cleared never leaves."""
    pacer = Pacer(115200)
    pacer.put(b"abc", 0.0)
    pacer.clear()
    assert b"" == pacer.take(9.0)
    assert 0 == len(pacer)


@pytest.mark.parametrize("speed", [0, -1, float("nan")])
def test_a_speed_that_is_none_is_refused(speed: float) -> None:
    """A line without a positive speed is refused, with the number in the message."""
    with pytest.raises(ValueError, match=str(speed)):
        Pacer(speed)
