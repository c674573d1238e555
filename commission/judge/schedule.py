"""The order of the prompts of a loop check, fixed before the first one is shown.

One prompt in every block (of four, by default) says to leave the filament as it is, at a random place in its block. Two
such prompts never follow each other with fewer than two moves between: an input that flips in step with the prompts
is then thrown out of step again and again, and cannot pass for one that follows the hand.
"""

import random
from dataclasses import dataclass
from functools import lru_cache

from commission.judge.plan import Plan
from commission.vocabulary import Instruction, Presence

_LEAST_MOVES_BETWEEN = 2


@dataclass(frozen=True)
class Prompt:
    """One prompt of the loop check.

    Attributes:
        instruction: what to do during the countdown.
        presence: where the filament is once that is done.
        cycle: the cycle it belongs to, from 1.
    """

    instruction: Instruction
    presence: Presence
    cycle: int


@lru_cache(maxsize=16)
def prompts(plan: Plan, start: Presence, cycles: int | None = None) -> tuple[Prompt, ...]:
    """All prompts of the plan, from where the filament is at the start; the same for the same seed.

    The first prompts do not depend on how many follow: a plan that goes on goes on with the same order.

    Args:
        plan: with its seed, and the share of leave-it prompts.
        start: where the filament is.
        cycles: how many are fixed, where they are more than were planned.

    Every cycle ends with its second move and whatever leave-it prompt comes before the next one.
    """
    # a repeatable order is the purpose here; nothing secret depends on it
    chance = random.Random(plan.seed)  # noqa: S311
    moves_per_block = round(1 / plan.leave_it_share) - 1
    moves = 2 * (plan.cycles if cycles is None else cycles)
    rest_after = _rest_places(moves, moves_per_block, chance)
    order: list[Prompt] = []
    presence = start
    for move in range(1, moves + 1):
        presence = presence.other
        cycle = (move + 1) // 2
        instruction = Instruction.INSERT if presence is Presence.IN else Instruction.WITHDRAW
        order.append(Prompt(instruction, presence, cycle))
        if move in rest_after:
            order.append(Prompt(Instruction.LEAVE, presence, cycle))
    return tuple(order)


def _rest_places(moves: int, moves_per_block: int, chance: random.Random) -> set[int]:
    """After which moves, counted from 1, a leave-it prompt comes: one in each whole block of moves."""
    places: set[int] = set()
    earliest = 1
    for block_start in range(0, moves - moves_per_block + 1, moves_per_block):
        allowed = range(max(block_start, earliest), block_start + moves_per_block + 1)
        place = allowed[int(chance.random() * len(allowed))]
        places.add(place)
        earliest = place + _LEAST_MOVES_BETWEEN
    return places
