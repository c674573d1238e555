"""How much of a sweep is tried: a part of it at first, all of it before a change lands.

A sweep says one sentence of many cases that are alike: of each unit, each moment of a run, each answer, many seeds.
Somebody who waits for the tests gets a part of them, always the same one. `python3 scripts/test.py`, which runs before
anything lands, takes all of them in its last round. A test that sweeps is marked `swept`. One of them in full:

    WHOLE_SWEEPS=1 .venv/bin/python -m pytest -m swept FILE
"""

import os
from collections.abc import Sequence
from typing import TypeVar

VARIABLE = "WHOLE_SWEEPS"
WHOLE = os.environ.get(VARIABLE) == "1"
A = TypeVar("A")
B = TypeVar("B")


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
