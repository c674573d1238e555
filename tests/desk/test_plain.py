"""The desk of whole lines, at a real pseudo-terminal."""

import asyncio
import io
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace

import pytest

from commission.asking.message import Tell
from commission.desk.base import DeskError, Mark, OperatorStop, Status
from commission.desk.narrator import CHANGES_SAID, STEADY_AFTER
from commission.desk.plain import PlainDesk
from commission.vocabulary import Reading
from tests.desk.fakes import FakeOut, until
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    DWELLING,
    INSERT,
    INSERTED,
    LENGTH,
    READY,
    ROUTE,
    TAKEN,
    UNPLUG,
    WATCHED,
    WIGGLE,
)

pty = pytest.importorskip("pty", reason="pseudo-terminals exist on POSIX only")
tty = pytest.importorskip("tty")


class Place:
    """A plain desk, what it has printed, and the far end of its keyboard."""

    def __init__(self, desk: PlainDesk, out: FakeOut, keyboard: int) -> None:
        self.desk = desk
        self.out = out
        self.keyboard = keyboard

    def types(self, text: str) -> None:
        """Press keys."""
        os.write(self.keyboard, text.encode())

    async def hears(self, text: str) -> None:
        """Return once the text has been printed."""
        await until(lambda: text in self.out.getvalue())


@asynccontextmanager
async def place(*, bell: bool = False) -> AsyncIterator[Place]:
    """An open desk at a pseudo-terminal."""
    keyboard, terminal = pty.openpty()
    out = FakeOut()
    with os.fdopen(terminal, encoding="utf-8") as typed:
        desk = PlainDesk(typed, out, bell=bell)
        await desk.open()
        try:
            yield Place(desk, out, keyboard)
        finally:
            await desk.close()
            os.close(keyboard)


async def test_whole_conversation() -> None:
    """Every request, change and refusal begins a line, in whole words at 80 columns, and nothing is redrawn."""
    async with place() as at:
        await at.desk.tell(CAUTION)
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.hears("Type yes or no")
        at.desk.show(Status(Reading.INACTIVE, "open"))
        at.types("perhaps\n")
        await at.hears("n for no")
        at.types("y\n")
        assert await asking
        choosing = asyncio.create_task(at.desk.choose(ROUTE))
        await at.hears("Type the number or word")
        at.types("2\n")
        assert "NC" == await choosing
        entering = asyncio.create_task(at.desk.enter(LENGTH))
        await at.hears("Type it")
        at.types("412\n")
        assert "412" == await entering
        await at.desk.begin_trial(INSERT)
        at.types("n\n")
        for status in (COUNTING, INSERTED, DWELLING):
            at.desk.show(status)
        await until_marks(at, (Mark.NOTHING_CHANGED,))
        await at.desk.end_trial(INSERT, TAKEN)
        await at.desk.begin_watch(WIGGLE)
        await at.desk.end_watch(WIGGLE, WATCHED)

    assert """\
CAUTION: Hot nozzle
It stays hot for minutes.
Look at bench-3.
Is the filament out of the sensor?
Type yes or no, then Enter.

Reading: inactive (open).
Type y for yes or n for no, then Enter.
Which contact is wired?
  1. normally open
  2. normally closed: opens when the filament goes in
Type the number or word of your answer, then Enter.
Length from sensor to drive gear (mm, from 0 to 2000)
Type it, then Enter.
Type v when a trial was spoilt, n when you did it and nothing changed, p to be
waited for, q to stop; then Enter.
Prompt 1 of 27, cycle 1: INSERT THE FILAMENT.
The readings begin in 5.0 s.
Reading: inactive (open).
Reading: active (TRIGGERED).
Keep still: 3 readings over 2.0 s.
Noted: I did it and nothing changed.
Prompt 1, insert: 3 readings, all active (TRIGGERED).
Type q to stop, then Enter.
Wiggle the cable
Move it at both plugs.
Watching for 1.0 min and at least 600 readings, at most 2.0 min. Filament in.
Wiggle the cable: 3 readings, 2 active (TRIGGERED) and 1 inactive (open) in 2.0
s, 2 changes, largest gap 1.0 s. 1 query brought no reading. Watched: 0 ms.
""" == at.out.getvalue()


async def test_a_watch_takes_no_marks() -> None:
    """What is typed in a watch is answered with what may be typed there, and noted nowhere."""
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        at.types("v\n")
        for _ in range(800):
            assert () == await at.desk.take_marks()
            if 2 == at.out.getvalue().count("Type q to stop, then Enter."):
                break
            await asyncio.sleep(0.005)

    assert 2 == at.out.getvalue().count("Type q to stop, then Enter.")
    assert "Noted" not in at.out.getvalue()


async def until_marks(at: Place, wanted: tuple[Mark, ...]) -> None:
    """Ask for marks until there are some; they are the wanted ones."""
    marks: tuple[Mark, ...] = ()
    for _ in range(800):
        marks = await at.desk.take_marks()
        if marks:
            break
        await asyncio.sleep(0.005)
    assert wanted == marks


@pytest.mark.parametrize(
    ("typed", "mark"), [("v", Mark.SPOILT), ("N", Mark.NOTHING_CHANGED), (" p ", Mark.PAUSE), ("", Mark.PAUSE)]
)
async def test_marks(typed: str, mark: Mark) -> None:
    """A letter and Enter is a mark, Enter alone means wait for me, and what was heard is said."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        at.types(f"{typed}\n")

        await until_marks(at, (mark,))
        await at.hears(f"Noted: {mark.value}.")


async def test_a_watch_of_hands_says_the_keys_of_a_trial() -> None:
    """Where it is done by hand, the keys of a trial are said and heard."""
    async with place() as at:
        await at.desk.begin_watch(replace(WIGGLE, marks=True))
        await at.hears("Type v when a trial was spoilt")
        at.types("v\n")

        await until_marks(at, (Mark.SPOILT,))


async def test_unknown_key_in_a_trial() -> None:
    """Another letter is no mark; the keys are said again."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        at.types("x\nv\n")

        await until_marks(at, (Mark.SPOILT,))
        assert 2 == at.out.getvalue().count("Type v when a trial was spoilt")


async def test_stop_key_in_a_trial() -> None:
    """The stop key ends a trial once; the next question can be answered."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        at.types("q\n")
        await until(lambda: at.desk._lines._lines.qsize() > 0)

        with pytest.raises(OperatorStop, match="stop key"):
            await at.desk.take_marks()
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.hears("Type yes or no")
        at.types("no\n")
        assert not await asking


async def test_hold_point() -> None:
    """A hold point is released by a yes; anything else shows the steps again."""
    async with place() as at:
        holding = asyncio.create_task(at.desk.hold(UNPLUG))
        await at.hears("to release")
        at.types("\n")
        await until(lambda: at.out.getvalue().count("1. Switch off and pull the mains plug.") == 2)
        assert not holding.done()
        at.types("yes\n")
        await holding


async def test_typed_ahead() -> None:
    """What was typed before a question was shown does not answer it."""
    async with place() as at:
        at.types("y\ny")
        await until(lambda: at.desk._lines._lines.qsize() > 0)
        holding = asyncio.create_task(at.desk.hold(UNPLUG))
        await at.hears("to release")
        for _ in range(5):
            await asyncio.sleep(0.002)

        assert not holding.done()
        assert 1 == at.out.getvalue().count("HOLD POINT")
        holding.cancel()


async def test_end_of_input() -> None:
    """Ctrl-D on an empty line is a stop, at a question and for every later one."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.hears("Type yes or no")
        at.types("\x04")

        with pytest.raises(OperatorStop, match="the input has ended"):
            await asking
        with pytest.raises(OperatorStop, match="the input has ended"):
            await at.desk.hold(UNPLUG)


async def test_cancelled_question() -> None:
    """A question cancelled from outside leaves the desk ready for the next."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.hears("Type yes or no")
        asking.cancel()
        with pytest.raises(asyncio.CancelledError):
            await asking
        choosing = asyncio.create_task(at.desk.choose(ROUTE))
        await at.hears("Type the number or word")
        at.types("NO\n")

        assert "NO" == await choosing


async def test_bell() -> None:
    """The bell sounds at the prompt and at the end of the dwell, if it may."""
    async with place(bell=True) as at:
        await at.desk.begin_trial(INSERT)
        await at.desk.end_trial(INSERT, TAKEN)

    assert 2 == at.out.getvalue().count("\a")
    async with place(bell=False) as at:
        await at.desk.begin_trial(INSERT)
        await at.desk.end_trial(INSERT, TAKEN)
    assert 0 == at.out.getvalue().count("\a")


async def test_noisy_reading() -> None:
    """A reading that keeps changing is said a few times, then counted, and said again once it is steady.

    The last two lines are what the watch saw.
    """
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        for turn in range(20):
            at.desk.show(Status(Reading.ACTIVE if turn % 2 else Reading.INACTIVE))
        for _ in range(STEADY_AFTER):
            at.desk.show(Status(Reading.ACTIVE))
        at.desk.show(Status(Reading.INACTIVE))
        await at.desk.end_watch(WIGGLE, WATCHED)

    said = at.out.getvalue().split("Filament in.\n")[1].splitlines()
    assert [
        *["Reading: inactive.", "Reading: active."] * (CHANGES_SAID // 2),
        "The reading keeps changing; further changes are counted, not said.",
        "The reading is steady again: active.",
        "Reading: inactive.",
        f"{20 - CHANGES_SAID} changes of the reading not said.",
    ] == said[:-2]


async def test_note_is_said_once() -> None:
    """A note is said when it is new."""
    async with place() as at:
        for _ in range(3):
            at.desk.show(Status(note="looking for the printer"))

    assert "looking for the printer.\n" == at.out.getvalue()


async def test_finer_steps_of_a_note_are_not_said() -> None:
    """A line a step of the note; each degree in between is for a screen that can write a line anew."""
    async with place() as at:
        for celsius in (21, 22, 63, 64):
            note = f"heating to 200 °C; now above {celsius // 50 * 50} °C"
            at.desk.show(Status(note=note, live=f"heating to 200 °C; now {celsius} °C"))

    assert at.out.getvalue().splitlines() == [
        "heating to 200 °C; now above 0 °C.",
        "heating to 200 °C; now above 50 °C.",
    ]


async def test_lost_screen() -> None:
    """A screen that takes nothing any more drops what is printed and answers every question by a stop."""
    async with place() as at:
        at.out.lost = True

        await at.desk.tell(CAUTION)
        with pytest.raises(OperatorStop, match="the terminal is gone"):
            await at.desk.confirm(READY)


async def test_no_terminal() -> None:
    """Without a terminal nobody can answer, and the refusal says what to do."""
    with pytest.raises(DeskError, match=r"needs a terminal.* or give a script: --operator FILE"):
        await PlainDesk(io.StringIO(), io.StringIO(), bell=False).open()


async def test_poor_encoding() -> None:
    """What the terminal's encoding lacks is spelled out."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    desk = PlainDesk(io.StringIO(), out, bell=False)

    await desk.tell(CAUTION.__class__(("4 Ω",)))

    assert isinstance(out.buffer, io.BytesIO)
    assert b"4 \\u03a9\n" == out.buffer.getvalue()


async def test_a_picture_is_said_in_its_sentence() -> None:
    """Where sentences are read aloud no lines are drawn: what stands for the picture is said instead."""
    async with place() as at:
        await at.desk.tell(Tell(("o----+", "     |"), heading="As you declared it", spoken=("Signal goes to ground.",)))

        await at.hears("Signal goes to ground.")
        assert "o----+" not in at.out.getvalue()


async def test_where_the_run_is_said_once_a_minute() -> None:
    """It comes before what is to be done, and only where it differs from what was said last."""
    left = ["Step 4 of 9, about 7 min left"]
    async with place() as at:
        at.desk.follow(lambda: left[0])
        await at.desk.tell(Tell((), heading="Loop check", where=left[0]))
        await at.desk.begin_trial(INSERT)
        await at.desk.end_trial(INSERT, TAKEN)
        left[0] = "Step 4 of 9, about 6 min left"
        await at.desk.begin_trial(INSERT)
        await at.desk.end_trial(INSERT, TAKEN)
        await at.desk.begin_watch(WIGGLE)

    said = at.out.getvalue().splitlines()
    assert ["Step 4 of 9, about 7 min left", "Loop check"] == said[:2]
    assert 1 == said.count("Step 4 of 9, about 7 min left")
    assert 1 == said.count("Step 4 of 9, about 6 min left")
    assert said[said.index("Step 4 of 9, about 6 min left") + 1].startswith("Prompt 1 of 27, cycle 1: INSERT")
