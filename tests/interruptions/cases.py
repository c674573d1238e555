"""Which interruptions are tried: how the run is stopped, how often, how fast, in which phase, at which desk."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from random import Random
from typing import Literal

How = Literal["SIGINT", "SIGTERM", "SIGHUP", "key"]
Phase = Literal["dry", "heating", "hot", "moving", "paused"]
DeskKind = Literal["scripted", "plain", "drawing"]

HOW: tuple[How, ...] = ("SIGINT", "SIGTERM", "SIGHUP", "key")
PRESSES = (1, 2, 3, 4, 5)
GAPS_S = (0.02, 0.1, 0.3, 0.6, 1.0)
PHASES: tuple[Phase, ...] = ("dry", "heating", "hot", "moving", "paused")
DESKS: tuple[DeskKind, ...] = ("scripted", "plain", "drawing")


@dataclass(frozen=True)
class Case:
    """One interruption of a function test.

    Attributes:
        how: a signal, or the key that stops a run where the desk has one.
        presses, gap_s: how often, and how long from one to the next.
        phase: what the printer is doing at the first of them: nothing was switched on; it heats up; it is hot and
            stands still; it is hot and moves; it is hot and waits for a person.
        desk: who answers: a script, a person at the plain desk, or at the one that draws.
        wait_s: from the first sign of the phase to the first press.
        releases: whether the emergency stop is released, where it is asked for.
    """

    how: How
    presses: int
    gap_s: float
    phase: Phase
    desk: DeskKind
    wait_s: float = 0.3
    releases: bool = True

    @property
    def levels(self) -> tuple[object, ...]:
        """What pairs are made of."""
        return (self.how, self.presses, self.gap_s, self.phase, self.desk)

    @property
    def sentence(self) -> str:
        """The case in words."""
        release = f", emergency stop {'released' if self.releases else 'refused'}" if self.phase == "paused" else ""
        return f"{self.how} x {self.presses}, {self.gap_s:g} s apart, {self.phase}, {self.desk} desk{release}"


def matrix(seed: int) -> list[Case]:
    """Every way, number, gap and phase with each other; from the seed: at which desk, the moment, the release."""
    rng = Random(seed)  # noqa: S311 - repeatable, not secret
    return [_case(rng, *levels) for levels in product(HOW, PRESSES, GAPS_S, PHASES)]


def covering(seed: int) -> list[Case]:
    """Twenty-five cases in which every pair of two levels occurs that can occur.

    The rows of an orthogonal array of five levels (all pairs of i, j, i+j, i+2j, i+3j modulo 5 occur once), the fifth
    level of a column with fewer folded onto one of the others. A script has no keys: where the two meet, the desk is
    another one.
    """
    rng = Random(seed)  # noqa: S311 - repeatable, not secret
    desks: tuple[DeskKind, ...] = ("scripted", "plain", "drawing", "scripted", "plain")
    hows: tuple[How, ...] = (*HOW, "SIGINT")
    rows = product(range(5), range(5))
    return [
        _case(rng, hows[(i + 2 * j) % 5], PRESSES[i], GAPS_S[(i + j) % 5], PHASES[j], desks[(i + 3 * j) % 5])
        for i, j in rows
    ]


def _case(rng: Random, how: How, presses: int, gap_s: float, phase: Phase, desk: DeskKind | None = None) -> Case:
    chosen = rng.choice(DESKS) if desk is None else desk
    if how == "key" and chosen == "scripted":
        chosen = "drawing"
    return Case(how, presses, gap_s, phase, chosen, round(rng.uniform(0.1, 0.6), 3), rng.random() < 0.5)


def pairs(cases: list[Case]) -> set[tuple[object, ...]]:
    """Every pair of levels that occurs together in a case, with the two columns they stand in."""
    return {pair for case in cases for pair in _pairs(case)}


def possible_pairs() -> set[tuple[object, ...]]:
    """Every pair of levels that can occur: all but a key at a script."""
    levels = product(HOW, PRESSES, GAPS_S, PHASES, DESKS)
    return pairs([Case(*each) for each in levels if (each[0], each[4]) != ("key", "scripted")])


def _pairs(case: Case) -> Iterator[tuple[object, ...]]:
    for (first, one), (second, other) in combinations(enumerate(case.levels), 2):
        yield (first, one, second, other)
