"""The search for the speed: a wrong one spoils nothing, and it ends whatever the line does."""

import pytest

from commission.session import Session, SpeedNotFound, connect
from commission.session.connect import SEARCH_S
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nok\n"
SPEEDS = (115200, 250000, 230400, 500000, 1000000, 57600, 38400, 19200, 9600)
NOISE = bytes([0xF8, 0x80, 0x00, 0xC3]) * 6


class Spoilt:
    """A printer that keeps what came at a wrong speed, and takes it for the beginning of the next line.

    Steer it by its speed, and by whether it answers at a wrong one with noise or not at all. Lines with numbers it
    refuses, as it never heard where they begin. Source: common practice, no source.
    """

    def __init__(self, speed_baud: int, noise: bytes | None) -> None:
        self._speed_baud = speed_baud
        self._noise = noise
        self._kept = False
        self.clock = FakeClock()
        self.link = FakeLink(self._answer, self.clock)
        self.session = Session(self.link, self.clock, on_traffic=lambda _part: None)

    def _answer(self, line: str) -> bytes | None:
        if self.link.speeds[-1] != self._speed_baud:
            self._kept = True
            return self._noise
        if self._kept:
            self._kept = False
            return b'echo:Unknown command: "\xf8\x80\xfe\x06' + line.encode("ascii") + b'"\nok\n'
        if line.startswith("N"):
            return b"Error:Line Number is not Last Line Number+1, Last Line: 0\nResend: 1\nok\n"
        return WHO if line == "M115" else b"ok\n"


@pytest.mark.parametrize("noise", [NOISE, b"8>\xc6\x06", None], ids=["noise", "little noise", "silence"])
@pytest.mark.parametrize("first", [19200, 250000, 9600])
async def test_a_wrong_speed_does_not_spoil_the_right_one(first: int, noise: bytes | None) -> None:
    """Whatever speed is named, the printer is found at its own, and its lines bear no numbers."""
    printer = Spoilt(115200, noise)

    found = await connect(printer.session, (first, *(speed for speed in SPEEDS if speed != first)))

    assert 115200 == printer.session.speed_baud
    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in found.lines
    assert not printer.session.numbered
    assert 1 == printer.link.opened


class Endless(FakeLink):
    """Says the same for ever, twenty times a second, whatever is sent."""

    def __init__(self, says: bytes, clock: FakeClock) -> None:
        super().__init__(lambda _line: None, clock)
        self._says = says

    async def receive(self, timeout_s: float) -> bytes:
        """A piece of it."""
        await self._clock.sleep(min(0.05, timeout_s))
        return self._says


@pytest.mark.parametrize("says", [b"#" * 512, b"\n" * 64, b"T:20.1 /0.0\n", NOISE, b""], ids=repr)
async def test_the_search_ends_whatever_the_line_does(says: bytes) -> None:
    """Every speed is tried once at least; no further one is tried after the limit, and the last takes seconds."""
    clock = FakeClock()
    link = Endless(says, clock)

    with pytest.raises(SpeedNotFound, match=r"nothing on it answered like a printer at 115200, 250000, .*9600 baud"):
        await connect(Session(link, clock, on_traffic=lambda _part: None), SPEEDS)

    assert clock.monotonic() < SEARCH_S + 10.0
