"""How much of a sweep is tried: a part of it each time, all of it by hand.

A sweep says one sentence of many cases that are alike: of each unit, each moment of a run, each answer, many seeds. The
usual test run takes a part of them, always the same one. `python3 scripts/test.py --whole` takes all of them: some
minutes more, before a release and after a change to what they sweep.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

VARIABLE = "WHOLE_SWEEPS"
WHOLE = os.environ.get(VARIABLE) == "1"
A, B = TypeVar("A"), TypeVar("B")


def as_many(few: int, whole: int) -> int:
    """How many seeds are tried, or how far apart the moments of a run lie that are."""
    return whole if WHOLE else few


def a_part(cases: Sequence[A], one_in: int, always: Sequence[A] = ()) -> list[A]:
    """One in so many of the cases, from the first on, and those that are always tried; all of them in a whole sweep."""
    return [case for place, case in enumerate(cases) if WHOLE or place % one_in == 0 or case in always]


def a_part_of_pairs(first: Sequence[A], second: Sequence[B], one_in: int) -> list[tuple[A, B]]:
    """One in so many of all pairs, such that each of both is tried; all of them in a whole sweep.

    Each of the second is tried only where there are as many of the first as `one_in` says, and the other way round.
    """
    return [
        (one, other)
        for place, one in enumerate(first)
        for along, other in enumerate(second)
        if WHOLE or (place + along) % one_in == 0
    ]
