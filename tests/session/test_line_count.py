"""A printer's count of lines shows that it restarted, at simulated boards of every family and at a made-up line."""

import pytest

from commission.dialect.commands import IDENTITY
from commission.link.base import LinkLost
from commission.session import Session, connect
from commission.session.line_count import MARK, count_lost, mark_count
from tests.fake_printer.line import Host
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

COUNTS = ("sound", "old-forms", "tuned-old", "native-port", "family-b", "family-d", "family-e")
"""Boards that look at numbers; a host computer, of the family C, does not."""
WHO = "FIRMWARE_NAME:ExampleFW 102.1.2\nok"
OFF_AND_ON = (("mains", "off"), ("usb", "out"), ("usb", "in"), ("mains", "on"))


class Board:
    """A simulated board on a line in memory, and the sessions that come to it one after the other."""

    def __init__(self, unit: str) -> None:
        self.host = Host(unit)
        self.clock = FakeClock()
        self.sent: list[str] = []

    async def met(self) -> Session:
        """A session with the board, opened."""
        session = Session(FakeLink(self._answer, self.clock), self.clock, on_traffic=lambda _traffic: None)
        await connect(session, (115200,))
        return session

    def switched(self) -> None:
        """Off and on again; what it says when it starts goes unheard."""
        for deed in OFF_AND_ON:
            self.host.do(*deed, settle_s=10)
        self.host.lines()

    def _answer(self, line: str) -> bytes | None:
        self.sent.append(line)
        said = [*self.host.ask(line), *self.host.after(0.2)]
        return "".join(f"{each}\n" for each in said).encode("latin-1") or None


@pytest.mark.parametrize("unit", COUNTS)
async def test_a_restart_shows_by_the_lost_count(unit: str) -> None:
    """A board that was switched off and on has lost its count, and one that was left alone has not."""
    left, switched = Board(unit), Board(unit)
    counts = [await mark_count(await board.met()) for board in (left, switched)]
    switched.switched()

    assert [MARK + 1, MARK + 1] == counts
    assert not await count_lost(await left.met(), MARK + 1)
    assert await count_lost(await switched.met(), MARK + 1)


async def test_a_board_that_ignores_numbers_shows_nothing() -> None:
    """It takes every number, also after a restart: that is no sign, and no error either."""
    board = Board("family-c")
    count = await mark_count(await board.met())
    board.switched()

    assert count is None or not await count_lost(await board.met(), count)


async def test_the_mark_is_two_lines_and_changes_no_conversation() -> None:
    """The count is set, one question is asked under the next number, and lines go on without numbers."""
    board = Board("sound")
    session = await board.met()
    begun = len(board.sent)
    await mark_count(session)
    await session.listen(0.1)
    sent = [line.split("*")[0] for line in board.sent[begun:]]

    assert [f"N{MARK} M110 N{MARK}", f"N{MARK + 1} M115"] == sent
    assert session.last_number is None


def lines(answers: dict[str, list[str | None]]) -> Session:
    """A session with a line that answers so, by the first word; each answer once, the last one for ever."""
    clock = FakeClock()

    def answer(line: str) -> bytes | None:
        given = answers.get(line.split(" ", maxsplit=1)[0], ["ok"])
        said = given.pop(0) if len(given) > 1 else given[0]
        return None if said is None else f"{said}\n".encode()

    return Session(FakeLink(answer, clock), clock, on_traffic=lambda _traffic: None)


REFUSED = "Error:Line Number is not Last Line Number+1, Last Line: {0}\nResend: {1}\nok"


@pytest.mark.parametrize(
    ("answers", "lost"),
    [
        ({"N2702": [REFUSED.format(0, 1)], "N1": [WHO]}, True),
        ({"N2702": [REFUSED.format(0, 1)], "N1": [REFUSED.format(2701, 2702)]}, False),
        ({"N2702": ["Error:checksum mismatch, Last Line: 2701\nResend: 2702\nok", WHO]}, False),
        ({"N2702": [REFUSED.format(40, 41)], "N41": [WHO]}, False),
        ({"N2702": [WHO]}, False),
        ({"N2702": [None]}, False),
        ({"N2702": ["ok"]}, False),
    ],
    ids=["lost", "line 1 refused too", "damaged on the wire", "another count", "counted on", "silent", "acknowledged"],
)
async def test_only_line_one_taken_after_a_refusal_is_a_restart(
    answers: dict[str, list[str | None]], *, lost: bool
) -> None:
    """Whatever else comes shows nothing: the number in an error may be wrong, and a line may be damaged."""
    assert lost is await count_lost(lines(answers), 2701)


async def test_a_board_that_does_not_take_the_count_is_not_marked() -> None:
    """It goes on counting from where it was: then its count shows nothing."""
    refused = lines({"N2701": [REFUSED.format(4, 5)], "N5": [WHO]})

    assert await mark_count(refused) is None


async def test_a_silent_line_is_not_marked() -> None:
    """Silence ends it, and the conversation can go on."""
    silent = lines({f"N{MARK}": [None], "M115": [WHO]})

    assert await mark_count(silent) is None
    assert ("FIRMWARE_NAME:ExampleFW 102.1.2", "ok") == (await silent.exchange(IDENTITY)).lines


async def test_a_lost_link_is_told() -> None:
    """It is the caller's to say what that means."""
    session = lines({})
    await session.link.open(115200)
    session.link.lose()  # type: ignore[attr-defined]

    with pytest.raises(LinkLost):
        await mark_count(session)
