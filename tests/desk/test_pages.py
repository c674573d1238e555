"""A question that is higher than the terminal, seen through a terminal emulator of 60 columns and 20 rows."""

import asyncio
from dataclasses import replace

import pytest

from commission.desk.base import OperatorStop
from tests.desk.places import place
from tests.desk.requests import READY, UNPLUG

LONG = replace(UNPLUG, steps=tuple(f"Step {number} of a long list of things to do." for number in range(1, 18)))
FIRST = """\
╭───────────── HOLD POINT: Unplug the sensor ──────────────╮
│ CAUTION: The supply bay is for qualified persons.        │
│ DANGER: the nozzle stays hot.                            │
│                                                          │
│ 1.  Step 1 of a long list of things to do.               │
│ 2.  Step 2 of a long list of things to do.               │
│ 3.  Step 3 of a long list of things to do.               │
│ 4.  Step 4 of a long list of things to do.               │
│ 5.  Step 5 of a long list of things to do.               │
│ 6.  Step 6 of a long list of things to do.               │
│ 7.  Step 7 of a long list of things to do.               │
│ 8.  Step 8 of a long list of things to do.               │
│ 9.  Step 9 of a long list of things to do.               │
│ 10. Step 10 of a long list of things to do.              │
│ 11. Step 11 of a long list of things to do.              │
│ 12. Step 12 of a long list of things to do.              │
│ 13. Step 13 of a long list of things to do.              │
Enter: more"""


async def test_cautions_are_read_before_the_release() -> None:
    """A hold point that would run off the top is shown page by page; a yes typed too early releases nothing."""
    async with place(columns=60, rows=20) as at:
        holding = asyncio.create_task(at.desk.hold(LONG))
        await at.sees("Enter: more")
        first = at.terminal.screen
        at.keys.send_text("y\r")
        await at.sees("y to release")
        assert not holding.done()
        second = at.terminal.screen
        at.keys.send_text("y\r")
        await holding

    assert FIRST == first
    assert "Step 17 of a long list" in second
    assert "Is the sensor unplugged?" in second


async def test_what_fits_is_shown_at_once() -> None:
    """A question that fits on the screen has no page to be turned."""
    async with place(columns=60, rows=20) as at:
        asking = asyncio.create_task(at.desk.confirm(READY))
        await at.sees("y or n:")
        at.keys.send_text("y\r")
        await asking

    assert "Enter: more" not in at.terminal.written


async def test_a_stop_counts_between_two_pages() -> None:
    """The run can be stopped before the question was seen whole."""
    async with place(columns=60, rows=20) as at:
        holding = asyncio.create_task(at.desk.hold(LONG))
        await at.sees("Enter: more")
        at.keys.send_text("\x03")
        with pytest.raises(OperatorStop):
            await holding
