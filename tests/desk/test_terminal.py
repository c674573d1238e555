"""The desk that draws, seen through a terminal emulator."""

import asyncio
import os
import signal
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from prompt_toolkit.input import PipeInput, create_pipe_input

from commission.desk.base import Mark, OperatorStop, Status
from commission.desk.terminal import TerminalDesk
from commission.vocabulary import Reading
from tests.desk.fakes import FakeTerminal, until
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    DWELLING,
    FINDING,
    INSERT,
    ITEM,
    LENGTH,
    READY,
    ROUTE,
    TAKEN,
    UNPLUG,
    WATCHED,
    WIGGLE,
    WITHDRAW,
)


class Place:
    """A desk with the terminal it stands at and the keys in front of it."""

    def __init__(self, desk: TerminalDesk, terminal: FakeTerminal, keys: PipeInput) -> None:
        self.desk = desk
        self.terminal = terminal
        self.keys = keys

    async def sees(self, text: str) -> None:
        """Return once the text is on the screen."""
        await until(lambda: text in self.terminal.screen)


@asynccontextmanager
async def place(*, bell: bool = True, columns: int = 80, rows: int = 24) -> AsyncIterator[Place]:
    """An open desk; closed afterwards."""
    with create_pipe_input() as keys:
        terminal = FakeTerminal(columns, rows)
        desk = TerminalDesk(bell=bell, typed=keys, drawn=terminal.output, out=terminal)
        await desk.open()
        try:
            yield Place(desk, terminal, keys)
        finally:
            await desk.close()


async def test_question_with_live_reading() -> None:
    """The live line stands below the answer being typed, and only the answer stays."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.desk.show(Status(Reading.INACTIVE, "open", note="the printer is busy"))
        at.keys.send_text("ye")
        await at.sees("busy")
        open_screen = at.terminal.screen
        at.keys.send_text("s\r")
        answer = await asking

        assert answer
        assert (
            """
Look at bench-3.
Is the filament out of the sensor?
y or n: ye
Reading: inactive (open)   the printer is busy"""
            == open_screen
        )
        assert (
            """
Look at bench-3.
Is the filament out of the sensor?
> yes"""
            == at.terminal.screen
        )


async def test_answers_that_do_not_fit() -> None:
    """What does not answer the question is shown with the reason, and asked again."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.enter(LENGTH))
        for typed, said in (("", "Something must be"), ("wide", "A number"), ("3000", "at most 2000 mm"), ("12,5", "")):
            await at.sees("mm:")
            at.keys.send_text(f"{typed}\r")
            await at.sees(said)

        assert "12.5" == await asking
        assert (
            """
Length from sensor to drive gear (mm, from 0 to 2000)
>
Something must be entered here.
> wide
A number is needed, such as 12.5 (in mm).
> 3000
It must be at most 2000 mm; 3000 is too large.
> 12,5"""
            == at.terminal.screen
        )


async def test_choice() -> None:
    """An option is chosen by its number and returned as its key."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.choose(ROUTE))
        await at.sees("1, 2:")
        at.keys.send_text("2\r")

        assert "NC" == await asking
        assert (
            """
Which contact is wired?
  1. normally open
  2. normally closed: opens when the filament goes in
> 2"""
            == at.terminal.screen
        )


async def test_hold_point() -> None:
    """A hold point stands in a frame, cautions first, and is released by a yes alone."""
    async with place() as at:
        holding = asyncio.create_task(at.desk.hold(UNPLUG))
        await at.sees("y to release")
        first = at.terminal.screen
        at.keys.send_text("\r")
        await until(lambda: at.terminal.screen.count("Is the sensor unplugged?") == 2 and "y to" in at.terminal.screen)
        assert not holding.done()
        at.keys.send_text("y\r")
        await holding

    assert (
        """\
╭─────────────────────── HOLD POINT: Unplug the sensor ────────────────────────╮
│ CAUTION: The supply bay is for qualified persons.                            │
│ DANGER: the nozzle stays hot.                                                │
│                                                                              │
│ 1. Switch off and pull the mains plug.                                       │
│ 2. Pull the USB cable.                                                       │
│ 3. Unplug the sensor at the board.                                           │
│                                                                              │
│ The port is closed meanwhile and opened again after the release.             │
╰──────────────────────────────────────────────────────────────────────────────╯
Is the sensor unplugged?
y to release, Enter for the steps again:"""
        == first
    )


async def test_messages() -> None:
    """A caution stands in a frame with its word; findings and open items are lines."""
    async with place() as at:
        await at.desk.tell(CAUTION)
        await at.desk.establish(FINDING)
        await at.desk.punch(ITEM)

    assert (
        """\
╭────────────────────────────────── CAUTION ───────────────────────────────────╮
│ Hot nozzle                                                                   │
│ It stays hot for minutes.                                                    │
╰──────────────────────────────────────────────────────────────────────────────╯
Finding: The polarity is direct, 2703 to 1.
Open item A (unsafe to go on): Unplugged reads in. Cure: Change the contact."""
        == at.terminal.screen
    )


async def test_trial_from_prompt_to_result() -> None:
    """A trial shows its word and countdown large, then hold still, and leaves one line."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        at.desk.show(COUNTING)
        await at.sees("INACTIVE (open)")
        counting = at.terminal.screen
        at.keys.send_text("n")
        await at.sees("noted")
        marks = await at.desk.take_marks()
        at.desk.show(DWELLING)
        await at.sees("reading 1 of 3")
        dwelling = at.terminal.screen
        await at.desk.end_trial(INSERT, TAKEN)

        assert (Mark.NOTHING_CHANGED,) == marks
        assert (
            """\
┌─────────────────────────────────────────────────────────────────────────────┐
│             ██████  ██   ██   █████   ███████  ██████   ████████            │
│               ██    ███  ██  ██   ██  ██       ██   ██     ██               │
│               ██    ████ ██  ██       ██       ██   ██     ██               │
│               ██    ██ ████   █████   █████    ██████      ██               │
│               ██    ██  ███       ██  ██       ██ ██       ██               │
│               ██    ██   ██  ██   ██  ██       ██  ██      ██               │
│             ██████  ██   ██   █████   ███████  ██   ██     ██               │
│                                                                             │
│                           T H E   F I L A M E N T                           │
│                                                                             │
│                                   ██   ██                                   │
│                                   ██   ██                                   │
│                                   ██   ██                                   │
│                                   ███████                                   │
│                                        ██                                   │
│                                        ██                                   │
│                                        ██                                   │
└─────────────────────────────────────────────────────────────────────────────┘
Prompt 1 of 27, cycle 1   4 s left
Reading: INACTIVE (open)

v: it was spoilt   n: did it, nothing changed   p: wait for me   q: stop"""
            == counting
        )
        assert (
            """\
┌─────────────────────────────────────────────────────────────────────────────┐
│                      ██   ██   █████   ██       ██████                      │
│                      ██   ██  ██   ██  ██       ██   ██                     │
│                      ██   ██  ██   ██  ██       ██   ██                     │
│                      ███████  ██   ██  ██       ██   ██                     │
│                      ██   ██  ██   ██  ██       ██   ██                     │
│                      ██   ██  ██   ██  ██       ██   ██                     │
│                      ██   ██   █████   ███████  ██████                      │
│                                                                             │
│                          after: insert the filament                         │
│                                                                             │
│                  █████   ████████  ██████  ██       ██                      │
│                 ██   ██     ██       ██    ██       ██                      │
│                 ██          ██       ██    ██       ██                      │
│                  █████      ██       ██    ██       ██                      │
│                      ██     ██       ██    ██       ██                      │
│                 ██   ██     ██       ██    ██       ██                      │
│                  █████      ██     ██████  ███████  ███████                 │
└─────────────────────────────────────────────────────────────────────────────┘
Prompt 1 of 27, cycle 1   reading 1 of 3
Reading: ACTIVE (TRIGGERED)
noted: I did it and nothing changed
v: it was spoilt   n: did it, nothing changed   p: wait for me   q: stop"""
            == dwelling
        )
        assert "Prompt 1, insert: 3 readings, all active (TRIGGERED)." == at.terminal.screen
        assert 2 == at.terminal.written.count("\a")


async def test_silent_bell() -> None:
    """A desk without a bell sounds none."""
    async with place(bell=False) as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        await at.desk.end_trial(INSERT, TAKEN)

    assert "\a" not in at.terminal.written


async def test_watch() -> None:
    """A watch shows what to do and what is left, and leaves one line."""
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        at.desk.show(Status(Reading.ACTIVE, "TRIGGERED", 59.4, "reading 7 of 600"))
        await at.sees("Watch   60 s left   reading 7 of 600")
        await at.sees("W I G G L E   T H E   C A B L E")
        await at.sees("Move it at both plugs.")
        await at.desk.end_watch(WIGGLE, WATCHED)

    assert (
        """\
Wiggle the cable: 3 readings, 2 active (TRIGGERED) and 1 inactive (open) in 2.0
s, 2 changes, largest gap 1.0 s. 1 query brought no reading."""
        == at.terminal.screen
    )


@pytest.mark.parametrize(
    ("key", "mark"),
    [("v", Mark.SPOILT), ("V", Mark.SPOILT), ("n", Mark.NOTHING_CHANGED), ("p", Mark.PAUSE), (" ", Mark.PAUSE)],
)
async def test_marks(key: str, mark: Mark) -> None:
    """Each key is one mark, handed out once."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        at.keys.send_text(key)
        await at.sees(f"noted: {mark.value}")

        assert (mark,) == await at.desk.take_marks()
        assert () == await at.desk.take_marks()


@pytest.mark.parametrize("key", ["q", "Q", "\x03", "\x04"])
async def test_stop_in_a_trial(key: str) -> None:
    """The stop key, Ctrl-C and Ctrl-D end a trial, and the next question can still be answered."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        at.keys.send_text(key)
        await asyncio.wait_for(at.desk.wait_for_stop(), 4)

        with pytest.raises(OperatorStop, match="stop key"):
            await at.desk.take_marks()
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.keys.send_text("n\r")
        assert not await asking


@pytest.mark.parametrize("key", ["\x03", "\x04"])
async def test_stop_at_a_question(key: str) -> None:
    """Ctrl-C and Ctrl-D at a question end the run and take the line away."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.keys.send_text(key)

        with pytest.raises(OperatorStop, match=r"stopped by Ctrl-[CD]"):
            await asking
        assert "y or n:" not in at.terminal.screen


@pytest.mark.skipif(os.name == "nt", reason="signals can be sent to oneself on POSIX only")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
async def test_signal_at_a_question(name: str) -> None:
    """A signal at a question ends the run and takes the line away; one that ends the process answers all later ones."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        os.kill(os.getpid(), getattr(signal, name))

        with pytest.raises(OperatorStop, match=f"stopped by {name}"):
            await asking
        assert "y or n:" not in at.terminal.screen
        if name != "SIGINT":
            with pytest.raises(OperatorStop):
                await at.desk.confirm(READY)


async def test_end_of_input() -> None:
    """Input that ends is a stop, at a question and in a trial."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        at.keys.close()

        await until(lambda: at.desk._panel_task is not None and at.desk._panel_task.done())
        with pytest.raises(OperatorStop, match="the input has ended"):
            await at.desk.take_marks()


async def test_cancelled_question() -> None:
    """A question cancelled from outside leaves nothing behind, and the next one is asked and answered."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.desk.show(COUNTING)
        at.keys.send_text("ye")
        await at.sees("y or n: ye")
        asking.cancel()
        with pytest.raises(asyncio.CancelledError):
            await asking

        assert "\nLook at bench-3.\nIs the filament out of the sensor?" == at.terminal.screen
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.keys.send_text("y\r")
        assert await asking


async def test_trial_broken_off() -> None:
    """A trial that is never ended is taken away by what comes next, and its marks with it."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        at.keys.send_text("v")
        await at.sees("noted")
        await at.desk.tell(CAUTION)
        assert "T H E" not in at.terminal.screen
        await at.desk.begin_trial(WITHDRAW)
        await at.sees("Prompt 2 of 27")

        assert () == await at.desk.take_marks()


async def test_question_within_a_trial() -> None:
    """A question in the middle of a trial takes the panel's place; asking for marks brings the panel back."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        assert "T H E" not in at.terminal.screen
        at.keys.send_text("y\r")
        await asking
        await at.desk.take_marks()

        await at.sees("T H E")


async def test_note_between_questions() -> None:
    """While nothing is asked, a note is printed once."""
    async with place() as at:
        for _ in range(3):
            at.desk.show(Status(note="looking for the printer"))

    assert "looking for the printer ..." == at.terminal.screen


async def test_pasted_lines() -> None:
    """A paste of several lines is one line of text."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.enter(LENGTH))
        await at.sees("mm:")
        at.keys.send_text("\x1b[200~4\n1\x1b[201~2\r")
        await at.sees("A number is needed")
        await at.sees("mm:")
        at.keys.send_text("412\r")

        assert "412" == await asking


async def test_terminal_that_is_gone() -> None:
    """A terminal that takes nothing any more drops what is printed and answers every question by a stop."""
    async with place() as at:
        at.terminal.lost = True

        await at.desk.tell(CAUTION)
        await at.desk.punch(ITEM)
        with pytest.raises(OperatorStop, match="the terminal is gone"):
            await at.desk.confirm(READY)
        await at.desk.begin_trial(INSERT)
        with pytest.raises(OperatorStop, match="the terminal is gone"):
            await at.desk.take_marks()


async def test_terminal_lost_in_a_question() -> None:
    """A terminal that goes while a question is open is a stop, not an error."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.terminal.lost = True
        at.keys.send_text("y\r")

        with pytest.raises(OperatorStop, match="the terminal is gone"):
            await asking


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (80, 20), (60, 24), (40, 12), (20, 5)])
async def test_panel_fits_the_terminal(columns: int, rows: int) -> None:
    """At any size nothing of the panel is lost above the screen, and nothing of it stays behind."""
    async with place(columns=columns, rows=rows) as at:
        await at.desk.begin_trial(WITHDRAW)
        await at.sees("Reading: not read")
        at.desk.show(DWELLING)
        await at.sees("ACTIVE")
        await at.desk._put_away()

    assert "" == at.terminal.screen


async def test_cursor_is_never_asked_for() -> None:
    """The terminal is not asked for its cursor, so that none that stays silent is waited for."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")

    assert "\x1b[6n" not in at.terminal.written
