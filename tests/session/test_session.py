"""The conversation with its deadlines: what is waited for, what is repeated, what ends it."""

from contextlib import aclosing

import pytest

from commission.dialect.commands import IDENTITY, POSITION, RUNOUT_CONTROL, SAVE_STORED, SWITCHES
from commission.dialect.conversation import Interruption
from commission.link.base import LinkLost
from commission.session import ConversationBroken, End, Session, SpeedNotFound, Traffic, connect
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nCap:RUNOUT:1\nok\n"
STATES = b"Reporting endstop status\nx_min: open\nfilament: TRIGGERED\nok\n"


class Talk:
    """A session over a fake link that answers from a table; a list is used up, its last entry stays."""

    def __init__(self, **answers: "bytes | list[bytes | None] | None") -> None:
        self.clock = FakeClock()
        self.traffic: list[Traffic] = []
        self.asides: list[str] = []
        self.answers: dict[str, bytes | list[bytes | None] | None] = {"M115": WHO, "M119": STATES}
        self.answers.update(answers)
        self.link = FakeLink(self._answer, self.clock)
        self.session = Session(
            self.link,
            self.clock,
            on_traffic=self.traffic.append,
            on_aside=lambda reply: self.asides.append(reply.text),
        )

    def _answer(self, line: str) -> bytes | None:
        found = self.answers.get(
            line.split("*", maxsplit=1)[0].rsplit(" ", maxsplit=1)[-1] if line.startswith("N") else line, b"ok\n"
        )
        if isinstance(found, list):
            return found.pop(0) if len(found) > 1 else found[0]
        return found


async def test_an_exchange_is_the_command_with_all_up_to_its_acknowledgement() -> None:
    """The answer's lines come back in order, and every byte both ways is told."""
    talk = Talk()

    done = await talk.session.exchange(SWITCHES)

    assert ("Reporting endstop status", "x_min: open", "filament: TRIGGERED", "ok") == done.lines
    assert End.ACKNOWLEDGED is done.end
    assert [(True, b"M119\n"), (False, STATES)] == [(part.sent, part.data) for part in talk.traffic]


async def test_a_question_that_the_line_swallowed_is_asked_again() -> None:
    """After silence another question is asked first, so that a late answer cannot be taken for the new one."""
    talk = Talk(M119=[None, STATES])

    done = await talk.session.exchange(SWITCHES)

    assert End.ACKNOWLEDGED is done.end
    assert ["M119", "M115", "M119"] == talk.link.sent


async def test_what_changes_something_is_sent_once() -> None:
    """A save that is not acknowledged is never repeated by itself."""
    talk = Talk(M500=None)

    done = await talk.session.exchange(SAVE_STORED)

    assert End.SILENT is done.end
    assert ["M500"] == talk.link.sent


async def test_a_busy_printer_is_waited_for() -> None:
    """Keepalives extend the deadline far beyond the silence allowed."""
    talk = Talk(M119=None)
    for beat in range(1, 20):
        talk.link.say(b"echo:busy: processing\n", after_s=2.0 * beat)
    talk.link.say(STATES, after_s=40.0)

    done = await talk.session.exchange(SWITCHES, timeout_s=5.0)

    assert End.ACKNOWLEDGED is done.end
    assert 19 == len(done.asides)


async def test_a_reply_that_never_ends_is_given_up() -> None:
    """Lines that go on and on without an acknowledgement end the exchange as endless."""
    talk = Talk(M503=None)
    for moment in range(1000):
        talk.link.say(b"echo:  M92 X80.00\n", after_s=0.1 * moment)
    from commission.dialect.commands import SETTINGS

    done = await talk.session.exchange(SETTINGS)

    assert End.ENDLESS is done.end
    assert talk.clock.monotonic() < 25


async def test_eight_thousand_letters_without_an_end_are_silence() -> None:
    """A line that never ends is no answer, and the next question is answered as always."""
    talk = Talk(M119=[b"x" * 8192, STATES])

    done = await talk.session.exchange(SWITCHES, timeout_s=1.0)

    assert End.ACKNOWLEDGED is done.end
    assert "filament: TRIGGERED" in done.lines


async def test_an_answer_after_its_acknowledgement_is_waited_for() -> None:
    """The family that acknowledges first gets its whole answer heard."""
    talk = Talk(M119=b"ok 0\nendstops hit: x_max:L y_max:L z_max:H Z-probe state:L\n")

    done = await talk.session.exchange(SWITCHES)

    assert "endstops hit: x_max:L y_max:L z_max:H Z-probe state:L" in done.lines


async def test_an_acknowledgement_with_nothing_after_it_is_an_answer_of_nothing() -> None:
    """When the line stays quiet after a bare acknowledgement, there was no more to say."""
    talk = Talk(M412=b"ok\n")

    done = await talk.session.exchange(RUNOUT_CONTROL)

    assert End.ACKNOWLEDGED is done.end
    assert ("ok",) == done.lines


async def test_a_restart_in_mid_conversation_breaks_it() -> None:
    """A boot banner between question and answer is raised, not waited out."""
    talk = Talk(M119=b"start\necho: External Reset\n")

    with pytest.raises(ConversationBroken) as broken:
        await talk.session.exchange(SWITCHES)

    assert Interruption.BOARD_RESTARTED is broken.value.interruption


async def test_a_restart_is_heard_while_nothing_is_asked() -> None:
    """Listening raises for a banner as asking does."""
    talk = Talk()
    await talk.session.exchange(SWITCHES)
    talk.link.say(b"start\n")

    with pytest.raises(ConversationBroken):
        await talk.session.listen(1.0)


async def test_what_comes_unasked_is_told() -> None:
    """Autoreports and actions between questions are asides, in order."""
    talk = Talk()
    await talk.session.exchange(SWITCHES)
    talk.link.say(b" T:21.0 /0.0 B:20.5 /0.0\n//action:notification Ready\n")

    await talk.session.listen(0.1)

    assert [" T:21.0 /0.0 B:20.5 /0.0", "//action:notification Ready"] == talk.asides


async def test_a_lost_link_is_raised() -> None:
    """The pipe's own error comes through unchanged."""
    talk = Talk()
    talk.link.lose()

    with pytest.raises(LinkLost):
        await talk.session.exchange(SWITCHES)


async def test_a_line_that_proves_poor_gets_numbers_and_checksums() -> None:
    """After three swallowed questions every line carries its number and checksum."""
    talk = Talk(M119=[None, None, None, STATES], M114=b"X:0.00 Y:0.00 Z:0.00 E:0.00\nok\n")

    await talk.session.exchange(SWITCHES)
    await talk.session.exchange(POSITION)

    assert talk.session.numbered
    # XOR of the bytes before the asterisk, worked out by hand from the ASCII table: "N0 M110 N0" gives 125
    assert "N0 M110 N0*125" in talk.link.sent
    assert talk.link.sent[-1].startswith("N")
    assert "*" in talk.link.sent[-1]


async def test_polls_keep_their_beat() -> None:
    """Ten polls a second are a tenth of a second apart, however quick the answers are."""
    talk = Talk()
    moments = []
    async with aclosing(talk.session.poll(SWITCHES, 0.1, 1.0)) as polls:
        async for done in polls:
            moments.append(round(done.sent_s, 3))
            if len(moments) == 4:
                break

    assert [0.0, 0.1, 0.2, 0.3] == moments


async def test_without_a_beat_one_query_is_queued_ahead_and_drained() -> None:
    """A poll without pauses has two queries on the way, and hears the last answer before anything else is asked."""
    talk = Talk()
    count = 0
    async with aclosing(talk.session.poll(SWITCHES, 0.0, 1.0)) as polls:
        async for done in polls:
            assert End.ACKNOWLEDGED is done.end
            count += 1
            if count == 5:
                break
    done = await talk.session.exchange(IDENTITY)

    assert ["M119"] * 7 + ["M115"] == talk.link.sent
    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in done.lines


async def test_the_speed_is_searched_on_the_open_port() -> None:
    """The port is opened once and its speed changed until the answer is clean."""
    clock = FakeClock()
    link: FakeLink

    def answer(line: str) -> bytes | None:
        return WHO if link.speeds[-1] == 250000 else bytes([0xF8, 0x80, 0x00, 0xC3]) * 6

    link = FakeLink(answer, clock)
    session = Session(link, clock, on_traffic=lambda _part: None)

    await connect(session, (115200, 250000))

    assert 1 == link.opened
    assert 250000 == session.speed_baud


async def test_a_board_that_restarts_when_opened_is_given_time() -> None:
    """A banner after opening is heard out, and the first speed is still the one that is found."""
    talk = Talk()
    talk.link.say(b"start\necho: External Reset\necho:ExampleFW 102.1.2\n", after_s=1.5)

    found = await connect(talk.session, (115200, 250000))

    assert 115200 == talk.session.speed_baud
    assert End.ACKNOWLEDGED is found.end


async def test_a_port_without_a_printer_is_said_to_be_one() -> None:
    """When no speed brings an answer the error names the speeds tried and what to do."""
    talk = Talk(M115=None, M114=None, M105=None)

    with pytest.raises(SpeedNotFound) as missing:
        await connect(talk.session, (115200, 250000))

    assert (
        "The port fake opened, but nothing on it answered like a printer at 115200, 250000 baud: not one byte came. "
        "Check that the printer is switched on and that this is its port (`commission ports`), that no other program "
        "is talking to it, and name its speed with --speed if it is an unusual one. A host computer that heats, homes "
        "or runs a macro answers nothing before it is through: look whether the printer is at work, let it end, and "
        "start again."
    ) == str(missing.value)


SPOILT = b'echo:Unknown command: "echo:M115"\nok\n'


@pytest.mark.parametrize("spoilt", [SPOILT, b"ok\n"], ids=["taken for another command", "taken for a comment"])
async def test_a_first_question_that_was_spoilt_is_asked_again(spoilt: bytes) -> None:
    """The rest of a line in the printer spoils what comes first; the answer that says who it is is the one kept."""
    talk = Talk(M115=[spoilt, WHO])

    found = await connect(talk.session, (115200, 250000))

    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in found.lines
    assert ["M115", "M115"] == talk.link.sent


async def test_a_printer_that_never_says_who_it_is_is_taken() -> None:
    """It answers in the printers' way, so the speed is right; it is asked three times and no more."""
    talk = Talk(M115=SPOILT)

    found = await connect(talk.session, (115200, 250000))

    assert 115200 == talk.session.speed_baud
    assert End.ACKNOWLEDGED is found.end
    assert ["M115"] * 3 == talk.link.sent
