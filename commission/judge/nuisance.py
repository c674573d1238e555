"""How often the reading changes unasked: the bound on that rate from all that was watched, each condition for itself.

A sensor that is at rest, one beside moving motors and one in a print are three different things: a clean night at rest
says nothing of a print. So exposure is added within one condition only, and only since the last recorded change of the
wiring or the firmware. The bound is the exact one for a Poisson count (see `stability.poisson_upper`); without a change
it is -ln(1 - C) / exposure.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from commission import units
from commission.command_lines import SOAK, line
from commission.judge.stability import poisson_upper
from commission.judge.wording import confidence_words, counted

HOUR_S = 3600.0
ENOUGH_S = 7200.0
"""Two clean hours at rest show at most 1.5 changes an hour; with less a pass says what is missing (our choice)."""


class Around(Enum):
    """What the printer was doing while it was watched."""

    AT_REST = "at rest"
    MOVING = "moving"
    PRINTING = "printing"


@dataclass(frozen=True)
class Exposed:
    """Something that was watched: its exposure in seconds, and the unwanted changes seen in it."""

    around: Around
    seconds: float
    changes: int

    def __post_init__(self) -> None:
        if not (self.seconds >= 0 and math.isfinite(self.seconds)) or self.changes < 0:
            raise ValueError(f"A watch cannot have {self.seconds} s and {self.changes} changes.")


@dataclass(frozen=True)
class RateBound:
    """What one condition has shown: exposure in seconds, changes, and the upper bound an hour at that confidence."""

    around: Around
    seconds: float
    changes: int
    per_hour: float
    confidence: float

    @property
    def sentence(self) -> str:
        """For a person."""
        return (
            f"{self.around.value.capitalize()}: {counted(self.changes, 'unwanted change')} in {length(self.seconds)} "
            f"watched, which at {confidence_words(self.confidence)} confidence allows up to {rate(self.per_hour)} an "
            "hour."
        )


def rate_bounds(exposed: Iterable[Exposed], confidence: float = 0.95) -> tuple[RateBound, ...]:
    """The bound of each condition in which anything was watched; never across conditions."""
    given = list(exposed)
    bounds = []
    for around in Around:
        seconds = math.fsum(each.seconds for each in given if each.around is around)
        changes = sum(each.changes for each in given if each.around is around)
        if seconds > 0:
            per_hour = HOUR_S * poisson_upper(changes, seconds, confidence)
            bounds.append(RateBound(around, seconds, changes, per_hour, confidence))
    return tuple(bounds)


def bound_per_hour(seconds: float, changes: int, confidence: float = 0.95) -> float | None:
    """The bound after so long and so many changes; None before anything was watched."""
    return HOUR_S * poisson_upper(changes, seconds, confidence) if seconds > 0 else None


def not_shown_yet(bounds: Iterable[RateBound], tag: str = "TAG", sensor: str = "") -> str:
    """What is not shown of nuisance trips, and how to show it overnight; empty where enough was watched at rest.

    Args:
        bounds: what was watched.
        tag: the owner's name for the printer.
        sensor: one of several; empty for the only one.
    """
    at_rest = [bound for bound in bounds if bound.around is Around.AT_REST]
    if at_rest and at_rest[0].seconds >= ENOUGH_S:
        return ""
    had = f"only {length(at_rest[0].seconds)} at rest were watched" if at_rest else "nothing was watched at rest"
    return (
        f"Not shown yet: how rarely the reading changes by itself, since {had}. To show it overnight, leave filament "
        f"in and run: {line(SOAK, tag, '', sensor)}"
    )


def not_shown_by_a_run(tag: str, port: str) -> str:
    """What an installation cannot show, and how to show it overnight."""
    return (
        "Not shown by this run: how rarely the reading changes by itself. To show it overnight, leave filament in and "
        f"run: {line(SOAK, tag, port)}"
    )


def length(seconds: float) -> str:
    """A length of time, in hours from two hours on."""
    return f"{seconds / HOUR_S:.1f} h" if seconds >= 2 * HOUR_S - 0.5 else units.seconds(seconds)


def rate(per_hour: float) -> str:
    """A rate with two digits that mean something."""
    return f"{per_hour:.0f}" if per_hour >= 10 else f"{per_hour:.1f}" if per_hour >= 1 else f"{per_hour:.2f}"
