"""Two sensors in one run: each its own verdict, the run the worst of them, and which belongs to which path."""

from collections.abc import Callable
from pathlib import Path

import pytest

from commission.conductor.conductor import Ended
from commission.evidence.findings.loop import Acceptance, FailSafeFound, Polarity
from commission.evidence.findings.several import PathsSeen, SensorBegun, SensorsJudged, SensorsToTest
from commission.evidence.measured import Trial
from commission.evidence.runs import PhaseEnded
from commission.evidence.standing import RunStanding
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.vocabulary import FailSafe, Outcome, PunchClass, SwitchBehaviour, Verdict
from tests.support.fake_bench import RUN
from tests.support.installed import installation
from tests.support.two_sensor_bench import FIRST, SECOND, TwoSensorBench, both

SHORT = Plan(seed=20, cycles=6, countdown_s=1.0, wiggle_s=5.0, wiggle_readings=50)


async def carried_out(bench: TwoSensorBench) -> Ended[JobResult]:
    """Both sensors; a repair is put off."""
    bench.answers = lambda key: "later" if key == "walk.repair" else None
    return await bench.run(both(SHORT))


def verdicts(bench: TwoSensorBench) -> dict[str, Verdict]:
    """What each sensor came to."""
    return {each.sensor: each.verdict for each in bench.desk.findings[SensorsJudged].sensors}


def standing(bench: TwoSensorBench) -> RunStanding:
    """What stands of the run."""
    run = RunStanding(RUN)
    for record in bench.book.records():
        run.take(record)
    return run


async def test_each_of_two_sensors_is_tested(tmp_path: Path) -> None:
    """Both have trials, a polarity and an acceptance of their own, and the book is whole."""
    bench = TwoSensorBench(tmp_path)
    ended = await carried_out(bench)

    assert Ended(Outcome.COMPLETE, JobResult(Verdict.CONDITIONAL)) == ended, "six cycles are a short plan"
    assert {FIRST: Verdict.CONDITIONAL, SECOND: Verdict.CONDITIONAL} == verdicts(bench)
    assert (FIRST, SECOND) == bench.desk.findings[SensorsToTest].sensors
    assert [FIRST, SECOND] == list(dict.fromkeys(trial.switch for trial in bench.entries(Trial)))
    assert {trial.switch for trial in bench.entries(Trial)} == {
        record.about.sensor for record in bench.book.records(Trial)
    }
    assert [] == bench.book.verify()


async def test_nothing_of_one_sensor_takes_back_the_other(tmp_path: Path) -> None:
    """Of each sensor every trial and the acceptance count, though the same phases were carried out twice."""
    bench = TwoSensorBench(tmp_path)
    await carried_out(bench)
    run = standing(bench)

    counts = {name: [item for item in run.of_sensor(name).of(Trial) if item.counts] for name in (FIRST, SECOND)}
    assert 0 < len(counts[FIRST]) == len([each for each in run.of(Trial) if each.entry.switch == FIRST])
    assert 0 < len(counts[SECOND]) == len([each for each in run.of(Trial) if each.entry.switch == SECOND])
    assert "loop_check of filament 2" in [each.name for each in bench.entries(PhaseEnded)]
    for name in (FIRST, SECOND):
        assert run.of_sensor(name).newest(Acceptance) is not None


def unplugged_reads_in(bench: TwoSensorBench) -> None:
    """A broken wire of the second sensor reads as filament in."""
    bench.sensors[SECOND].unplugged_is_active = True


def inverted(bench: TwoSensorBench) -> None:
    """The second sensor reads the wrong way round."""
    bench.sensors[SECOND].inverted = True


@pytest.mark.parametrize(
    ("fault", "behaviour", "fail_safe"),
    [
        (unplugged_reads_in, SwitchBehaviour.DIRECT, FailSafe.DANGER),
        (inverted, SwitchBehaviour.INVERTED, FailSafe.SAFE),
    ],
)
async def test_the_worst_sensor_decides_the_run(
    tmp_path: Path, fault: Callable[[TwoSensorBench], None], behaviour: SwitchBehaviour, fail_safe: FailSafe
) -> None:
    """A fault of the second sensor fails it and the run; the first one keeps its verdict and its findings."""
    bench = TwoSensorBench(tmp_path)
    fault(bench)
    ended = await carried_out(bench)
    run = standing(bench)

    assert Verdict.FAIL is (ended.result and ended.result.verdict)
    assert {FIRST: Verdict.CONDITIONAL, SECOND: Verdict.FAIL} == verdicts(bench)
    first, second = run.of_sensor(FIRST), run.of_sensor(SECOND)
    assert SwitchBehaviour.DIRECT is getattr(first.newest(Polarity), "behaviour", None)
    assert (behaviour, fail_safe) == (
        getattr(second.newest(Polarity), "behaviour", None),
        getattr(second.newest(FailSafeFound), "fail_safe", None),
    )
    assert all(item.text.startswith(SECOND) for item in bench.desk.items if item.grade is PunchClass.UNSAFE)


async def test_swapped_sensors_fail_by_their_paths(tmp_path: Path) -> None:
    """Each plug in the other one's socket: both move, both read right, and only moving one filament shows it."""
    bench = TwoSensorBench(tmp_path)
    bench.swapped = True
    ended = await carried_out(bench)

    paths = bench.desk.findings[PathsSeen]
    assert Verdict.FAIL is paths.verdict
    assert [(FIRST, (SECOND,)), (SECOND, (FIRST,))] == [(each.sensor, each.followed) for each in paths.paths]
    assert Verdict.FAIL is (ended.result and ended.result.verdict)
    assert "NOT filament, which belongs to it" in " ".join(item.text for item in bench.desk.items)


async def test_a_dead_sensor_leaves_the_paths_open(tmp_path: Path) -> None:
    """It follows nothing, so its path is not proven; its own trials fail it."""
    bench = TwoSensorBench(tmp_path)
    bench.sensors[SECOND].dead = True
    ended = await carried_out(bench)

    assert Verdict.NOT_JUDGED is bench.desk.findings[PathsSeen].verdict
    assert [("drive 0", (FIRST,)), ("drive 1", ())] == [
        (each.path, each.followed) for each in bench.desk.findings[PathsSeen].paths
    ]
    assert Verdict.FAIL is verdicts(bench)[SECOND]
    assert Verdict.FAIL is (ended.result and ended.result.verdict)


async def test_the_sensors_can_be_chosen_when_asked(tmp_path: Path) -> None:
    """Without `--source` the choice has each sensor and all of them; one alone is tested as ever."""
    bench = TwoSensorBench(tmp_path)
    bench.answers = {"source.which": "all", "walk.repair": "later"}.get
    await bench.run(installation(SHORT))

    assert (FIRST, SECOND) == bench.desk.findings[SensorsToTest].sensors
    assert 2 == bench.desk.findings[SensorBegun].number
