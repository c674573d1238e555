"""A soak, a function test and a diagnosis of one of two sensors: it is named, and the other one is left out of it."""

from pathlib import Path

import pytest

from commission.asking.steps import Steps, establish
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.several import SensorBegun, SensorsJudged, SensorsToTest
from commission.evidence.runs import PhaseStarted
from commission.evidence.talk import Asked, ReleaseAsked, Told
from commission.jobs.diagnosis import paper_run
from commission.jobs.function import function_run
from commission.jobs.install import JobResult
from commission.jobs.several import turn_of
from commission.jobs.soak import SoakPlan, Unfinished, soaked
from commission.link.identity import PortIdentity
from commission.procedure.function.plan import FunctionPlan
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.wiring.declaration import wiring
from commission.records.soaks import exposed_on_record, unfinished_soak
from commission.vocabulary import Outcome, Verdict
from tests.conductor.test_sensors_taken_up import ANSWERS
from tests.support.fake_bench import RUN, FakeBench
from tests.support.made import begun, ended
from tests.support.two_sensor_bench import FIRST, NAMES, SECOND, TwoSensorBench

NEXT = RUN.removesuffix("1") + "2"
ALONE = "This printer has 2 sensors. This run is about filament 2 alone; not about filament."


def of(sensor: str) -> Surroundings:
    """The printer, with the sensor that is named on the command line."""
    return Surroundings("bench-3", PortIdentity("", "", "", "fake"), source=sensor)


@pytest.fixture(name="bench")
def _bench(tmp_path: Path) -> TwoSensorBench:
    """A bench of whose two sensors an earlier run tells, both with filament in."""
    bench = TwoSensorBench(tmp_path)
    bench.book.append(RUN, begun(RUN, purpose="install"))
    for sensor in bench.sensors.values():
        sensor.present = True
    return bench


async def run(bench: TwoSensorBench, steps: Steps[JobResult], purpose: str) -> JobResult | None:
    """The run after the one on record, in which only the first sensor's wiring was declared."""
    answers, bench.answers = bench.answers, ANSWERS.get
    await bench.run(_tested_together())
    bench.answers = answers
    bench.desk.items.clear()
    bench.book.append(RUN, ended())
    bench.book.append(NEXT, begun(NEXT, purpose=purpose))
    done = await bench.run(steps, NEXT)
    bench.book.append(NEXT, ended("not judged", done.outcome.value))
    return done.result


def _tested_together() -> Steps[None]:
    yield from establish(SensorsToTest(sentences=(), sensors=NAMES))
    yield from establish(turn_of(FIRST, 1, 2))
    yield from wiring()
    yield from establish(turn_of(SECOND, 2, 2))


def told(bench: FakeBench) -> str:
    """Everything that the run said."""
    return " ".join(line for record in bench.book.records(Told, run=NEXT) for line in record.entry.lines)


def questions(bench: FakeBench) -> dict[str, str]:
    """What was asked, by its key."""
    return {record.entry.key: record.entry.question for record in bench.book.records(Asked, run=NEXT)}


async def test_a_soak_of_one_sensor_counts_for_it(bench: TwoSensorBench) -> None:
    """It says which one it watches, and what it watched is held against that one and not against the other."""
    came_to = await run(bench, soaked(SoakPlan(of(SECOND), 60.0, sensors=NAMES)), "soak")

    assert Verdict.PASS is (came_to and came_to.verdict)
    assert ALONE in told(bench)
    assert questions(bench)["soak.ready"].startswith(f"{SECOND}: ")
    assert SECOND == bench.desk.findings[SensorBegun].sensor
    assert 60.0 <= sum(each.seconds for each in exposed_on_record(bench.book, "bench-3", sensor=SECOND))
    assert [] == exposed_on_record(bench.book, "bench-3", sensor=FIRST)


@pytest.mark.parametrize(("sensor", "planned_s"), [(FIRST, 60.0), (SECOND, 20.0)])
async def test_a_soak_takes_up_that_of_its_sensor(bench: TwoSensorBench, sensor: str, planned_s: float) -> None:
    """What is left of a soak of the second sensor is no part of one of the first."""
    before = Unfinished(RUN, planned_s=100.0, watched_s=80.0, switch=SECOND)
    await run(bench, soaked(SoakPlan(of(sensor), 60.0, sensors=NAMES, unfinished=before)), "soak")

    assert ("soak.resume" in questions(bench)) is (sensor == SECOND)
    watched_s = sum(each.seconds for each in exposed_on_record(bench.book, "bench-3", sensor=sensor))
    assert planned_s == pytest.approx(watched_s, abs=1.0)


def lost(bench: TwoSensorBench) -> bytes:
    """The cable is pulled."""
    bench.links[-1].lose()
    return b""


async def test_a_soak_that_was_lost_is_remembered_with_its_sensor(bench: TwoSensorBench) -> None:
    """So that the next one knows whose rest it is."""
    bench.surprise = lambda queries: lost(bench) if queries == 200 else None
    assert None is await run(bench, soaked(SoakPlan(of(SECOND), 600.0, sensors=NAMES)), "soak")

    before = unfinished_soak(bench.book, "bench-3")
    assert SECOND == (before and before.switch)


async def test_a_function_test_asks_for_the_active_tool(bench: TwoSensorBench) -> None:
    """Where another tool is active nothing moves: it would feed the other filament, and the sensor is named as open."""
    bench.answers = lambda key: False if key == "function.active_tool" else None
    plan = FunctionPlan(pauses=1)
    came_to = await run(bench, function_run(plan, "R. Okafor", of(SECOND), sensors=NAMES), "function")

    assert Verdict.NOT_JUDGED is (came_to and came_to.verdict)
    assert ALONE in told(bench)
    assert questions(bench)["function.active_tool"].startswith(f"{SECOND}: ")
    assert "another tool is active" == bench.desk.findings[FunctionTest].reason
    assert [f"{SECOND}: Whether the printer pauses was not tested."] == [item.text for item in bench.desk.items]
    assert "--source 'filament 2'" in bench.desk.items[0].cure
    assert not [line for link in bench.links for line in link.sent if line.startswith(("G", "M104", "M109", "M302"))]


async def test_a_function_test_names_its_sensor_throughout(bench: TwoSensorBench) -> None:
    """Its phase, its release and its questions are those of the sensor; the sign-off is that of the run."""
    bench.answers = lambda key: False if key == "function.release" else None
    await run(bench, function_run(FunctionPlan(pauses=1), "R. Okafor", of(SECOND), sensors=NAMES), "function")

    begun_phases = [record.entry.name for record in bench.book.records(PhaseStarted, run=NEXT)]
    assert "function_test of filament 2" in begun_phases
    asked = questions(bench)
    assert all(text.startswith(f"{SECOND}: ") for key, text in asked.items() if key.startswith(("gates.", "function.")))
    assert not asked["sign_off.remark"].startswith(SECOND)


async def test_a_function_test_of_all_takes_each_in_turn(bench: TwoSensorBench) -> None:
    """Each has its phase, its question for the tool and its release; no release of one counts for the other."""
    bench.answers = lambda key: False if key == "function.release" else None
    plan = FunctionPlan(pauses=1)
    came_to = await run(bench, function_run(plan, "R. Okafor", of("all"), sensors=NAMES), "function")

    entries = [record.entry for record in bench.book.records(Asked, run=NEXT)]
    phases = [record.entry.name for record in bench.book.records(PhaseStarted, run=NEXT)]
    assert Verdict.NOT_JUDGED is (came_to and came_to.verdict)
    assert ["function_test of filament", "function_test of filament 2"] == [
        name for name in phases if name.startswith("function_test")
    ]
    asked_of = [entry.question.partition(": ")[0] for entry in entries if entry.key == "function.active_tool"]
    releases = [record.entry.title.partition(": ")[0] for record in bench.book.records(ReleaseAsked, run=NEXT)]
    assert (list(NAMES), list(NAMES)) == (asked_of, releases)
    assert list(NAMES) == [each.sensor for each in bench.desk.findings[SensorsJudged].sensors]
    assert not [line for link in bench.links for line in link.sent if line.startswith(("G", "M104", "M109", "M302 "))]


@pytest.mark.parametrize(("named", "kept"), [("all", [NAMES, NAMES]), ("filament 2,filament 2", [NAMES])])
async def test_a_part_takes_nothing_off_the_record(bench: TwoSensorBench, named: str, kept: list[object]) -> None:
    """Which sensors the printer has is said by a test of all of them alone."""
    bench.answers = lambda key: False if key == "function.release" else None
    await run(bench, function_run(FunctionPlan(pauses=1), "R. Okafor", of(named), sensors=NAMES), "function")

    assert kept == [each.sensors for each in bench.found(SensorsToTest)]


async def test_of_all_the_tool_that_is_not_active_is_left(bench: TwoSensorBench) -> None:
    """The second one's tool cannot be made active: it stays open with its command, and the whole is not judged."""

    def answer(key: str) -> bool | None:
        return {"function.active_tool": bench.under_test == FIRST, "function.release": False}.get(key)

    bench.answers = answer
    await run(bench, function_run(FunctionPlan(pauses=1), "R. Okafor", of("all"), sensors=NAMES), "function")

    judged = {each.sensor: each.verdict for each in bench.desk.findings[SensorsJudged].sensors}
    assert Verdict.NOT_JUDGED is judged[SECOND]
    assert any("--source 'filament 2'" in item.cure for item in bench.desk.items)


async def test_a_printer_with_one_sensor_is_asked_as_ever(tmp_path: Path) -> None:
    """Of the only sensor nothing is said twice, and no question is added."""
    bench = FakeBench(tmp_path)
    bench.book.append(NEXT, begun(NEXT, purpose="function"))
    bench.answers = lambda key: False if key == "function.release" else None
    done = await bench.run(function_run(FunctionPlan(pauses=1), "R. Okafor", of("")), NEXT)

    assert Outcome.COMPLETE is done.outcome
    assert "This run is about" not in told(bench)
    assert "function.active_tool" not in questions(bench)


async def test_a_diagnosis_on_paper_weighs_each_for_itself(bench: TwoSensorBench) -> None:
    """What was declared and seen of one sensor is never weighed for the other."""
    await run(bench, paper_run(NAMES), "diagnose")

    said = told(bench)
    assert "This run is about filament alone; not about filament 2." in said
    assert ALONE in said
    assert "The book holds no wiring of filament 2 that could be diagnosed." in said
    assert "The book holds no wiring of filament that could be diagnosed." not in said
