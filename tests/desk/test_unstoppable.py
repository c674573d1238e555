"""Work that nothing stops, at each desk: every key and every signal is answered, and changes nothing."""

import asyncio
import os
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import pytest

from commission.desk.base import Desk, DeskError, OperatorStop
from tests.desk import test_plain
from tests.desk.fakes import until
from tests.desk.places import place
from tests.desk.requests import INSERT, READY, WIGGLE
from tests.desk.scripts import desk, entry, hands_finished, opened, printed, run

posix_only = pytest.mark.skipif(os.name == "nt", reason="signals can be sent to oneself on POSIX only")
WAIT = "Making safe, wait."


async def test_a_question_stays_open_under_the_answer() -> None:
    """At the desk that draws, Ctrl-C and Ctrl-D are answered above the line being typed, and that line stays."""
    async with place() as at, at.desk.unstoppable(WAIT):
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.keys.send_text("\x03")
        await at.sees(WAIT)
        await at.sees("y or n:")
        at.keys.send_text("\x04")
        await until(lambda: at.terminal.screen.count(WAIT) == 2 and "y or n:" in at.terminal.screen)
        at.keys.send_text("y\r")

        assert await asking

    assert (
        """
Look at bench-3.
Is the filament out of the sensor?
Making safe, wait.
Making safe, wait.
> y"""
        == at.terminal.screen
    )


@pytest.mark.parametrize("keys", ["q", "Q", "\x03", "\x04", "\x1c"])
async def test_stop_keys_are_heard_between_questions(keys: str) -> None:
    """At the desk that draws every key that stops is answered although nothing is asked; other keys are not."""
    async with place() as at, at.desk.unstoppable(WAIT):
        at.keys.send_text(f"x{keys}y")
        await at.sees(WAIT)
        await asyncio.sleep(0.02)

    assert WAIT == at.terminal.screen


async def test_the_panel_is_taken_away() -> None:
    """What the hands were told to do is not on the screen any more once the printer is made safe."""
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        await at.sees("q: stop")

        async with at.desk.unstoppable(WAIT):
            assert "" == at.terminal.screen


async def test_the_stop_counts_afterwards() -> None:
    """A stop that was answered is raised by the next question after the work."""
    async with place() as at:
        async with at.desk.unstoppable(WAIT):
            at.keys.send_text("q")
            await at.sees(WAIT)

        with pytest.raises(OperatorStop, match="stopped by the stop key"):
            await at.desk.confirm(READY)


async def test_a_lost_terminal_ends_only_questions() -> None:
    """A terminal that goes while nothing may be stopped is no error; a question at it is answered by a stop."""
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        async with at.desk.unstoppable(WAIT):
            at.terminal.lost = True
            at.keys.send_text("q")
            await asyncio.sleep(0.02)
            with pytest.raises(OperatorStop, match="the terminal is gone"):
                await at.desk.confirm(READY)


async def test_an_input_that_ends_ends_only_questions() -> None:
    """The end of the input while nothing may be stopped leaves the work alone."""
    async with place() as at, at.desk.unstoppable(WAIT):
        at.keys.close()
        await asyncio.sleep(0.02)
        with pytest.raises(OperatorStop, match="the input has ended"):
            await at.desk.confirm(READY)


async def test_the_plain_desk_answers_the_stop_key() -> None:
    """A line with the stop key is answered between questions, and at a question it is no answer."""
    async with test_plain.place() as at, at.desk.unstoppable(WAIT):
        at.types("well\nq\n")
        await at.hears(WAIT)
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.hears("Type yes or no")
        at.types("q\n")
        await at.hears("n for no")
        at.types("yes\n")

        assert await asking

    assert 1 == at.out.getvalue().count(WAIT)


@asynccontextmanager
async def one_of(kind: str) -> AsyncIterator[tuple[Desk, Callable[[], str]]]:
    """An open desk of that kind, and how to tell what it has printed."""
    if kind == "scripted":
        async with opened(desk(entry("*", "yes"))) as used:
            yield used, lambda: printed(used)
    elif kind == "plain":
        async with test_plain.place() as plain:
            yield plain.desk, plain.out.getvalue
    else:
        async with place() as drawn:
            yield drawn.desk, lambda: drawn.terminal.screen


@posix_only
@pytest.mark.parametrize("kind", ["scripted", "plain", "drawing"])
async def test_signals_are_answered_at_every_desk(kind: str) -> None:
    """Ctrl-C as a signal, a hang-up and the end of the program: each is answered; afterwards nobody is asked."""
    async with one_of(kind) as (at, said):
        async with at.unstoppable(WAIT):
            for count, name in enumerate(("SIGINT", "SIGINT", "SIGHUP", "SIGTERM", "SIGQUIT"), 1):
                os.kill(os.getpid(), getattr(signal, name))
                await until(lambda count=count: said().count(WAIT) == count)  # type: ignore[misc]
            assert not at.stop_asked

        for _ in range(2):
            with pytest.raises(OperatorStop, match="stopped by Ctrl-C"):
                await at.confirm(READY)


async def test_hands_that_failed_change_no_end() -> None:
    """A command of the hands that failed unseen is told, and keeps neither the work nor the end of the desk back."""
    used = desk(entry("*", "done", run("import sys; sys.exit('no bench')")), entry("*", "done"))
    await used.begin_trial(INSERT)
    await hands_finished(used)
    async with used.unstoppable(WAIT):
        assert "said: no bench" in printed(used)
    await used.begin_trial(INSERT)
    await hands_finished(used)
    await used.close()

    assert 2 == printed(used).count("said: no bench")
    with pytest.raises(DeskError):
        await used.confirm(READY)
