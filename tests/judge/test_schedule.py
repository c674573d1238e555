"""The order of the prompts."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.judge.plan import Plan
from commission.judge.polarity import LEAST_CYCLES, MOST_CYCLES, look
from commission.judge.schedule import Prompt, prompts
from commission.vocabulary import Instruction, Presence, SwitchBehaviour
from tests.judge.trials import trial

PLANS = st.builds(
    Plan,
    seed=st.integers(0, 2**32),
    cycles=st.integers(6, 100),
    leave_it_share=st.sampled_from((0.1, 0.2, 0.25, 1 / 3)),
)


@settings(deadline=None, max_examples=60)
@given(PLANS, st.sampled_from(Presence))
def test_moves_alternate_and_rests_change_nothing(plan: Plan, start: Presence) -> None:
    """Every plan holds one in and one out per cycle, and a leave-it prompt repeats the presence before it."""
    before, moves = start, 0
    for prompt in prompts(plan, start):
        if prompt.instruction is Instruction.LEAVE:
            assert before is prompt.presence
        else:
            moves += 1
            assert before.other is prompt.presence
            assert (
                Instruction.INSERT if prompt.presence is Presence.IN else Instruction.WITHDRAW
            ) is prompt.instruction
        assert (moves + 1) // 2 == prompt.cycle
        before = prompt.presence
    assert 2 * plan.cycles == moves


@settings(deadline=None, max_examples=60)
@given(PLANS)
def test_rests_come_in_their_share_and_never_close_together(plan: Plan) -> None:
    """Each whole block has one leave-it prompt, none is the first, and two moves at least lie between two of them."""
    order = prompts(plan, Presence.OUT)
    places = [index for index, prompt in enumerate(order) if prompt.instruction is Instruction.LEAVE]
    moves_per_block = round(1 / plan.leave_it_share) - 1

    assert 2 * plan.cycles // moves_per_block == len(places)
    assert places[0] > 0
    assert all(after - before > 2 for before, after in pairwise(places))


def test_a_rest_may_come_anywhere_in_its_block() -> None:
    """The first after one, two or three moves: whoever waits for it cannot know."""
    orders = [prompts(Plan(seed=seed), Presence.OUT) for seed in range(40)]

    assert {1, 2, 3} == {[each.instruction for each in order].index(Instruction.LEAVE) for order in orders}


def test_one_prompt_in_four_is_left_alone_by_default() -> None:
    """Twenty-two cycles come with 14 leave-it prompts, a quarter of all prompts."""
    order = prompts(Plan(seed=3), Presence.OUT)

    assert 14 == sum(prompt.instruction is Instruction.LEAVE for prompt in order)
    assert 0.25 == pytest.approx(14 / len(order), abs=0.01)


def test_the_seed_fixes_the_order() -> None:
    """The same seed gives the same prompts, another seed others."""
    assert prompts(Plan(seed=5), Presence.OUT) == prompts(Plan(seed=5), Presence.OUT)
    assert prompts(Plan(seed=5), Presence.OUT) != prompts(Plan(seed=6), Presence.OUT)


def found_by_rule(order: tuple[Prompt, ...], readings: list[bool]) -> SwitchBehaviour:
    """What the polarity rule finds at its first deciding look."""
    trials = []
    for prompt, active in zip(order, readings, strict=True):
        if prompt.instruction is Instruction.LEAVE:
            continue
        trials.append(trial(prompt.presence, active=active))
        cycles_done, half = divmod(len(trials), 2)
        if not half and LEAST_CYCLES <= cycles_done <= MOST_CYCLES:
            finding = look(trials, cycles_done=cycles_done)
            if finding.behaviour is not SwitchBehaviour.UNDECIDED:
                return finding.behaviour
    return SwitchBehaviour.UNDECIDED


@pytest.mark.parametrize("seed", range(40))
def test_an_input_that_flips_in_step_gets_no_polarity(seed: int) -> None:
    """An input that flips by itself between any two dwells shows no relation: leave-it prompts undo its step."""
    order = prompts(Plan(seed=seed), Presence.OUT)
    in_step = [index % 2 == 0 for index in range(len(order))]

    assert SwitchBehaviour.NO_RELATION is found_by_rule(order, in_step)
