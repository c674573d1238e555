"""The whole soak on a bench in memory: what it asks, what it comes to, and how it is taken up again."""

from pathlib import Path

import pytest

from commission.asking.soak import Soak, SoakTaken
from commission.evidence.findings.soak import Soaked
from commission.evidence.runs import Note
from commission.evidence.soaked import SoakBegan, SoakStretch
from commission.jobs.install import JobResult
from commission.jobs.soak import SoakPlan, Unfinished, soaked
from commission.judge.nuisance import Around
from commission.link.identity import PortIdentity
from commission.procedure.loop.soak import soak
from commission.procedure.meeting.identity import Surroundings
from commission.records.soaks import bounds_on_record, unfinished_soak
from commission.vocabulary import Outcome, Verdict
from tests.support.fake_bench import RUN, FakeBench
from tests.support.made import begun, ended
from tests.support.scripted_phase import ScriptedPhase

SURROUNDINGS = Surroundings("bench-3", PortIdentity("", "", "", "fake"))
NEXT = RUN.removesuffix("1") + "2"


def plan(seconds: float, **changed: object) -> SoakPlan:
    """A soak of so long, attended."""
    return SoakPlan(SURROUNDINGS, seconds, **changed)  # type: ignore[arg-type]


async def run(bench: FakeBench, what: SoakPlan, number: str = RUN) -> Verdict | None:
    """The run from its beginning to its end, as the book has it."""
    bench.book.append(number, begun(number, purpose="soak"))
    done = await bench.run(soaked(what), number)
    if done.outcome is Outcome.COMPLETE:
        bench.book.append(number, ended())
    result = done.result
    assert result is None or isinstance(result, JobResult)
    return None if result is None else result.verdict


@pytest.fixture(name="bench")
def _bench(tmp_path: Path) -> FakeBench:
    """A bench with filament in."""
    bench = FakeBench(tmp_path)
    bench.present = True
    return bench


async def test_a_clean_soak_passes(bench: FakeBench) -> None:
    """What was watched stands as a finding, and nothing but questions went out."""
    assert Verdict.PASS is await run(bench, plan(120.0))

    (found,) = bench.found(Soaked)
    assert [(Around.AT_REST, 0)] == [(each.around, each.changes) for each in found.shown]
    assert 89.9 == pytest.approx(found.shown[0].per_hour, abs=1.0)  # 3600 * 2.996 / 120 s
    assert {"M115", "M119", "M27", "M412"} >= set(bench.links[-1].sent)


async def test_one_change_fails_a_soak(bench: FakeBench) -> None:
    """Every change is unwanted: nobody touches anything."""
    bench.surprise = lambda queries: _turned(bench, queries)

    assert Verdict.FAIL is await run(bench, plan(60.0))


def _turned(bench: FakeBench, queries: int) -> None:
    bench.present = not 200 < queries < 210


async def test_a_soak_without_filament_is_not_judged(bench: FakeBench) -> None:
    """It reads out all the time: what was watched was another state."""
    bench.present = False

    assert Verdict.NOT_JUDGED is await run(bench, plan(60.0))


def test_a_soak_that_was_not_watched_is_not_judged() -> None:
    """Nothing of nothing is no pass, and no misread either: it says only that too little could be read."""
    request = Soak("soak", "Soak", (), "filament", 60.0)
    played = ScriptedPhase(other=lambda asked: SoakTaken((), 100.0) if asked is request else None).play(soak(request))
    found = played.findings[Soaked]

    assert Verdict.NOT_JUDGED is played.result is found.verdict
    assert found.misread is None
    assert ("Nothing was watched in 1.7 min: too little could be read.",) == found.sentences


async def test_a_broken_off_soak_is_taken_up_again(bench: FakeBench) -> None:
    """What was watched before stays and the time between is not counted: both together are what was planned."""
    bench.surprise = lambda queries: _lost(bench) if queries == 605 else None
    assert await run(bench, plan(300.0)) is None
    before = unfinished_soak(bench.book, "bench-3")
    assert before is not None
    assert (RUN, 300.0, False) == (before.run, before.planned_s, before.printing)
    assert 55.0 < before.watched_s < 61.0
    bench.clock.elapsed_s += 5000.0
    bench.surprise = lambda _queries: None

    left = Unfinished(before.run, before.planned_s, before.watched_s, before.switch)
    assert Verdict.PASS is await run(bench, plan(300.0, unattended=True, unfinished=left), NEXT)

    assert [RUN] == [each.follows for each in bench.entries(SoakBegan) if each.follows]
    watched_s = sum(each.exposure_s for each in bench.entries(SoakStretch))
    assert 300.0 == pytest.approx(watched_s, abs=1.0)
    (bound,) = bounds_on_record(bench.book, "bench-3")
    assert watched_s == pytest.approx(bound.seconds)
    assert unfinished_soak(bench.book, "bench-3") is None


def _lost(bench: FakeBench) -> bytes:
    bench.links[-1].lose()
    return b""


async def test_a_recorded_change_begins_the_count_anew(bench: FakeBench) -> None:
    """What was watched before the wiring was changed says nothing of the wiring now."""
    await run(bench, plan(60.0))
    assert bounds_on_record(bench.book, "bench-3")

    bench.book.append("notes", Note(tag_of_printer="bench-3", what="rewiring", text="New plug.", person="Ada"))

    assert () == bounds_on_record(bench.book, "bench-3")


async def test_a_print_that_begins_is_read_once_a_second_and_counted_apart(bench: FakeBench) -> None:
    """What was read since the card was last asked counts for nothing; beside the print it is a condition of its own."""
    bench.prints_from_s, bench.prints_to_s = 60.0, 160.0

    assert Verdict.PASS is await run(bench, plan(200.0))

    stretches = bench.entries(SoakStretch)
    assert ["a print from the card began in it"] == [each.set_aside for each in stretches if each.set_aside]
    (found,) = bench.found(Soaked)
    assert [Around.AT_REST, Around.PRINTING] == [each.around for each in found.shown]
    beside = [each for each in stretches if each.around is Around.PRINTING]
    assert all(each.readings <= each.ended_s - each.began_s + 1 for each in beside)
