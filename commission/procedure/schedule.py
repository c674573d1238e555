"""Which prompt comes when in a series of trials: fixed by the plan and a recorded seed before the first is shown."""

import random
from collections.abc import Iterator
from dataclasses import dataclass

from commission.procedure.request import Instruction
from commission.vocabulary import Presence


@dataclass(frozen=True)
class Prompt:
    """One prompt: what to do, and what is then declared.

    Attributes:
        cycle: the cycle it belongs to, from 1.
        closes_cycle: whether this prompt's move completes the cycle.
    """

    instruction: Instruction
    presence: Presence
    cycle: int
    closes_cycle: bool


def prompts(cycles: int, leave_it_share: float, seed: int) -> Iterator[Prompt]:
    """The prompts of so many cycles, each *in* then *out*, starting from *out*.

    Before every move as many `leave it` prompts are drawn as come up by chance, so that on average the given share of
    all prompts says so and nobody can learn when the next move is due.
    """
    chance = random.Random(seed)  # noqa: S311 - it must be repeatable, not secret
    present = Presence.OUT
    for cycle in range(1, cycles + 1):
        for move in (Instruction.INSERT, Instruction.WITHDRAW):
            while chance.random() < leave_it_share:
                yield Prompt(Instruction.LEAVE, present, cycle, closes_cycle=False)
            present = present.other
            yield Prompt(move, present, cycle, closes_cycle=move is Instruction.WITHDRAW)


def planned_prompts(cycles: int, leave_it_share: float, seed: int) -> int:
    """How many prompts that makes."""
    return sum(1 for _ in prompts(cycles, leave_it_share, seed))
