"""How long is waited, and for what: quiet, an answer after its acknowledgement, an endless reply, a board at first."""

import pytest

from commission.dialect.commands import RUNOUT_CONTROL, SETTINGS, SWITCHES
from commission.dialect.conversation import Interruption
from commission.session import ConversationBroken, End, SpeedNotFound, connect
from tests.session.test_session import STATES, WHO, Talk

SETTING = b"echo:  M92 X80.00\n"


async def test_a_second_of_silence_is_quiet() -> None:
    """With nothing said the wait for quiet takes one second."""
    talk = Talk()

    assert () == await talk.session.wait_for_quiet()
    assert pytest.approx(1.0) == talk.clock.monotonic()


async def test_a_board_that_still_prints_is_heard_out() -> None:
    """Each line begins the second anew: quiet comes one second after the last."""
    talk = Talk()
    for number in range(6):
        talk.link.say(SETTING, after_s=0.9 * number)

    assert 6 == len(await talk.session.wait_for_quiet())
    assert pytest.approx(0.9 * 5 + 1.0) == talk.clock.monotonic()


@pytest.mark.parametrize("line", [b"echo:busy: processing\n", b"wait\n", b" T:20.1 /0.0 B:20.0 /0.0 @:0 B@:0\n", b"\n"])
async def test_what_a_printer_says_by_itself_is_quiet_too(line: bytes) -> None:
    """Keepalives, reports by themselves and blank lines do not put off the quiet."""
    talk = Talk()
    for number in range(6):
        talk.link.say(line, after_s=0.3 * number)

    assert 4 == len(await talk.session.wait_for_quiet())
    assert pytest.approx(1.0) == talk.clock.monotonic()


async def test_quiet_is_waited_for_ten_seconds_at_most() -> None:
    """A board that never falls silent is spoken to after ten seconds."""
    talk = Talk()
    for number in range(40):
        talk.link.say(SETTING, after_s=0.5 * number)

    await talk.session.wait_for_quiet()

    assert pytest.approx(10.0) == talk.clock.monotonic()


async def test_a_bare_acknowledgement_is_believed_after_half_a_second() -> None:
    """Where an answer could still follow its acknowledgement it is waited for, and not as long as for an answer."""
    talk = Talk(M412=b"ok\n")

    await talk.session.exchange(RUNOUT_CONTROL, timeout_s=5.0)

    assert 0.5 <= talk.clock.monotonic() < 0.6


async def test_an_answer_that_comes_within_half_a_second_is_the_answer() -> None:
    """An answer three tenths of a second after its acknowledgement belongs to the question."""
    talk = Talk(M412=b"ok\n")
    talk.link.say(b"", after_s=0.0)
    talk.link.say(b"ok\n", after_s=0.01)
    talk.link.say(b"echo:Filament runout ON\n", after_s=0.3)
    talk.answers["M412"] = None

    done = await talk.session.exchange(RUNOUT_CONTROL, timeout_s=5.0)

    assert ("ok", "echo:Filament runout ON") == done.lines


async def test_a_reply_longer_than_any_report_has_no_end() -> None:
    """A flood of more than a quarter of a megabyte is given up, however fast it comes."""
    talk = Talk(M503=SETTING * 20_000)

    done = await talk.session.exchange(SETTINGS)

    assert End.ENDLESS is done.end
    assert talk.clock.monotonic() < 1.0


async def test_the_likeliest_speed_is_tried_three_times_at_first() -> None:
    """A board that is deaf to the first two questions, whatever they are, is found at the first speed."""
    talk = Talk(M115=[None, WHO], M114=None, M105=b"ok T:20.1 /0.0 B:20.0 /0.0 @:0 B@:0\n")

    await connect(talk.session, (115200, 250000))

    assert ["M115", "M114", "M105", "M115"] == talk.link.sent
    assert {115200} == set(talk.link.speeds)
    assert 115200 == talk.session.speed_baud


async def test_every_speed_is_tried_twice_before_it_is_given_up() -> None:
    """The round goes twice through the speeds, so that a board that was slow to come up is met in the second."""
    talk = Talk(M115=None, M114=None, M105=None)

    with pytest.raises(SpeedNotFound):
        await connect(talk.session, (115200, 250000))

    assert [115200, 115200, 250000, 115200, 250000] == talk.link.speeds


async def test_a_printer_that_halts_while_it_is_heard_ends_the_listening() -> None:
    """Listening raises for a halt as asking does."""
    talk = Talk()
    talk.link.say(b"Error:Printer halted. kill() called!\n")

    with pytest.raises(ConversationBroken) as broken:
        await talk.session.listen(1.0)

    assert Interruption.HALTED is broken.value.interruption


async def test_questions_that_bring_the_answers_in_step_are_not_asked_for_ever() -> None:
    """A printer that only ever acknowledges leaves a swallowed question unanswered, and the talk begins anew."""
    talk = Talk(M119=[None, None, None, STATES], M115=b"ok\n", M114=b"ok\n", M105=b"ok\n")

    done = await talk.session.exchange(SWITCHES)
    later = await talk.session.exchange(SWITCHES)

    assert End.SILENT is done.end
    assert End.ACKNOWLEDGED is later.end
    assert talk.link.sent.count("M115") < 4


@pytest.mark.parametrize("line", [b"echo:busy: processing\n", b"echo:busy: paused for user\n"])
@pytest.mark.parametrize("longest_s", [600.0, 1800.0])
async def test_a_printer_that_is_busy_for_ever_is_given_up(line: bytes, longest_s: float) -> None:
    """However often it says that it is busy, the wait has a limit; meanwhile it is told how long it has been."""
    talk = Talk(M119=None)
    talk.session.longest_wait_s = longest_s
    waited: list[float] = []
    talk.session.on_busy = waited.append
    for beat in range(1, 2000):
        talk.link.say(line, after_s=2.0 * beat)

    done = await talk.session.exchange(SWITCHES, timeout_s=5.0)

    assert End.ENDLESS is done.end
    assert longest_s <= talk.clock.monotonic() <= longest_s + 5.0
    assert pytest.approx([2.0, 4.0, 6.0]) == waited[:3]
