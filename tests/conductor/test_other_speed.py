"""What is said where a printer does not answer at the speed that was tried first."""

import pytest

from commission.conductor.connection import Connection
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nok\n"
SAID = "The printer answers at 115200 baud, not at 19200, which was tried first: name it by --speed."


@pytest.mark.parametrize(("first", "said"), [(19200, SAID), (115200, "")])
async def test_the_speed_that_answered_is_told(first: int, said: str) -> None:
    """It is told where another was tried first, and only once: after that the right one is tried first."""
    clock = FakeClock()
    link: FakeLink
    link = FakeLink(lambda _line: WHO if link.speeds[-1] == 115200 else None, clock)
    connection = Connection(
        "fake",
        make_link=lambda _address: link,
        find=lambda address: address,
        speeds_baud=tuple(dict.fromkeys((first, 115200))),
        clock=clock,
        on_traffic=lambda _part: None,
    )

    assert said == (await connection.open()).other_speed
    assert "" == (await connection.reopen()).other_speed
