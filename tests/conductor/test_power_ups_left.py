"""A bad unplugged reading cannot be stopped away: the next loop check of the printer still has it."""

from pathlib import Path

import pytest

from commission.cli.background import series_of
from commission.judge.plan import Plan
from commission.judge.trial_series import SeriesSoFar
from commission.procedure.loop.loop_check import LoopChecked, loop_check
from commission.vocabulary import FailSafe, Outcome, Verdict
from tests.support.fake_bench import RUN, FakeBench
from tests.support.made import begun, ended

PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, wiggle_s=5, wiggle_readings=50)
SECOND = "bench-3/2031-03-14/2"
NAME = "unplugged in what was broken off"


async def stopped_at(bench: FakeBench, key: str) -> SeriesSoFar:
    """The series after a loop check in which the operator stopped there."""
    bench.book.append(RUN, begun(RUN))
    bench.desk.stop_at = key
    came_to = await bench.run(loop_check(PLAN, "filament"))
    assert Outcome.STOPPED is came_to.outcome
    bench.book.append(RUN, ended("not judged", came_to.outcome.value, why="stopped"))
    return series_of(bench.book, "bench-3").now


async def begun_anew(bench: FakeBench, so_far: SeriesSoFar) -> LoopChecked:
    """Another loop check of the same printer, done to its end, with whatever the input reads now."""
    bench.book.append(SECOND, begun(SECOND))
    bench.desk.stop_at = ""
    bench.unplugged, bench.unplugged_is_active = False, False
    came_to = await bench.run(loop_check(PLAN, "filament", so_far), SECOND)
    assert came_to.result is not None
    return came_to.result


async def test_a_reading_that_was_stopped_away_fails_the_next_check(tmp_path: Path) -> None:
    """It read in with the sensor unplugged; then it reads out, twice: the check fails all the same."""
    bench = FakeBench(tmp_path)
    bench.unplugged_is_active = True
    so_far = await stopped_at(bench, "unplug.2")
    checked = await begun_anew(bench, so_far)
    (criterion,) = [each for each in checked.acceptance.criteria if each.name == NAME]

    assert (1, 0) == (so_far.unplugged_bad, so_far.unplugged_open)
    assert (FailSafe.SAFE, Verdict.FAIL) == (checked.fail_safe, checked.acceptance.verdict)
    assert (Verdict.FAIL, True) == (criterion.verdict, "1 power-up" in criterion.observed)


@pytest.mark.parametrize("key", ["unplug.1", "unplug.2", "unplug.reconnect"])
async def test_a_good_reading_that_was_broken_off_stands_against_nothing(tmp_path: Path, key: str) -> None:
    """A stop for another reason costs nothing but the power-ups."""
    bench = FakeBench(tmp_path)
    so_far = await stopped_at(bench, key)
    checked = await begun_anew(bench, so_far)

    assert (0, 0) == (so_far.unplugged_bad, so_far.unplugged_open)
    assert NAME not in {each.name for each in checked.acceptance.criteria}
