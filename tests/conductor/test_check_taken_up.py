"""A periodic check broken off at any boundary and taken up again, on a bench in memory, judges as an unbroken one."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from commission.cli.background import background_of
from commission.conductor.conductor import Ended
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.measured import Trial, Watch
from commission.evidence.runs import RunResumed, RunStarted
from commission.jobs.check import periodic_check
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.meeting.identity import Surroundings
from commission.records.continuation import broken_off
from commission.vocabulary import Outcome
from tests.support.fake_bench import RUN, FakeBench
from tests.support.made import ended
from tests.support.sweeps import a_part_of_pairs

TODAY = date(2031, 3, 14)
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0, wiggle_s=5, wiggle_readings=50)
PORT = PortIdentity("", "", "", "fake")
NOT_RELEASED = {"function.now": True, "function.release": False, "function.power.reason": "no time"}
FULL = Subject(Surroundings("bench-3", PORT), "R. Okafor", TODAY, PLAN, steady_s=2.0, full=True)
BRIEF = replace(FULL, full=False)


async def run(bench: FakeBench, subject: Subject, *, stop_at: str = "") -> Ended[JobResult]:
    """One call of the command: a run from the start, or the broken-off one taken up again."""
    purpose = "full check" if subject.full else "brief check"
    broken = broken_off(bench.book, "bench-3", purpose)
    kind = RunStarted if broken is None else RunResumed
    bench.book.append(RUN, kind(number=RUN, tag="bench-3", purpose=purpose, plan=PLAN))
    known = background_of(bench.book, "bench-3", "fake", TODAY, broken=broken)
    bench.desk.stop_at, bench.desk.asked = stop_at, []
    came_to = await bench.run(periodic_check(replace(subject, continuation=known.continuation)))
    verdict = "not judged" if came_to.result is None else came_to.result.verdict.value
    bench.book.append(RUN, ended(verdict, came_to.outcome.value, why="stopped"))
    return came_to


def judged(bench: FakeBench) -> CheckJudged:
    """What the check came to, criterion by criterion."""
    return bench.desk.findings[CheckJudged]


async def unbroken(folder: Path, subject: Subject, **how: object) -> CheckJudged:
    """What an unbroken check of the same printer comes to."""
    bench = bench_with(folder, **how)
    assert Outcome.COMPLETE is (await run(bench, subject)).outcome
    return judged(bench)


def bench_with(folder: Path, **how: object) -> FakeBench:
    """A bench whose unit is built like this."""
    bench = FakeBench(folder)
    for name, value in how.items():
        setattr(bench, name, value)
    return bench


BUILT: Mapping[str, Mapping[str, bool]] = {
    "sound": {},
    "danger": {"unplugged_is_active": True},
    "inverted": {"inverted": True},
}
DONE_AT = {
    "unplug.ready": ["proof_test"],
    "function.now": ["proof_test", "power_off_test"],
    "sign_off.statement": ["proof_test", "power_off_test"],
}


@pytest.mark.swept
@pytest.mark.parametrize(("stop_at", "built"), a_part_of_pairs(list(DONE_AT), list(BUILT), one_in=3))
async def test_a_check_taken_up_judges_as_an_unbroken_one(tmp_path: Path, stop_at: str, built: str) -> None:
    """Each criterion reads the same to the letter, and nothing that was done by hand is done again."""
    expected = await unbroken(tmp_path / "unbroken", FULL, **BUILT[built])
    bench = bench_with(tmp_path, **BUILT[built])
    await run(bench, FULL, stop_at=stop_at)
    trials = len(bench.entries(Trial))
    await run(bench, FULL)

    assert expected == judged(bench)
    assert trials == len(bench.entries(Trial))
    stood = [found.phase for found in bench.desk.findings.of(TakenOver)]
    assert DONE_AT[stop_at] == stood
    assert [] == bench.book.verify()


async def test_a_brief_check_broken_off_at_its_sign_off_is_only_judged_again(tmp_path: Path) -> None:
    """The trials and the wiggle stand; the condition is looked at again, and it is judged as an unbroken one."""
    expected = await unbroken(tmp_path / "unbroken", BRIEF)
    bench = bench_with(tmp_path)
    await run(bench, BRIEF, stop_at="sign_off.statement")
    await run(bench, BRIEF)

    assert expected == judged(bench)
    assert {"loop_check.ready", "wiggle.ready"}.isdisjoint(bench.desk.asked)
    watches = [watch.key for watch in bench.entries(Watch)]
    assert [2, 1] == [watches.count("steady"), watches.count("wiggle")]


async def test_a_phase_broken_off_inside_is_done_again_whole(tmp_path: Path) -> None:
    """Trials whose phase came to no end are taken again, and those of before are not judged with them."""
    expected = await unbroken(tmp_path / "unbroken", FULL)
    bench = bench_with(tmp_path)
    bench.follows = False
    await run(bench, FULL, stop_at="unplug.ready")
    first = judged_trials(bench)
    bench.follows, bench.answers = True, lambda key: False if key == "resume.wiring_untouched" else None
    await run(bench, FULL, stop_at="wiggle.ready")
    await run(bench, FULL)

    assert {"inactive"} == first
    assert expected == judged(bench)


def judged_trials(bench: FakeBench) -> set[str]:
    """What the dwells of all trials read."""
    return {reading.reading.value for trial in bench.entries(Trial) for reading in trial.dwell}


async def test_touched_wiring_has_everything_done_by_hand_again(tmp_path: Path) -> None:
    """What was shown with other wiring shows nothing of this one; the record says why it was done again."""
    bench = bench_with(tmp_path)
    await run(bench, FULL, stop_at="function.now")
    bench.answers = lambda key: False if key == "resume.wiring_untouched" else None
    await run(bench, FULL)

    taken_over = {found.phase: found for found in bench.desk.findings.of(TakenOver)}
    assert {"loop_check.ready", "wiggle.ready", "unplug.ready"} <= set(bench.desk.asked)
    assert "(the wiring was touched)" in taken_over["proof_test"].sentences[0]


async def test_changed_settings_void_what_a_restart_showed(tmp_path: Path) -> None:
    """Whether the watching survives a restart depends on what is stored; the trials do not."""
    bench = bench_with(tmp_path)
    await run(bench, FULL, stop_at="function.now")
    bench.answers = lambda key: False if key == "resume.settings_untouched" else None
    await run(bench, FULL)

    assert "unplug.ready" in bench.desk.asked
    assert "loop_check.ready" not in bench.desk.asked


async def test_another_printer_in_its_place_is_asked_about_once(tmp_path: Path) -> None:
    """A printer that announces itself otherwise than the run's is asked about; a no ends the run."""
    bench = bench_with(tmp_path)
    await run(bench, FULL, stop_at="unplug.ready")
    bench.identity = bench.identity.replace("Bench 3", "Bench 4")
    bench.answers = lambda key: False if key == "identity.same" else None
    came_to = await run(bench, FULL)

    assert Outcome.COMPLETE is not came_to.outcome
    assert 1 == bench.desk.asked.count("identity.same")
    assert "loop_check.ready" not in bench.desk.asked


async def test_a_check_with_nothing_done_by_hand_is_not_taken_up(tmp_path: Path) -> None:
    """The condition is looked at each time anyway, so that having looked at it is nothing to go on from."""
    bench = bench_with(tmp_path)
    await run(bench, FULL, stop_at="loop_check.ready")

    assert broken_off(bench.book, "bench-3", "full check") is None


async def test_a_function_test_that_was_done_is_judged_by_its_answers(tmp_path: Path) -> None:
    """Its verdict and its reasons are worked out again from them; it is not offered again."""
    expected = await unbroken(tmp_path / "unbroken", FULL, answers=NOT_RELEASED.get)
    bench = bench_with(tmp_path, answers=NOT_RELEASED.get)
    await run(bench, FULL, stop_at="sign_off.statement")
    await run(bench, FULL)

    assert expected == judged(bench)
    assert FunctionTest in bench.desk.findings
    assert {"function.now", "function.mode", "gates.display"}.isdisjoint(bench.desk.asked)
    assert "function_test" in [found.phase for found in bench.desk.findings.of(TakenOver)]
