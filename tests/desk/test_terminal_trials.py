"""Trials and watches of the desk that draws, seen through a terminal emulator."""

import asyncio
from dataclasses import replace

import pytest

from commission.desk.base import Mark, OperatorStop, Status
from commission.vocabulary import Reading
from tests.desk.fakes import until
from tests.desk.places import place
from tests.desk.requests import (
    CAUTION,
    COUNTING,
    DWELLING,
    INSERT,
    READY,
    TAKEN,
    WATCHED,
    WIGGLE,
    WITHDRAW,
)


async def test_trial_from_prompt_to_result() -> None:
    """A trial shows its word and countdown large, then keep still, and leaves one line."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        at.desk.show(COUNTING)
        await at.sees("4 s left")
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
The reading is shown after the dwell.

v: it was spoilt   n: did it, nothing changed   p: wait for me   q: stop"""
            == counting
        )
        assert (
            """\
┌─────────────────────────────────────────────────────────────────────────────┐
│                      ██   ██  ███████  ███████  ██████                      │
│                      ██  ██   ██       ██       ██   ██                     │
│                      ██ ██    ██       ██       ██   ██                     │
│                      ████     █████    █████    ██████                      │
│                      ██ ██    ██       ██       ██                          │
│                      ██  ██   ██       ██       ██                          │
│                      ██   ██  ███████  ███████  ██                          │
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
The reading is shown after the dwell.
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
s, 2 changes, largest gap 1.0 s. 1 query brought no reading. Watched: 0 ms."""
        == at.terminal.screen
    )


async def test_a_watch_takes_no_marks() -> None:
    """A watch offers the stop key alone, and a mark's key is neither noted nor handed out."""
    async with place() as at:
        await at.desk.begin_watch(WIGGLE)
        await at.sees("q: stop")
        at.keys.send_text("v")
        at.desk.show(Status(Reading.ACTIVE, "TRIGGERED", 30.0, "reading 300 of 600"))
        await at.sees("reading 300 of 600")
        shown, marks = at.terminal.screen, await at.desk.take_marks()
        await at.desk.end_watch(WIGGLE, WATCHED)

    assert () == marks
    assert "it was spoilt" not in shown
    assert "noted" not in shown


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


async def test_a_watch_of_hands_takes_the_keys_of_a_trial() -> None:
    """Where it is done by hand, the same keys are offered and heard as in a trial."""
    async with place() as at:
        await at.desk.begin_watch(replace(WIGGLE, marks=True))
        await at.sees("v: it was spoilt")
        at.keys.send_text("v")
        await at.sees(f"noted: {Mark.SPOILT.value}")
        marks = await at.desk.take_marks()
        await at.desk.end_watch(WIGGLE, WATCHED)

    assert (Mark.SPOILT,) == marks


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


async def test_end_of_input() -> None:
    """Input that ends is a stop, at a question and in a trial."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")
        at.keys.close()

        await until(lambda: at.desk._panel_task is not None and at.desk._panel_task.done())
        with pytest.raises(OperatorStop, match="the input has ended"):
            await at.desk.take_marks()


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


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (80, 20), (60, 24), (40, 12), (20, 5)])
async def test_panel_fits_the_terminal(columns: int, rows: int) -> None:
    """At any size nothing of the panel is lost above the screen, and nothing of it stays behind."""
    async with place(columns=columns, rows=rows) as at:
        await at.desk.begin_trial(WITHDRAW)
        await at.sees("The reading is")
        at.desk.show(DWELLING)
        await at.sees("The reading is")
        await at.desk._put_away()

    assert "" == at.terminal.screen


async def test_cursor_is_never_asked_for() -> None:
    """The terminal is not asked for its cursor, so that none that stays silent is waited for."""
    async with place() as at:
        await at.desk.begin_trial(INSERT)
        await at.sees("T H E")

    assert "\x1b[6n" not in at.terminal.written


async def test_where_the_run_is_stays_in_sight() -> None:
    """It stands below a question and its reading, on the frame of a trial, and on nothing that is over."""
    left = ["Step 4 of 9, about 7 min left"]
    async with place(columns=40) as at:
        at.desk.follow(lambda: left[0])
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("about 7 min left")
        unwatched = at.terminal.screen
        at.desk.show(Status(Reading.INACTIVE, "open"))
        await at.sees("Reading")
        watched = at.terminal.screen
        at.keys.send_text("y\r")
        await asking
        answered = at.terminal.screen
        await at.desk.begin_trial(INSERT)
        at.desk.show(COUNTING)
        await at.sees("4 s left")
        counting = at.terminal.screen
        left[0] = "Step 4 of 9, about 6 min left"
        at.desk.show(DWELLING)
        await at.sees("about 6 min left")
        dwelling = at.terminal.screen
        await at.desk.end_trial(INSERT, TAKEN)

        assert ["y or n:", "Step 4 of 9, about 7 min left"] == unwatched.splitlines()[-2:]
        assert ["y or n:", "Reading: inactive (open)", left[0].replace("6", "7")] == watched.splitlines()[-3:]
        assert "Step" not in answered
        assert "┌─ Step 4 of 9, about 7 min left ─────┐" in counting.splitlines()
        assert "┌─ Step 4 of 9, about 6 min left ─────┐" in dwelling.splitlines()
        assert "Step" not in at.terminal.screen


async def test_a_minute_gone_redraws_only_its_line() -> None:
    """Nothing flickers: what has not changed is not sent to the terminal again."""
    left = ["Step 4 of 9, about 7 min left"]
    async with place() as at:
        at.desk.follow(lambda: left[0])
        await at.desk.begin_trial(INSERT)
        at.desk.show(COUNTING)
        await at.sees("4 s left")
        sent = len(at.terminal.getvalue())
        left[0] = "Step 4 of 9, about 6 min left"
        at.desk.show(COUNTING)
        await at.sees("about 6 min left")
        redrawn = at.terminal.getvalue()[sent:]

        assert "6" in redrawn
        assert "█" not in redrawn
        assert "Prompt" not in redrawn
