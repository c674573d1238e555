"""A printer that waits for a person: its question is left open, and urgent words still go out."""

import pytest

from commission.dialect.commands import CONTINUE, SWITCHES
from commission.dialect.conversation import OutOfTurn
from commission.dialect.replies import Reply, ReplyKind
from commission.session import End, connect
from commission.session.exchange import PrinterWaits
from tests.session.test_session import Talk

WAITS = b"echo:busy: paused for user\n"


def waits(reply: Reply) -> bool:
    """Whether a line says that a person must act."""
    return reply.kind is ReplyKind.PAUSED_FOR_USER


async def test_an_exchange_is_left_open_when_a_person_must_act() -> None:
    """The keepalive of a waiting printer does not extend the question for ever: it is left, with what was heard."""
    talk = Talk(M119=[WAITS])

    done = await talk.session.unless_waiting(SWITCHES, 5.0, waits)

    assert End.LEFT is done.end
    assert ["echo:busy: paused for user"] == [reply.text for reply in done.asides]


async def test_without_that_a_waiting_printer_is_waited_for() -> None:
    """A plain exchange ends in silence once even the keepalives have stopped."""
    talk = Talk(M119=[WAITS, None])

    assert End.SILENT is (await talk.session.once(SWITCHES, 5.0)).end


async def test_a_rule_for_all_exchanges_leaves_them_too() -> None:
    """Set once for the session, the rule holds for every question."""
    talk = Talk(M119=[WAITS])
    talk.session.waits = waits

    assert End.LEFT is (await talk.session.exchange(SWITCHES)).end


async def test_an_urgent_word_goes_out_whoevers_turn_it_is() -> None:
    """After a question was left open the word that goes on is sent, and nothing is awaited."""
    talk = Talk(M119=[WAITS], M108=None)
    await talk.session.unless_waiting(SWITCHES, 5.0, waits)

    await talk.session.interject(CONTINUE)

    assert ["M119", "M108"] == talk.link.sent


async def test_what_is_not_urgent_is_not_pushed_in() -> None:
    """A question is no urgent word: it waits for its turn."""
    talk = Talk()

    with pytest.raises(OutOfTurn, match="not urgent"):
        await talk.session.interject(SWITCHES)


async def test_after_the_wait_another_question_shows_that_the_answers_fit() -> None:
    """The late acknowledgement is heard as an aside; a different question is asked before the same one again."""
    talk = Talk(M119=[WAITS, b"Reporting endstop status\nfilament: open\nok\n"])
    await talk.session.unless_waiting(SWITCHES, 5.0, waits)
    talk.link.say(b"ok\n")
    await talk.session.listen(0.1)

    done = await talk.session.unless_waiting(SWITCHES, 5.0, waits)

    assert "filament: open" in done.lines
    assert ["M119", "M115", "M119"] == talk.link.sent


async def test_the_question_asked_first_is_left_as_well() -> None:
    """Where a printer waits again, the question that would bring the answers in step is not waited for either."""
    talk = Talk(M119=[WAITS], M115=[WAITS])
    await talk.session.unless_waiting(SWITCHES, 5.0, waits)

    done = await talk.session.unless_waiting(SWITCHES, 5.0, waits)

    assert (End.LEFT, "M115") == (done.end, done.command.text)
    assert ["M119", "M115"] == talk.link.sent


async def test_a_waiting_printer_is_said_to_wait_when_the_port_is_opened() -> None:
    """After a killed run it still waits: that is said, with what to do, and not that it is no printer."""
    talk = Talk(M115=[WAITS])

    with pytest.raises(PrinterWaits) as waiting:
        await connect(talk.session, (115200, 250000))

    assert (
        "The printer on fake waits for a person and answers no question before (it says 'echo:busy: paused for user'). "
        "Go to it: answer what its display asks, or press its button, until it goes on. Then start again."
    ) == str(waiting.value)
    assert {115200} == set(talk.link.speeds)


async def test_a_printer_that_has_just_gone_on_is_connected_to() -> None:
    """One last word that it waits, and then the answer: somebody was there, and the talk begins."""
    talk = Talk(M115=[WAITS, b"FIRMWARE_NAME:ExampleFW 102.1.2\nok\n"])

    done = await connect(talk.session, (115200,))

    assert End.ACKNOWLEDGED is done.end
    assert not talk.session.waits(Reply(ReplyKind.PAUSED_FOR_USER, WAITS, "echo:busy: paused for user"))
