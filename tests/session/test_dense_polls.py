"""Polls as fast as the wire allows: one query ahead, whatever the line does to the answers."""

import asyncio
from contextlib import aclosing
from itertools import pairwise

import pytest

from commission.dialect.answers import Acknowledging
from commission.dialect.commands import IDENTITY, SWITCHES
from commission.session import ConversationBroken, End, Exchange, Session
from commission.vocabulary import Slowed
from tests.support.fake_link import FakeLink
from tests.support.fake_time import FakeClock

WHO = b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\nCap:RUNOUT:1\nok\n"
IN = b"Reporting endstop status\nx_min: open\nfilament: TRIGGERED\nok\n"
OUT = IN.replace(b"TRIGGERED", b"open")


class FakePatientLink(FakeLink):
    """Gives everybody else a turn before it answers, as a wire does."""

    async def receive(self, timeout_s: float) -> bytes:
        """What comes within that time."""
        await asyncio.sleep(0)
        return await super().receive(timeout_s)


class Line:
    """A session whose printer answers the n-th switch query by the n-th answer; the last one stays."""

    def __init__(self, *answers: bytes | None) -> None:
        self.clock = FakeClock()
        self.link = FakePatientLink(self._answer, self.clock)
        self.session = Session(self.link, self.clock, on_traffic=lambda _part: None)
        self._answers = list(answers)

    def _answer(self, line: str) -> bytes | None:
        if "M115" in line:
            return WHO
        return self._answers.pop(0) if len(self._answers) > 1 else self._answers[0]

    async def polled(self, count: int) -> list[Exchange]:
        """So many polls, and the end of them."""
        done = []
        async with aclosing(self.session.poll(SWITCHES, 0.0, 1.0)) as polls:
            async for exchange in polls:
                done.append(exchange)
                if len(done) == count:
                    break
        return done


def words(done: list[Exchange]) -> list[str]:
    """The switch's word in each answer; how it ended where there is none."""
    return [
        next((line.removeprefix("filament: ") for line in each.lines if line.startswith("filament")), each.end.value)
        for each in done
    ]


async def test_two_answers_in_one_read_are_two() -> None:
    """Answers that come together are taken one after the other, and asking goes on."""
    line = Line(None, IN + OUT, None, OUT + IN, IN)

    done = await line.polled(6)

    assert ["TRIGGERED", "open", "open", "TRIGGERED", "TRIGGERED", "TRIGGERED"] == words(done)
    assert {End.ACKNOWLEDGED} == {each.end for each in done}


async def test_the_next_question_gets_its_own_answer() -> None:
    """Polls that end between two answers of one read leave nothing behind for another question."""
    line = Line(None, IN + OUT, IN)

    await line.polled(1)
    done = await line.session.exchange(IDENTITY)

    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in done.lines
    assert not done.asides


async def test_one_lost_answer_slides_onto_nothing() -> None:
    """The same question is on its way twice: the next answer is taken for it, and only the last one is missed."""
    line = Line(IN, None, OUT, IN)

    done = await line.polled(6)
    after = await line.session.exchange(IDENTITY)

    assert ["TRIGGERED", "open", *["TRIGGERED"] * 4] == words(done)
    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in after.lines


async def test_two_lost_answers_end_asking_ahead() -> None:
    """Both queries count as unread; what comes after them is asked in step, ten times a second."""
    line = Line(IN, None, None, IN)

    done = await line.polled(7)

    assert ["TRIGGERED", End.SILENT.value, End.SILENT.value, *["TRIGGERED"] * 4] == words(done)
    sent_s = [each.sent_s for each in done[-3:]]
    assert [0.1, 0.1] == [round(after - before, 3) for before, after in pairwise(sent_s)]


async def test_a_garbled_line_ends_asking_ahead() -> None:
    """With two on the way a line error drops both; each counts as unread, and asking goes on in step."""
    line = Line(IN, b"Error:checksum mismatch, Last Line: 0\n", IN)

    done = await line.polled(8)

    assert {"TRIGGERED", End.SILENT.value} == set(words(done))
    assert ["TRIGGERED"] * 3 == words(done)[-3:]


async def test_a_line_behind_the_last_answer_ends_nothing() -> None:
    """What came in one read with the end of an answer is sorted before it is asked as fast as the wire allows."""
    line = Line(IN + b"echo:a note\n", IN, OUT)

    await line.session.exchange(SWITCHES)
    done = await line.polled(4)

    assert ["TRIGGERED", "open", "open", "open"] == words(done)


BUSY, ERROR, RESEND = b"echo:busy: processing\n", b"Error:checksum mismatch, Last Line: 0\n", b"Resend: 1\n"
AFTER_OK = b"ok 0\nendstops hit: x_max:L y_max:L\n"


@pytest.mark.parametrize(
    ("answers", "why"),
    [
        ((IN, OUT), None),
        ((IN, None, OUT, IN), None),
        ((IN, None, None, IN), Slowed.LOST),
        ((BUSY + IN, IN), Slowed.BUSY),
        ((IN, ERROR, IN), Slowed.ERROR),
        ((IN, RESEND, IN), Slowed.RESEND),
        ((AFTER_OK, AFTER_OK), Slowed.AFTERWARDS),
    ],
)
async def test_what_ends_asking_ahead_is_told(answers: tuple[bytes | None, ...], why: Slowed | None) -> None:
    """One lost answer ends nothing; anything else is told by what ended it first."""
    line = Line(*answers)

    await line.polled(8)

    assert why is line.session.slowed


async def test_silence_as_an_end_is_told() -> None:
    """Where only silence ends some answers, nothing is asked ahead, and that is the reason."""
    line = Line(IN)
    line.session.acknowledging = Acknowledging.EMPTY_LINE
    await line.session.wait_for_quiet()

    await line.polled(2)

    assert Slowed.SILENCE is line.session.slowed


async def test_a_poll_on_a_beat_forgets_the_reason() -> None:
    """The reason is that of the newest poll; one that was not to be fast has none."""
    line = Line(IN, None, None, IN)
    await line.polled(5)

    async with aclosing(line.session.poll(SWITCHES, 0.1, 1.0)) as polls:
        await anext(polls)

    assert None is line.session.slowed


async def test_a_banner_between_two_answers_breaks_off() -> None:
    """A restart is raised at once, and the answers before it were brought."""
    line = Line(None, IN + b"start\n" + IN)
    done = []

    async def poll() -> None:
        async with aclosing(line.session.poll(SWITCHES, 0.0, 1.0)) as polls:
            async for exchange in polls:
                done.append(exchange)

    with pytest.raises(ConversationBroken):
        await poll()

    assert ["TRIGGERED"] == words(done)


async def test_a_stop_leaves_the_line_in_step() -> None:
    """Polls that are cancelled in the middle of a wait hear their answers out before anything else is asked."""
    line = Line(IN)
    polling = asyncio.ensure_future(line.polled(1_000_000))
    for _ in range(50):
        await asyncio.sleep(0)
    polling.cancel()
    with pytest.raises(asyncio.CancelledError):
        await polling
    done = await line.session.exchange(IDENTITY)

    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in done.lines
    assert not [reply for reply in done.asides if "filament" in reply.text]


async def test_a_busy_printer_is_asked_ten_times_a_second() -> None:
    """While it says that it is busy nothing goes out ahead of an answer; afterwards the queries follow the beat."""
    line = Line(b"echo:busy: processing\n" + IN)

    done = await line.polled(5)

    sent_s = [round(each.sent_s, 3) for each in done]
    assert ["TRIGGERED"] * 5 == words(done)
    assert [0.1, 0.1] == [round(after - before, 3) for before, after in pairwise(sent_s[2:])]


async def test_a_slow_printer_is_not_asked_ahead() -> None:
    """Where an answer takes longer than the beat, asking ahead would only fill the printer's queue."""
    line = Line(None)
    for beat in range(1, 7):
        line.link.say(IN, after_s=0.4 * beat)

    done = await line.polled(5)

    assert ["TRIGGERED"] * 5 == words(done)
    assert 5 == len(line.link.sent)
    assert Slowed.LATE is line.session.slowed


async def test_a_word_heard_before_belongs_to_the_first() -> None:
    """What came in one read behind an earlier answer stands beside the first poll; asking ahead begins all the same."""
    line = Line(IN + b"echo:SD init fail\n", OUT, IN)

    await line.session.exchange(SWITCHES)
    done = await line.polled(2)

    assert ["open", "TRIGGERED"] == words(done)
    assert ["echo:SD init fail"] == [each.text for each in done[0].asides]
