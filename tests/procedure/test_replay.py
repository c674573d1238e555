"""A phase's result worked out again from recorded answers, or nothing where they do not fit."""

import pytest

from commission.asking.replay import played_back
from commission.asking.request import Confirm, TakeTrial
from commission.asking.reread import Given, given_by
from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.asking.steps import Steps, confirm, establish, take
from commission.evidence.findings import loop
from commission.evidence.measured import Watch
from commission.judge.plan import Plan
from commission.vocabulary import Instruction, Presence, Reading
from tests.support.made import made

TAKEN = TrialTaken((), (TimedReading(0.0, Reading.ACTIVE, "shut"),))
YES = Given(("answered", "ready"), True)
TRIAL = Given(("trial", "1", "1", "insert", "in", "filament"), TAKEN)


def phase(switch: str = "filament") -> Steps[tuple[bool, Reading]]:
    """Asks, takes one trial, and says what it read."""
    plan = Plan(seed=1, cycles=6)
    ready = yield from confirm(Confirm("ready", "Ready?"))
    taken = yield from take(
        TakeTrial(1, 12, 1, Instruction.INSERT, Presence.IN, switch, plan.countdown_s, 1, plan.dwell_s)
    )
    yield from establish(loop.TestsDone(sentences=("It was read.",), observations=()))
    return ready, taken.dwell[0].reading


def test_the_same_answers_come_to_the_same_result() -> None:
    """Each answer goes to the request it was given to; what is only said needs none."""
    assert (True, Reading.ACTIVE) == played_back(phase(), [YES, TRIAL])


@pytest.mark.parametrize(
    ("given", "switch"),
    [
        ([], "filament"),
        ([YES], "filament"),
        ([TRIAL, YES], "filament"),
        ([YES, TRIAL, YES], "filament"),
        ([YES, TRIAL], "filament_2"),
    ],
    ids=["none", "too few", "another order", "too many", "another switch"],
)
def test_answers_that_do_not_fit_are_no_result(given: list[Given], switch: str) -> None:
    """A phase that asks otherwise than it did has no result in the book."""
    assert played_back(phase(switch), given) is None


def test_a_watch_that_was_spoilt_is_read_back_as_spoilt() -> None:
    """What the operator said of it stands in the answer as it did before the run was broken off."""
    held = made(Watch, key="diagnose.filament_in", readings=(), void_reason="the finger slipped", remark="late")
    taken = given_by(held).response

    assert isinstance(taken, WatchTaken)
    assert ("the finger slipped", "late") == (taken.void_reason, taken.remark)
