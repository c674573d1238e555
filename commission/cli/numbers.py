"""Numbers on the command line: every one is checked here, so that what is no measurement is wrong usage everywhere."""

import math
from typing import Any

import click

MOST = 2**53 - 1
"""The largest whole number that every reader of JSON holds exactly (RFC 8259, section 6)."""
MOST_BAUD = 20_000_000
"""No serial port is faster (common practice, no source)."""


class Number(click.FloatRange):
    """A finite number within its bounds. `nan` and `inf` are numbers to a computer and none to a ruler."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value as a float, with a point or a comma; no number, without end or out of bounds it is wrong usage."""
        try:
            number = float(value.replace(",", ".") if isinstance(value, str) else value)
        except (TypeError, ValueError):
            number = math.nan
        if not math.isfinite(number):
            self.fail(f"{value!r} is no number that can be measured.", param, ctx)
        return super().convert(number, param, ctx)


class Count(click.IntRange):
    """A whole number within its bounds; none is above `MOST`, which book and reports still hold exactly."""

    def __init__(self, least: int = 0, most: int = MOST) -> None:
        super().__init__(least, most)
