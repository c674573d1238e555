"""A unit that is blind when a wire breaks never passes because nothing was unplugged: seeded runs of the whole check.

The hands pull another plug or none, in either power-up or in both; now and then they forget one of the moves, or leave
the power on. What is true of a run is known here from the bench, and not from what the check says of it.
"""

from functools import cache
from random import Random

import pytest

from commission.judge.plan import Plan
from commission.procedure.loop.loop_check import LoopChecked, loop_check
from commission.vocabulary import FailSafe, Verdict
from tests.procedure.unit_hands import ScriptedHands
from tests.support.sweeps import as_many

RUNS = as_many(17, 50)
PASSES = (Verdict.PASS, Verdict.CONDITIONAL)
FORGETS = 0.25
"""Share of the runs in which one move of the filament is forgotten."""
SOUND = ("sound", "three-wire", "optical")


class Hands(ScriptedHands):
    """Hands at a unit that pull the right plug at the hold points that `pulls` names, each time or only later on."""

    def __init__(self, unit: str, seed: int, wrong: tuple[int, ...] = ()) -> None:
        super().__init__(unit, {"far_end.now": False, "moving.how": "no"}.get, seed=seed)
        self.chance = Random(f"{unit}/{seed}/{wrong}")  # noqa: S311 - repeatable, not secret
        self.wrong = {f"unplug.{power_up}" for power_up in wrong}
        self.finds_it = self.chance.random() < 0.5
        self.forgotten = self.chance.randrange(24) if wrong and self.chance.random() < FORGETS else -1
        self.moves = 0
        self.off_at_release: list[bool] = []
        self.before_hold = self._choose
        self.before_watch = self._look

    def _choose(self, key: str) -> None:
        again = len(self.held[key]) > 1
        if key in self.wrong and not (again and self.finds_it):
            self.places[key] = [("plug",)]  # another plug, or none: this sensor stays where it was
        elif key.startswith("unplug."):
            self.places[key] = [("unplug", "board")] if key != "unplug.reconnect" else [("plug",), ("insert",)]

    def _look(self, key: str) -> None:
        if key.startswith("unplugged."):
            self.off_at_release.append(not self.host.printer.plant.cable.plugged_at_board)
            if self.chance.random() < 0.5:
                self.host.do("withdraw")  # the filament is where it happens to be
        if key.startswith("still_plugged."):
            deed = ("insert",) if key.endswith("insert") else ("withdraw",)
            self.deeds[key] = [] if self.moves == self.forgotten else [deed]
            self.moves += 1


@cache
def checked(unit: str, seed: int, wrong: tuple[int, ...] = (), cycles: int = 22) -> tuple[LoopChecked, Hands]:
    """The whole loop check of this unit by these hands; with few cycles it can be a conditional pass at best.

    The same check comes to the same, so that two tests that look at it share it.
    """
    hands = Hands(unit, seed, wrong)
    plan = Plan(seed=seed, cycles=cycles, readings_per_dwell=7, dwell_s=0.6, wiggle_s=3.0 * cycles)
    return hands.carry_out(loop_check(plan, "filament")), hands


@pytest.mark.swept
@pytest.mark.parametrize("wrong", [(1,), (2,), (1, 2)], ids=["first", "second", "both"])
def test_a_fail_danger_unit_never_passes_by_a_wrong_plug(wrong: tuple[int, ...]) -> None:
    """Many runs with a wrong plug or none in the first power-up, the second, or both: no pass, not even half of one."""
    verdicts = []
    for seed in range(RUNS):
        found, hands = checked("two-errors-cancel", seed, wrong, cycles=6)
        verdicts.append(found.acceptance.verdict)
        assert False in hands.off_at_release, "these hands were to pull a wrong plug"
        assert FailSafe.SAFE is not found.fail_safe, f"seed {seed}"

    assert 0 == sum(verdict in PASSES for verdict in verdicts), verdicts


@pytest.mark.swept
def test_a_fail_danger_unit_is_named_where_the_right_plug_is_found() -> None:
    """Hands that find the plug in the end have it named fail-to-danger, unless a move was forgotten on the way."""
    found = [checked("two-errors-cancel", seed, (1,), cycles=6) for seed in range(RUNS)]
    whole = [each.fail_safe for each, hands in found if hands.finds_it and hands.forgotten < 0]

    assert len(whole) > RUNS // 5
    assert {FailSafe.DANGER} == set(whole)


@pytest.mark.swept
@pytest.mark.parametrize("unit", SOUND)
def test_a_sound_unit_passes_in_honest_hands(unit: str) -> None:
    """With the right plug pulled and the power off each time, every run of a sound unit is a full pass."""
    runs = [checked(unit, seed) for seed in range(RUNS // len(SOUND))]

    assert {Verdict.PASS} == {found.acceptance.verdict for found, _ in runs}
    assert all(all(hands.off_at_release) for _, hands in runs)


@pytest.mark.swept
def test_a_sound_unit_passes_once_the_right_plug_is_found() -> None:
    """A wrong plug first is no fail: it counts for nothing, and with the right one the unit passes."""
    runs = [checked("sound", seed, (1,)) for seed in range(RUNS)]
    honest = [found.acceptance.verdict for found, hands in runs if hands.finds_it and hands.forgotten < 0]

    assert len(honest) > RUNS // 5
    assert {Verdict.PASS} == set(honest)
