"""How a printer says that it is done is learned from its first answer, and a word that was lost is not unlearned."""

import pytest

from commission.dialect.answers import Acknowledging
from commission.dialect.commands import IDENTITY, SWITCHES
from commission.session import End, Session, connect
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock
from tests.support.family_bench import BOARD

STATES = "Endstops - X: not stopped, Y: at min stop, Z: not stopped, Z probe: not stopped"
WIDESPREAD = "FIRMWARE_NAME:ExampleFW 102.1.2 PROTOCOL_VERSION:1.0 MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1"


def session_with(identity: str, *, without_word: int) -> Session:
    """A session with a printer whose first so many answers end without a word."""
    asked: list[str] = []

    def answers(line: str) -> bytes:
        asked.append(line)
        word = "" if len(asked) <= without_word else "ok\n"
        return f"{identity if line == IDENTITY.text else STATES}\n{word}".encode()

    clock = FakeClock()
    return Session(FakeLink(answers, clock), clock, on_traffic=lambda _: None)


async def test_a_board_without_a_word_is_understood() -> None:
    """Its answer is complete with its line, and the next question goes out at once."""
    session = session_with(BOARD, without_word=100)
    await connect(session, [115200])
    done = await session.exchange(SWITCHES)

    assert Acknowledging.EMPTY_LINE is session.acknowledging
    assert (End.ACKNOWLEDGED, (STATES,)) == (done.end, done.lines)


@pytest.mark.parametrize("identity", [BOARD, WIDESPREAD])
async def test_a_word_that_was_lost_is_waited_for_again(identity: str) -> None:
    """One lost word on a poor line does not make a printer one without words."""
    session = session_with(identity, without_word=1)
    await connect(session, [115200])
    done = await session.exchange(SWITCHES)

    assert Acknowledging.WORD is session.acknowledging
    assert (STATES, "ok") == done.lines
