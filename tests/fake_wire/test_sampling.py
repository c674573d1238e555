"""A receiver at another speed, lost bytes and turned bits."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.wire.sampling import Disturber, as_sampled

SPEEDS = [9600, 57600, 115200, 230400, 250000, 500000, 1000000]


@given(st.binary(max_size=60), st.sampled_from(SPEEDS))
@settings(deadline=None, max_examples=100)
def test_the_right_speed_changes_nothing(data: bytes, speed: int) -> None:
    """Bytes read at the speed they were sent at are the bytes that were sent."""
    assert data == as_sampled(data, speed, speed)


@given(st.binary(min_size=1, max_size=60), st.floats(0.953, 1.047))
@settings(deadline=None, max_examples=100)
def test_a_small_error_of_speed_changes_nothing(data: bytes, ratio: float) -> None:
    """A receiver within five parts in a hundred reads right: the stop bit is sampled 9.5 bits after the edge.

    The middle of the stop bit, 9.5 receiver bits after the edge, lies within the sender's stop bit (9 to 10 bits)
    for ratios from 9/9.5 = 0.947 to 10/9.5 = 1.053; so follows from the frame (worked by hand, no source).
    """
    assert data == as_sampled(data, 115200 * ratio, 115200)


@pytest.mark.parametrize("ratio", [0.93, 1.07])
def test_a_larger_error_of_speed_is_garbage(ratio: float) -> None:
    """Beyond the bounds of the frame, letters laid end to end are no longer read right."""
    assert as_sampled(b"the quick brown fox", 115200 * ratio, 115200) != b"the quick brown fox"


@pytest.mark.parametrize("sent", SPEEDS)
@pytest.mark.parametrize("read", SPEEDS)
def test_every_pair_of_unlike_speeds_is_garbage(sent: int, read: int) -> None:
    """A line of text read at any other speed in use shows no word of it."""
    seen = as_sampled(b"ok the printer speaks\n" * 3, sent, read)
    assert (sent == read) == (b"printer" in seen)


def test_a_known_waveform_reads_as_worked_out_by_hand() -> None:
    """One byte of zeros sent at half the speed reads as two frames' worth of low line with one edge.

    Sent 0x00 at 57600: nine bits low, one high. Read at 115200 each bit lasts two of the reader's: 18 low, 2 high.
    The only falling edge is the first; the eight samples are low, so one 0x00 arrives and nothing more.
    0x0F gives, in the reader's bits, low 2, high 8, low 8, high: edge at 0, data = L H H H H H H H = 0xFE read lowest
    first; the next edge at 10: data = low seven times (bits 11 to 17) then high = 0x80.
    """
    assert b"\x00" == as_sampled(b"\x00", 57600, 115200)
    assert b"\xfe\x80" == as_sampled(b"\x0f", 57600, 115200)


def test_a_receiver_without_speed_hears_nothing() -> None:
    """A port set to zero baud is hung up and hears nothing."""
    assert b"" == as_sampled(b"abc", 115200, 0)


@given(st.binary(max_size=200), st.integers(0, 2**32), st.lists(st.integers(0, 200), max_size=5))
@settings(deadline=None, max_examples=100)
def test_the_disturbance_does_not_depend_on_how_bytes_are_cut(data: bytes, seed: int, cuts: list[int]) -> None:
    """The same seed loses and damages the same bytes, whole or in pieces or one by one."""
    whole = Disturber(0.1, 0.1, seed).pass_on(data)
    edges = [0, *sorted(cuts), len(data)]
    pieces = Disturber(0.1, 0.1, seed)
    assert b"".join(pieces.pass_on(data[a:b]) for a, b in pairwise(edges)) == whole
    single = Disturber(0.1, 0.1, seed)
    assert b"".join(single.pass_on(data[place : place + 1]) for place in range(len(data))) == whole


def test_as_many_bytes_are_lost_and_damaged_as_asked_for() -> None:
    """Of 100000 bytes one in fifty is lost and one in a hundred of the rest has exactly one bit turned."""
    left = Disturber(0.02, 0.01, 7).pass_on(bytes(100000))
    damaged = [byte for byte in left if byte]
    assert 2000 == pytest.approx(100000 - len(left), abs=5 * 2000**0.5)
    assert 980 == pytest.approx(len(damaged), abs=5 * 980**0.5)
    assert {1, 2, 4, 8, 16, 32, 64, 128} == set(damaged)


@pytest.mark.parametrize(("loss", "damage"), [(-0.1, 0), (1.1, 0), (0, 2), (float("nan"), 0)])
def test_what_is_no_probability_is_refused(loss: float, damage: float) -> None:
    """A probability outside 0 to 1 is refused."""
    with pytest.raises(ValueError, match="probability"):
        Disturber(loss, damage, 1)
