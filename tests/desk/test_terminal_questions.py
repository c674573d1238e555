"""Questions and messages of the desk that draws, seen through a terminal emulator."""

import asyncio
import os
import signal
from dataclasses import replace

import pytest

from commission.asking.message import Tell, Weight
from commission.asking.request import Confirm
from commission.desk.base import OperatorStop, Status
from commission.desk.redraw import REDRAW_EVERY_S
from commission.vocabulary import Reading
from tests.desk.fakes import until
from tests.desk.places import place
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    FINDING,
    INSERT,
    ITEM,
    LENGTH,
    READY,
    ROUTE,
    UNPLUG,
)


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
> 12,5
Understood: 12.5 mm"""
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


async def test_narrow_terminal() -> None:
    """Where an option or a step is longer than a line, its rest hangs below its beginning."""
    async with place(columns=40) as at:
        choosing = asyncio.create_task(at.desk.choose(ROUTE))
        await at.sees("1, 2:")
        at.keys.send_text("1\r")
        await choosing

    assert (
        """
Which contact is wired?
  1. normally open
  2. normally closed: opens when the
     filament goes in
> 1"""
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
│ The tool listens until the port goes, and opens it again after the release.  │
╰──────────────────────────────────────────────────────────────────────────────╯
Is the sensor unplugged?
y to release, Enter for the steps again:"""
        == first
    )


async def test_a_long_title_of_a_hold_point_is_told_whole() -> None:
    """A title that does not fit on the frame's edge stands inside the frame, over as many lines as it needs."""
    title = "Power off and reflash: change the contact, invert the logic of the input, and plug the sensor back in"
    async with place() as at:
        holding = asyncio.create_task(at.desk.hold(replace(UNPLUG, title=title)))
        await at.sees("y to release")
        at.keys.send_text("y\r")
        await holding
        screen = at.terminal.screen

    assert " HOLD POINT " in screen.splitlines()[0]
    assert title in " ".join(screen.replace("│", " ").split())


async def test_a_title_is_told_whole_on_a_narrow_screen() -> None:
    """A title that fits on the edge of a frame of 80 columns, and not on one of 60, stands inside the frame there."""
    title = "Power off: free the sensor's cable for the meter"
    async with place(columns=60) as at:
        holding = asyncio.create_task(at.desk.hold(replace(UNPLUG, title=title)))
        await at.sees("y to release")
        at.keys.send_text("y\r")
        await holding
        screen = at.terminal.screen

    assert " HOLD POINT " in screen.splitlines()[0]
    assert f"│ {title}" in screen


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
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("SIGINT", "stopped by Ctrl-C"),
        ("SIGTERM", "the program was told to end"),
        ("SIGHUP", "the terminal was closed"),
    ],
)
async def test_signal_at_a_question(name: str, said: str) -> None:
    """A signal at a question ends the run in words; one that ends the process answers all later ones."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        os.kill(os.getpid(), getattr(signal, name))

        with pytest.raises(OperatorStop, match=said):
            await asking
        assert "y or n:" not in at.terminal.screen
        if name != "SIGINT":
            with pytest.raises(OperatorStop):
                await at.desk.confirm(READY)


async def test_an_unchanged_line_is_not_redrawn() -> None:
    """While the reading stays as it is nothing is sent to the terminal, not even for the cursor; another one is."""
    async with place() as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.desk.show(Status(Reading.INACTIVE, "open"))
        await at.sees("open")
        sent = at.terminal.written
        for _ in range(3):
            at.desk.show(Status(Reading.INACTIVE, "open"))
            await asyncio.sleep(2 * REDRAW_EVERY_S)
        stayed = at.terminal.written
        at.desk.show(Status(Reading.ACTIVE, "TRIGGERED"))
        await at.sees("TRIGGERED")
        at.keys.send_text("y\r")

        assert await asking
        assert sent == stayed


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


async def test_note_between_questions() -> None:
    """While nothing is asked, a note is printed once."""
    async with place() as at:
        for _ in range(3):
            at.desk.show(Status(note="looking for the printer"))

    assert "looking for the printer ..." == at.terminal.screen


async def test_finer_steps_of_a_note_share_a_line() -> None:
    """What heats is told to the degree on one line; what is printed next stands below it, and another note too."""
    async with place() as at:
        for celsius in (21, 63, 198):
            at.desk.show(Status(note="heating to 200 °C", live=f"heating to 200 °C; now {celsius} °C"))
        await at.desk.tell(Tell(("It is hot.",)))
        at.desk.show(Status(note="heating to 200 °C", live="heating to 200 °C; now 150 °C"))
        at.desk.show(Status(note="looking for the printer"))

    assert at.terminal.screen.splitlines() == [
        "heating to 200 °C; now 198 °C ...",
        "It is hot.",
        "heating to 200 °C; now 150 °C ...",
        "looking for the printer ...",
    ]


async def test_finer_steps_too_long_for_a_line_are_all_kept() -> None:
    """A step that the terminal breaks cannot be taken back whole, so each is printed."""
    async with place(columns=20) as at:
        for celsius in (21, 198):
            at.desk.show(Status(live=f"heating to 200 °C; now {celsius} °C"))

    assert "heating to 200 °C; now 21 °C ... heating to 200 °C; now 198 °C ..." == " ".join(at.terminal.screen.split())


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


async def test_release() -> None:
    """What a dangerous question has to say stands in a frame with its word, and so does the question."""
    async with place() as at:
        release = Confirm("heat", "Release: heat the nozzle?", ("It goes to 210 °C.",), weight=Weight.DANGER)
        asking = asyncio.create_task(at.desk.confirm(release))
        await at.sees("y or n:")
        at.keys.send_text("n\r")

        assert not await asking
        assert (
            """
╭─────────────────────────────────── DANGER ───────────────────────────────────╮
│ It goes to 210 °C.                                                           │
╰──────────────────────────────────────────────────────────────────────────────╯
DANGER: Release: heat the nozzle?
> n"""
            == at.terminal.screen
        )
