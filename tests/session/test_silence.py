"""A host computer that is at work when the port is opened: nothing comes, and then everything at once."""

import pytest

from commission.dialect.commands import SWITCHES
from commission.session import Session, SpeedNotFound, connect
from commission.session.connect import SEARCH_S
from commission.session.silence import Silence
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_VERSION:v100.8.2 FIRMWARE_NAME:ExampleC\nok\n"
SPEEDS = (250000, 115200, 57600)


class AtWork:
    """A host computer that reads no line before it is through; a pipe without a speed. Steer it by `through_s`."""

    def __init__(self, through_s: float) -> None:
        self._through_s = through_s
        self._asked = 0
        self.clock = FakeClock()
        self.link = FakeLink(self._answer, self.clock)
        self.session = Session(self.link, self.clock, on_traffic=lambda _part: None)
        self.told: list[float] = []

    def _answer(self, line: str) -> bytes | None:
        said = WHO if line == "M115" else b"x:open y:open\nok\n"
        left_s = self._through_s - self.clock.monotonic()
        if left_s <= 0:
            return said
        self._asked += 1
        self.link.say(said, left_s)
        return None

    async def tell(self, left_s: float) -> None:
        """Keep what was told."""
        self.told.append(left_s)


@pytest.mark.parametrize("through_s", [2.0, 9.0, 12.5, 16.0, 20.0, 40.0, 80.0, 130.0])
async def test_a_host_at_work_is_found_once_it_is_through(through_s: float) -> None:
    """Whenever that is: at the speed that was named, and with no late answer left to slide onto the next question."""
    host = AtWork(through_s)

    found = await connect(host.session, SPEEDS, Silence(120.0, host.tell))

    assert "FIRMWARE_VERSION:v100.8.2 FIRMWARE_NAME:ExampleC" in found.lines
    assert 250000 == host.session.speed_baud == host.link.speeds[-1]
    assert ("x:open y:open", "ok") == (await host.session.exchange(SWITCHES)).lines


async def test_who_waits_is_told_for_how_long() -> None:
    """Nothing is told during the search; after it, once a second, what is left of the wait."""
    host = AtWork(1e9)

    with pytest.raises(SpeedNotFound, match=r"not one byte came, nor for 30 s after that\. .*A host computer"):
        await connect(host.session, SPEEDS, Silence(30.0, host.tell))

    assert [30.0 - second for second in range(30)] == pytest.approx(host.told)


async def test_a_silent_port_is_not_waited_for_unasked() -> None:
    """Without a wait the search ends as ever, and says that not one byte came."""
    host = AtWork(1e9)

    with pytest.raises(SpeedNotFound, match=r"at 250000, 115200, 57600 baud: not one byte came\. .*A host computer"):
        await connect(host.session, SPEEDS)

    assert host.clock.monotonic() < SEARCH_S + 10.0


async def test_noise_is_no_silence() -> None:
    """Where bytes came, nothing is waited for, and no host computer is spoken of."""
    clock = FakeClock()
    link = FakeLink(lambda _line: bytes([0xF8, 0x80, 0xC3]) * 6, clock)

    with pytest.raises(SpeedNotFound, match=r"57600 baud\. Check that the printer is switched on"):
        await connect(Session(link, clock, on_traffic=lambda _part: None), SPEEDS, Silence(600.0))

    assert clock.monotonic() < SEARCH_S + 10.0
