"""Polls as fast as the wire allows: one query ahead or two, whatever the line does to the answers."""

import asyncio
from contextlib import aclosing
from itertools import pairwise

import pytest

from commission.dialect.answers import Acknowledging
from commission.dialect.commands import IDENTITY, SWITCHES
from commission.session import ConversationBroken, End, Exchange, Session
from commission.vocabulary import Slowed
from tests.support.fake_link import LINE_S, FakeLink
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


class FakeChoppedLink(FakePatientLink):
    """Gives one byte at a time."""

    async def receive(self, timeout_s: float) -> bytes:
        """The next byte within that time."""
        data = await super().receive(timeout_s)
        if len(data) > 1:
            self._coming.appendleft((self._clock.monotonic(), data[1:]))
        return data[:1]


QUICK_LINE_S = 0.003
"""An answer of 75 bytes at 250000 baud."""


class Line:
    """A session whose printer answers the n-th switch query by the n-th answer; the last one stays.

    Attributes:
        looks_s: when it looked at the switch for each, once as it comes and once as the answer before is out.
    """

    def __init__(
        self, *answers: bytes | None, line_s: float = LINE_S, link: type[FakePatientLink] = FakePatientLink
    ) -> None:
        self.clock = FakeClock()
        self.link = link(self._answer, self.clock, line_s=line_s)
        self.looks_s: list[tuple[float, float]] = []
        self.session = Session(self.link, self.clock, on_traffic=lambda _part: None)
        self._answers = list(answers)

    def _answer(self, line: str) -> bytes | None:
        if "M115" in line:
            return WHO
        now_s = self.clock.monotonic()
        self.looks_s.append((now_s, max(now_s, self.link._free_s)))
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


async def broken_off(line: Line) -> list[Exchange]:
    """What was brought until a restart broke the questions off."""
    done = []

    async def poll() -> None:
        async with aclosing(line.session.poll(SWITCHES, 0.0, 1.0)) as polls:
            async for exchange in polls:
                done.append(exchange)

    with pytest.raises(ConversationBroken):
        await poll()
    return done


async def test_a_banner_between_two_answers_breaks_off() -> None:
    """A restart is raised at once, and the answers before it were brought."""
    line = Line(None, IN + b"start\n" + IN)
    done = await broken_off(line)

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


# --- two ahead --------------------------------------------------------------------------------------------------


async def on_the_way(line: Line, count: int, stumble_at: int = 0) -> list[int]:
    """How many questions were sent and not answered after each of so many polls; after one of them comes a stumble."""
    open_ones: list[int] = []
    async with aclosing(line.session.poll(SWITCHES, 0.0, 1.0)) as polls:
        async for _ in polls:
            open_ones.append(len(line.link.sent) - len(open_ones) - 1)
            line.clock.elapsed_s += 0.05 if len(open_ones) == stumble_at else 0.0
            if len(open_ones) == count:
                break
    return open_ones


@pytest.mark.parametrize(("line_s", "most"), [(QUICK_LINE_S, 3), (LINE_S, 2), (0.09, 2)])
async def test_quick_answers_have_two_ahead(line_s: float, most: int) -> None:
    """Where answers come closer together than 5 ms three questions are on the way, elsewhere two."""
    assert most == max(await on_the_way(Line(IN, line_s=line_s), 40))


async def test_one_stumble_takes_no_question_back() -> None:
    """A quick printer that is late once, or a program that was, is still asked two ahead."""
    assert [3] * 20 == (await on_the_way(Line(IN, line_s=QUICK_LINE_S), 40, stumble_at=20))[20:]


@pytest.mark.parametrize("link", [FakePatientLink, FakeChoppedLink])
@pytest.mark.parametrize("tail", [b"", b"echo:a note\n"])
async def test_three_answers_in_one_read_are_three(link: type[FakePatientLink], tail: bytes) -> None:
    """Answers that come together, whole or byte by byte and with a tail, are taken in order; asking goes on."""
    quick = [IN] * 20
    line = Line(*quick, None, None, IN + OUT + OUT + tail, IN, line_s=QUICK_LINE_S, link=link)

    done = await line.polled(26)
    after = await line.session.exchange(IDENTITY)

    assert [*["TRIGGERED"] * 21, "open", "open", *["TRIGGERED"] * 3] == words(done)
    assert {End.ACKNOWLEDGED} == {each.end for each in done}
    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in after.lines


async def test_answers_of_one_read_came_at_one_moment() -> None:
    """A reading's time is when its bytes came, not when somebody came to look at it."""
    line = Line(*[IN] * 20, None, None, IN + OUT + OUT, IN, line_s=QUICK_LINE_S)
    ended_s = []
    async with aclosing(line.session.poll(SWITCHES, 0.0, 1.0)) as polls:
        async for done in polls:
            ended_s.append(done.ended_s)
            line.clock.elapsed_s += 0.001  # so long the caller takes over each
            if len(ended_s) == 23:
                break

    assert 1 == len({round(each, 6) for each in ended_s[20:23]})


@pytest.mark.parametrize("lost", [1, 2])
async def test_lost_answers_slide_onto_nothing(lost: int) -> None:
    """With three on the way one or two lost answers are missed at the end alone; no other question gets one of them."""
    line = Line(*[IN] * 20, *[None] * lost, OUT, IN, line_s=QUICK_LINE_S)

    done = await line.polled(26)
    after = await line.session.exchange(IDENTITY)

    assert [*["TRIGGERED"] * 20, "open", *["TRIGGERED"] * 5] == words(done)
    assert "FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1" in after.lines


async def test_three_lost_answers_end_asking_ahead() -> None:
    """All three count as unread, at moments that follow one another; what comes after them is asked in step."""
    line = Line(*[IN] * 20, None, None, None, IN, line_s=QUICK_LINE_S)

    done = await line.polled(27)

    assert [*["TRIGGERED"] * 20, *[End.SILENT.value] * 3, *["TRIGGERED"] * 4] == words(done)
    assert sorted(each.ended_s for each in done) == [each.ended_s for each in done]
    assert Slowed.LOST is line.session.slowed
    assert [0.1, 0.1] == [round(after.sent_s - before.sent_s, 3) for before, after in pairwise(done[-3:])]


async def test_a_restart_behind_three_questions_breaks_off() -> None:
    """What was asked of the life before is never taken for an answer of the new one."""
    line = Line(*[IN] * 20, None, None, IN + b"start\n" + OUT + OUT, IN, line_s=QUICK_LINE_S)
    done = await broken_off(line)

    assert ["TRIGGERED"] * 21 == words(done)


@pytest.mark.parametrize("looking", [0, 1])
async def test_gaps_are_those_between_two_looks(looking: int) -> None:
    """What a glitch of any length slips through is as much between two answers as between two looks at the switch.

    A printer may look when a question comes, or when the answer before it is out. The program comes late now and then.
    """
    line = Line(IN, line_s=QUICK_LINE_S)
    ended_s = []
    async with aclosing(line.session.poll(SWITCHES, 0.0, 1.0)) as polls:
        async for done in polls:
            ended_s.append(done.ended_s)
            line.clock.elapsed_s += 0.03 if len(ended_s) % 50 == 0 else 0.0
            if len(ended_s) == 500:
                break
    looks_s = [each[looking] for each in line.looks_s][: len(ended_s)]

    for glitch_s in (0.001, 0.002, 0.003, 0.005, 0.01, 0.02):
        told, true = (unseen_s(moments_s, glitch_s) for moments_s in (ended_s, looks_s))
        assert true <= told + 2 * QUICK_LINE_S


def unseen_s(moments_s: list[float], glitch_s: float) -> float:
    """For so long altogether a glitch of that length could begin and not be seen."""
    return sum(max(0.0, after - before - glitch_s) for before, after in pairwise(moments_s))
