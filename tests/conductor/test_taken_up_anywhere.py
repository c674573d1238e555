"""An installation and a full check broken off at any request and taken up again come to what an unbroken run does."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TypeVar

import pytest
from msgspec import structs

from commission.asking.moving import Say
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps
from commission.asking.table import ANSWERED
from commission.cli.background import background_of
from commission.conductor.conductor import Ended
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import Acceptance, Polarity
from commission.evidence.findings.meeting import ChangesSince, PrinterMarks, TakenOver
from commission.evidence.findings.series import TrialSeries
from commission.evidence.findings.settings import SettingsFiles, SettingsReported
from commission.evidence.findings.wiring import PredictedAndMeasured
from commission.evidence.found import Established
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
from commission.vocabulary import Outcome
from tests.settings.reports import OLDER
from tests.support.fake_bench import RUN, FakeBench
from tests.support.made import ended
from tests.support.sweeps import as_many

_T = TypeVar("_T")
TODAY = date(2031, 3, 14)
NEXT_DAY = "2031-03-15"
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "fake"))
SUBJECT = Subject(HERE, "R. Okafor", TODAY, PLAN, steady_s=1.0, full=True)
NEVER = 10_000
OF_THE_TAKING_UP = (TakenOver, ChangesSince, PrinterMarks, SettingsFiles)
"""Findings that tell of the taking up itself, or of files that got a number because they were written twice."""
COUNTS_ON = (Acceptance, CheckJudged, Polarity, PredictedAndMeasured, TrialSeries, loop.TestsDone)
"""Findings that count trials: those of a phase that was broken off count on, and the one under way is set aside."""
ANSWERS: dict[str, bool | str] = {
    **{f"{name}.now": True for name in ("wiring", "claims", "mechanical", "meter", "reserve", "backup", "restore")},
    **{f"{name}.now": True for name in ("function", "function.power")},
    "series.since": "nothing",
    "wiring.sensor": "switch",
    "wiring.wires": "2",
    "wiring.contact": "NO",
    "wiring.conducts-when": "in",
    "wiring.pull": "up",
    "claims.name": "RUNOUT",
    "claims.also": "none",
    "meter.signal_ground_in": "joined",
    "meter.reason": "it is behind the board",
    "mechanical.drag": "declared",
    "moving.how": "motors",
    "reserve.trip_to_gear": "60",
    "reflash.stays": False,
    "way_back.old": False,
    "way_back.new": False,
    "watching.stays": False,
    "watching.distance": "20",
    "function.release": False,
    "function.mode": "dry",
    "walk.repair": "later",
}
Job = Callable[[Background], Steps[JobResult]]


class TalkingBench(FakeBench):
    """A bench whose printer also reports its settings, and whose operator leaves nothing out but what moves."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.answers = ANSWERS.get

    def _printer(self, line: str) -> bytes | None:
        if "M503" in line:
            return OLDER.encode() + b"\nok\n"
        return super()._printer(line)


def install(background: Background) -> Steps[JobResult]:
    """The whole job; it goes on another day than it began."""
    day = TODAY.isoformat() if background.continuation is None else NEXT_DAY
    return install_run(PLAN, "R. Okafor", background, Sheet("bench-3", day))


def full_check(background: Background) -> Steps[JobResult]:
    """The whole check."""
    return periodic_check(replace(SUBJECT, continuation=background.continuation))


JOBS: dict[str, Job] = {"install": install, "full check": full_check}


def broken_at(steps: Steps[_T], number: int, count: list[int]) -> Steps[_T]:
    """The same steps, but the request of that number is interrupted instead of answered."""
    response: object = None
    broken: Interrupted | None = None
    while True:
        try:
            request = steps.send(response) if broken is None else steps.throw(broken)
        except StopIteration as end:
            result: _T = end.value
            return result
        response = broken = None
        count[0] += isinstance(request, (*ANSWERED, Say))
        if count[0] == number:
            count[0] += 1
            broken = Interrupted(Interruption(InterruptionKind.OPERATOR_STOP, "Somebody had to go."))
            continue
        try:
            response = yield request
        except Interrupted as thrown:
            broken = thrown


async def carried_out(bench: FakeBench, purpose: str, number: int = NEVER) -> tuple[Ended[JobResult], int]:
    """One call of the command, from the start or taken up again, broken off at a request; how many there were."""
    broken = broken_off(bench.book, "bench-3", purpose)
    kind = RunStarted if broken is None else RunResumed
    bench.book.append(RUN, kind(number=RUN, tag="bench-3", purpose=purpose, plan=PLAN))
    background = background_of(bench.book, "bench-3", "fake", TODAY, broken=broken)
    count = [0]
    came_to = await bench.run(broken_at(JOBS[purpose](background), number, count))
    verdict = "not judged" if came_to.result is None else came_to.result.verdict.value
    bench.book.append(RUN, ended(verdict, came_to.outcome.value, why="Somebody had to go."))
    return came_to, count[0]


def found(bench: FakeBench) -> dict[str, Finding]:
    """The newest finding of each kind."""
    findings = (each.finding for each in bench.entries(Established))
    left_out = (*OF_THE_TAKING_UP, *COUNTS_ON)
    return {each.name(): _any_day(each) for each in findings if not isinstance(each, left_out)}


def _any_day(finding: Finding) -> Finding:
    """It as of no day in particular: what was not done before is done on the next one."""
    return structs.replace(finding, day="") if isinstance(finding, SettingsReported) else finding


APART = as_many(61, 6)
"""So many requests lie between two at which a run is broken off; all of them, a few hundred, take some minutes."""


@pytest.mark.swept
@pytest.mark.parametrize("purpose", ["install", "full check"])
async def test_a_run_broken_off_anywhere_comes_to_the_same(tmp_path: Path, purpose: str) -> None:
    """Its verdict and every finding that counts no trials are those of an unbroken run."""
    whole = TalkingBench(tmp_path / "whole")
    expected, requests = await carried_out(whole, purpose)
    assert Outcome.COMPLETE is expected.outcome
    of_the_whole, differs = found(whole), {}
    for number in range(1, requests + 1, APART):
        bench = TalkingBench(tmp_path / str(number))
        await carried_out(bench, purpose, number)
        bench.unplugged, bench.present, bench.laid = False, False, ""  # the person puts it as it was at the beginning
        came_to, _ = await carried_out(bench, purpose)
        if (expected.result, of_the_whole) != (came_to.result, found(bench)):
            differs[number] = [name for name, each in of_the_whole.items() if each != found(bench).get(name)]
        bench.book.close()

    assert {} == differs


async def test_a_run_taken_up_at_its_end_asks_nothing_twice(tmp_path: Path) -> None:
    """Broken off at its sign-off, an installation asks only what it asks each time; every phase stands."""
    bench = TalkingBench(tmp_path)
    bench.desk.stop_at = "sign_off.statement"
    await carried_out(bench, "install")
    bench.desk.stop_at, bench.desk.asked = "", []
    await carried_out(bench, "install")

    again = {"resume.wiring_untouched", "next_check.usual", "next_check.agreed", "consent.unattended"}
    assert set(bench.desk.asked) == again | {"sign_off.remark", "sign_off.statement"}
