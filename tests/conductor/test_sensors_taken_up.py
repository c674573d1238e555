"""Two sensors: an installation and a check broken off in the middle of one sensor come to what an unbroken run does."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from msgspec import structs

from commission.asking.steps import Steps
from commission.cli.background import background_of
from commission.conductor.conductor import Ended
from commission.desk.base import OperatorStop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.findings.reported import SwitchesNow
from commission.evidence.findings.several import SensorsJudged
from commission.evidence.found import Established
from commission.evidence.measured import Trial
from commission.evidence.runs import RunResumed, RunStarted
from commission.jobs.check import periodic_check
from commission.jobs.install import JobResult, install_run
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.settings.record import Sheet
from commission.records.continuation import broken_off
from commission.vocabulary import Outcome, PunchClass, Verdict
from tests.conductor.test_taken_up_anywhere import COUNTS_ON, NEVER, OF_THE_TAKING_UP, broken_at
from tests.support.fake_bench import RUN
from tests.support.fake_desk import Answers
from tests.support.made import ended
from tests.support.sweeps import a_part, as_many
from tests.support.two_sensor_bench import FIRST, NAMES, SECOND, TwoSensorBench

TODAY = date(2031, 3, 14)
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "fake"))
APART = as_many(83, 12)
"""So many requests lie between two at which a run is broken off."""
ANSWERS: dict[str, bool | str] = {
    **{f"{name}.now": True for name in ("wiring", "claims", "mechanical", "reserve", "function")},
    "series.since": "nothing",
    "wiring.sensor": "switch",
    "wiring.wires": "2",
    "wiring.contact": "NO",
    "wiring.conducts-when": "in",
    "wiring.pull": "up",
    "claims.name": "RUNOUT",
    "claims.also": "none",
    "mechanical.drag": "declared",
    "reserve.trip_to_gear": "60",
    "function.release": False,
    "function.mode": "dry",
    "source.which": "all",
    "walk.repair": "later",
}
Job = Callable[[Background], Steps[JobResult]]


def install(background: Background) -> Steps[JobResult]:
    """The whole job."""
    return install_run(PLAN, "R. Okafor", background, Sheet("bench-3", TODAY.isoformat()))


def check(background: Background, *, full: bool) -> Steps[JobResult]:
    """The whole check of both sensors."""
    one = Subject(HERE, "R. Okafor", TODAY, PLAN, steady_s=1.0, full=full, continuation=background.continuation)
    each = tuple(replace(one, switch=name, of_several=True, series=background.series.of_sensor(name)) for name in NAMES)
    return periodic_check(replace(one, each=each))


JOBS: dict[str, Job] = {
    "install": install,
    "brief check": lambda background: check(background, full=False),
    "full check": lambda background: check(background, full=True),
}


async def carried_out(
    bench: TwoSensorBench, purpose: str, number: int = NEVER, answers: Answers = ANSWERS.get
) -> tuple[Ended[JobResult], int]:
    """One call of the command, from the start or taken up again, broken off at a request; how many there were."""
    bench.answers = answers
    broken = broken_off(bench.book, "bench-3", purpose)
    kind = RunStarted if broken is None else RunResumed
    bench.book.append(RUN, kind(number=RUN, tag="bench-3", purpose=purpose, plan=PLAN))
    background = background_of(bench.book, "bench-3", "fake", TODAY, broken=broken, purpose=purpose)
    count = [0]
    came_to = await bench.run(broken_at(JOBS[purpose](background), number, count))
    verdict = "not judged" if came_to.result is None else came_to.result.verdict.value
    bench.book.append(RUN, ended(verdict, came_to.outcome.value, why="Somebody had to go."))
    return came_to, count[0]


def found(bench: TwoSensorBench) -> dict[tuple[str, str], Finding]:
    """The newest finding of each kind, of each sensor and of none."""
    left_out = (*OF_THE_TAKING_UP, *COUNTS_ON, SwitchesNow)  # how they are now depends on where the filament was left
    kept = ((record.about.sensor, record.entry.finding) for record in bench.book.records(Established))
    return {(sensor, each.name()): each for sensor, each in kept if not isinstance(each, left_out)}


def judged(bench: TwoSensorBench) -> dict[str, CheckJudged]:
    """What the check came to for each sensor; its sentences count trials, and one that was broken off counts too."""
    return {
        record.about.sensor: structs.replace(record.entry.finding, sentences=(), criteria=())
        for record in bench.book.records(Established)
        if isinstance(record.entry.finding, CheckJudged)
    }


@pytest.mark.swept
@pytest.mark.parametrize("purpose", list(JOBS))
async def test_a_run_broken_off_anywhere_comes_to_the_same(tmp_path: Path, purpose: str) -> None:
    """Its verdict, the verdict on each sensor, and every finding that counts no trials."""
    whole = TwoSensorBench(tmp_path / "whole")
    expected, requests = await carried_out(whole, purpose)
    assert Outcome.COMPLETE is expected.outcome
    of_the_whole, as_judged, differs = found(whole), judged(whole), {}
    for number in range(1, requests + 1, APART):
        bench = TwoSensorBench(tmp_path / str(number))
        await carried_out(bench, purpose, number)
        bench.put_right()
        came_to, _ = await carried_out(bench, purpose)
        if (expected.result, of_the_whole, as_judged) != (came_to.result, found(bench), judged(bench)):
            differs[number] = [name for name, each in of_the_whole.items() if each != found(bench).get(name)]
        assert [] == bench.book.verify()
        bench.book.close()

    assert {} == differs


async def stopped_at_the_second(bench: TwoSensorBench, purpose: str, key: str) -> None:
    """A run that somebody stops at this question, once the second sensor is under test."""

    def until_then(asked: str) -> bool | str | None:
        if asked == key and bench.under_test == SECOND:
            raise OperatorStop("stopped by Ctrl-C")
        return ANSWERS.get(asked)

    stopped, _ = await carried_out(bench, purpose, answers=until_then)
    assert Outcome.COMPLETE is not stopped.outcome


def trials_of(bench: TwoSensorBench, sensor: str) -> int:
    """How many trials the book has of a sensor."""
    return sum(trial.switch == sensor for trial in bench.entries(Trial))


STOPPED = [
    ("install", "wiggle.ready", {FIRST: "loop_check"}),
    ("install", "function.mode", {FIRST: "loop_check", SECOND: "loop_check"}),
    ("full check", "unplug.ready", {FIRST: "proof_test", SECOND: "proof_test"}),
]
"""The job, the question at which it is stopped in the second sensor, and which phases stand for which sensor."""


@pytest.mark.swept
@pytest.mark.parametrize(("purpose", "key", "stands"), a_part(STOPPED, one_in=3))
async def test_what_hands_did_stands_for_its_sensor(
    tmp_path: Path, purpose: str, key: str, stands: dict[str, str]
) -> None:
    """Stopped in the second sensor, the first is done by hand once; the second as far as it had come."""
    bench = TwoSensorBench(tmp_path)
    await stopped_at_the_second(bench, purpose, key)
    before = {name: trials_of(bench, name) for name in NAMES}
    bench.put_right()
    await carried_out(bench, purpose)

    taken_over = {
        (record.about.sensor, record.entry.finding.phase)
        for record in bench.book.records(Established)
        if isinstance(record.entry.finding, TakenOver)
    }
    assert set(stands.items()) == {each for each in taken_over if each[1] in stands.values()}
    told = [sentence for each in bench.desk.findings.of(TakenOver) for sentence in each.sentences]
    assert any(each.startswith(f"{FIRST}: Already done in this run and still valid: ") for each in told)
    assert before[FIRST] == trials_of(bench, FIRST) > 0
    assert (before[SECOND] == trials_of(bench, SECOND)) is (SECOND in stands)


@pytest.mark.parametrize("purpose", ["install", "brief check", "full check"])
async def test_a_sensor_that_fails_after_the_stop_fails_alone(tmp_path: Path, purpose: str) -> None:
    """Stopped before the second one's trials, which then reads inverted: the first keeps its verdict, the run fails."""
    bench = TwoSensorBench(tmp_path)
    await stopped_at_the_second(bench, purpose, "loop_check.ready")
    bench.put_right()
    bench.sensors[SECOND].inverted = True
    ended_with, _ = await carried_out(bench, purpose)

    verdicts = {each.sensor: each.verdict for each in bench.desk.findings[SensorsJudged].sensors}
    assert Verdict.FAIL is verdicts[SECOND]
    assert Verdict.FAIL is not verdicts[FIRST]
    assert Verdict.FAIL is (ended_with.result and ended_with.result.verdict)


async def test_touched_wiring_voids_the_trials_of_both(tmp_path: Path) -> None:
    """Nobody knows which cable was touched, so each sensor is worked by hand again."""
    bench = TwoSensorBench(tmp_path)
    await stopped_at_the_second(bench, "full check", "unplug.ready")
    before = {name: trials_of(bench, name) for name in NAMES}
    bench.put_right()
    touched = ANSWERS | {"resume.wiring_untouched": False}
    await carried_out(bench, "full check", answers=touched.get)

    assert all(trials_of(bench, name) > before[name] > 0 for name in NAMES)


async def test_each_sensor_is_checked_for_itself(tmp_path: Path) -> None:
    """The second one's broken wire fails the second one and the check; the record has both apart."""
    bench = TwoSensorBench(tmp_path)
    bench.sensors[SECOND].unplugged_is_active = True
    came_to, _ = await carried_out(bench, "full check")

    assert {FIRST, SECOND} == set(judged(bench))
    assert Verdict.FAIL is judged(bench)[SECOND].verdict
    assert Verdict.FAIL is not judged(bench)[FIRST].verdict
    assert Verdict.FAIL is (came_to.result and came_to.result.verdict)
    assert all(SECOND in item.text for item in bench.desk.items if item.grade is PunchClass.UNSAFE)
