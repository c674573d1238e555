"""Simulated switches, sound, stuck and floating: what each shows at a prompt."""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import accumulate

from commission.judge.plan import Plan
from commission.judge.schedule import Prompt
from commission.vocabulary import Instruction, Presence, SwitchBehaviour

PLAN = Plan(seed=0)

# majority is active, and whether the reading changed within the dwell
Dwell = tuple[bool, bool]
Switch = Callable[[random.Random, tuple[Prompt, ...]], Iterator[Dwell]]


@dataclass(frozen=True)
class Case:
    """A kind of switch: how it is played, what it truly is, and the flips per second if its input floats."""

    name: str
    switch: Switch
    truth: SwitchBehaviour
    floating_per_s: float = 0.0


def erring(error_in: float, error_out: float) -> Switch:
    """A direct switch that misreads a move with these probabilities; left alone it stays as it is."""

    def play(chance: random.Random, order: tuple[Prompt, ...]) -> Iterator[Dwell]:
        active = False
        for prompt in order:
            if prompt.instruction is not Instruction.LEAVE:
                present = prompt.presence is Presence.IN
                active = present ^ (chance.random() < (error_in if present else error_out))
            yield active, False

    return play


def stuck(*, active: bool) -> Switch:
    """A switch that always reads the same."""

    def play(_chance: random.Random, order: tuple[Prompt, ...]) -> Iterator[Dwell]:
        for _ in order:
            yield active, False

    return play


def in_step(_chance: random.Random, order: tuple[Prompt, ...]) -> Iterator[Dwell]:
    """An input that flips by itself exactly once between any two dwells: the worst case for a fixed order."""
    active = True
    for _ in order:
        yield active, False
        active = not active


def floating(flips_per_s: float) -> Switch:
    """A random telegraph signal, polled with the plan's own timing."""
    outcomes = dwell_outcomes(flips_per_s)
    edges = list(accumulate(outcomes.values()))
    kinds = list(outcomes)
    flip_in_countdown = odd_flips(flips_per_s, PLAN.countdown_s)

    def play(chance: random.Random, order: tuple[Prompt, ...]) -> Iterator[Dwell]:
        active = chance.random() < 0.5
        for _ in order:
            active ^= chance.random() < flip_in_countdown
            kind = kinds[min(bisect_right(edges, chance.random()), len(kinds) - 1)]
            yield active ^ (not kind.majority_as_start), kind.changed
            active ^= not kind.end_as_start

    return play


def odd_flips(flips_per_s: float, duration_s: float) -> float:
    """Probability that the state differs after that time: (1 - exp(-2·rate·t)) / 2."""
    return -math.expm1(-2 * flips_per_s * duration_s) / 2


@dataclass(frozen=True)
class DwellKind:
    """What a dwell of a floating input shows, relative to the state in which it began."""

    majority_as_start: bool
    end_as_start: bool
    changed: bool


@cache
def dwell_outcomes(flips_per_s: float) -> dict[DwellKind, float]:
    """The exact probabilities of every kind of dwell, by stepping from reading to reading."""
    readings = PLAN.readings_per_dwell
    flip = odd_flips(flips_per_s, PLAN.dwell_s / (readings - 1))
    # (now as at the start, readings as at the start, changed yet) -> probability
    states: dict[tuple[bool, int, bool], float] = {(True, 1, False): 1.0}
    for _ in range(readings - 1):
        after: dict[tuple[bool, int, bool], float] = {}
        for (same, count, changed), share in states.items():
            for flips, chance in ((False, 1 - flip), (True, flip)):
                now = same ^ flips
                key = (now, count + now, changed or flips)
                after[key] = after.get(key, 0.0) + share * chance
        states = after
    outcomes: dict[DwellKind, float] = {}
    for (same, count, changed), share in states.items():
        kind = DwellKind(2 * count > readings, same, changed)
        outcomes[kind] = outcomes.get(kind, 0.0) + share
    return outcomes


CASES = (
    *(
        Case(f"misreads {share:.0%} of trials", erring(share, share), SwitchBehaviour.DIRECT)
        for share in (0.0, 0.02, 0.05, 0.10, 0.20)
    ),
    Case("lever reads in 30% of withdrawals", erring(0.0, 0.30), SwitchBehaviour.DIRECT),
    Case("stuck active", stuck(active=True), SwitchBehaviour.STUCK_ACTIVE),
    Case("stuck inactive", stuck(active=False), SwitchBehaviour.STUCK_INACTIVE),
    *(
        Case(f"floating, {rate:g} flips a second", floating(rate), SwitchBehaviour.NO_RELATION, rate)
        for rate in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
    ),
    Case("floating, in step with the prompts", in_step, SwitchBehaviour.NO_RELATION, 1 / 7),
)
