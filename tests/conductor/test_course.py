"""Where in the run a step stands, and how long the rest takes: said as each phase begins."""

import io

import pytest

from commission.asking.form import Form
from commission.asking.message import Establish, Tell, Weight
from commission.asking.of_sensor import for_sensor
from commission.asking.phase import Phase, carried_out
from commission.asking.request import Confirm, PhaseBegins
from commission.asking.steps import Steps, confirm
from commission.conductor.course import Course
from commission.desk import show
from commission.desk.json_lines import JsonLinesDesk
from commission.desk.plain import PlainDesk
from commission.desk.script import OperatorScript
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.findings.several import SensorBegun, SensorsJudged, SensorsToTest
from commission.jobs.outlook import Outlook
from commission.judge.pace import left_s
from commission.procedure.function.function_test import FUNCTION_TEST
from commission.procedure.loop.loop_check import LOOP_CHECK
from commission.procedure.meeting.as_found import AS_FOUND
from commission.procedure.meeting.paths import PATHS
from commission.procedure.meeting.sign_off import SIGN_OFF
from commission.vocabulary import Verdict
from tests.desk.fakes import FakeOut
from tests.support.fake_time import FakeClock

A, B, C = (Phase(name, name.upper(), name) for name in ("first", "second", "third"))
PLANNED = {A.name: 120.0, B.name: 300.0, C.name: 60.0}
OFFERS = {"second.now": B.name}


def steps() -> Steps[None]:
    """Three phases, of which the second is offered."""
    yield from carried_out(A, _nothing())
    if (yield from confirm(Confirm("second.now", "The second?"))):
        yield from carried_out(B, _nothing())
    yield from carried_out(C, _nothing())


def _nothing() -> Steps[None]:
    yield Tell(("Something is done.",))


def begun(*, second: bool) -> list[PhaseBegins]:
    """Every phase as it begins, with this answer to the offer."""
    shown = Outlook(PLANNED, OFFERS).shown(steps())
    found: list[PhaseBegins] = []
    response: object = None
    while True:
        try:
            request = shown.send(response)
        except StopIteration:
            return found
        found += [request] if isinstance(request, PhaseBegins) else []
        response = second if isinstance(request, Confirm) else None


def test_each_phase_knows_its_place() -> None:
    """It counts what has begun, and adds up what is still to come with it."""
    assert [(1, 3, 480.0), (2, 3, 360.0), (3, 3, 60.0)] == [
        (each.step, each.steps, each.left_s) for each in begun(second=True)
    ]


def test_a_phase_left_out_is_no_longer_counted() -> None:
    """A no to the offer takes it from the steps that are left."""
    assert [(1, 3, 480.0), (2, 2, 60.0)] == [(each.step, each.steps, each.left_s) for each in begun(second=False)]


def test_what_is_passed_over_is_no_longer_counted() -> None:
    """After a fail the reserve and the function test are never begun: the sign-off is the last step."""

    def failed() -> Steps[None]:
        yield from carried_out(A, _nothing())
        yield from carried_out(C, _nothing())

    began = [each for each in Outlook(PLANNED, OFFERS).shown(failed()) if isinstance(each, PhaseBegins)]

    assert [(1, 3, 480.0), (2, 2, 60.0)] == [(each.step, each.steps, each.left_s) for each in began]


def test_a_phase_left_out_on_the_sheet_is_not_counted_at_all() -> None:
    """What the sheet of the run leaves out is known from the beginning; so is what stands from before."""
    outlook = Outlook(PLANNED, OFFERS)

    def sheet() -> Steps[None]:
        yield Form("program", "What is done", lambda _given: ())
        yield Establish(TakenOver(sentences=("It stands.",), phase=C.name, void=False))
        yield PhaseBegins(A.name, A.title)

    shown = outlook.shown(sheet())
    shown.send(None)
    shown.send({"second.now": False})
    begins = shown.send(None)

    assert isinstance(begins, PhaseBegins)
    assert (1, 1) == (begins.step, begins.steps)


@pytest.mark.parametrize(
    ("done_s", "took_s", "left"), [(0, 0, 600), (300, 600, 750), (900, 2700, 1200), (900, 9000, 1200), (1800, 0, 300)]
)
def test_the_rest_follows_the_pace_so_far(done_s: float, took_s: float, left: float) -> None:
    """The more is done, the more the pace counts against the plan; at most twice of it, at least half."""
    assert left == left_s(600, done_s, took_s)


def test_slow_reading_at_the_beginning_does_not_double_the_rest() -> None:
    """Four sheets of six minutes took twelve: forty minutes of trials and hold points are not told as eighty."""
    assert 40 < left_s(40 * 60, 6 * 60, 12 * 60) / 60 < 52


async def test_a_slow_person_is_told_of_more_time() -> None:
    """A quarter of an hour of the plan took twice as long: what is left is told at half again."""
    clock = FakeClock()
    course = Course(clock)
    course.begins(PhaseBegins("first", "First", 1, 2, takes_s=900, left_s=1200))
    await clock.sleep(1800)

    told = course.begins(PhaseBegins("second", "Second", 2, 2, takes_s=300, left_s=300))

    assert Tell((), heading="Second", weight=Weight.STEP, where="Step 2 of 2, about 8 min left") == told


def test_a_phase_that_no_job_planned_says_only_what_it_is() -> None:
    """A repair or a diagnosis has no place in a plan."""
    assert "" == Course(FakeClock()).begins(PhaseBegins("repair", "Repair")).where


async def test_time_left_runs_down_inside_a_step() -> None:
    """It goes down with the clock and stays at what the later steps take; a step of no plan shows nothing."""
    clock = FakeClock()
    course = Course(clock)
    course.begins(PhaseBegins("first", "First", 1, 2, takes_s=300, left_s=720))
    seen = [course.now()]
    for _ in range(3):
        await clock.sleep(150)
        seen.append(course.now())
    course.begins(PhaseBegins("repair", "Repair"))

    assert [f"Step 1 of 2, about {left} min left" for left in (12, 10, 7, 7)] == seen
    assert "" == course.now()


async def test_last_step_never_says_nothing_is_left() -> None:
    """A step that takes longer than it was planned for still has a minute."""
    clock = FakeClock()
    course = Course(clock)
    course.begins(PhaseBegins("last", "Last", 4, 4, takes_s=60, left_s=60))
    await clock.sleep(600)

    assert "Step 4 of 4, about 1 min left" == course.now()


LONGEST = Tell(
    (), heading="Loop check: from the filament to the reading and back", where="Step 12 of 12, about 120 min left"
)


@pytest.mark.parametrize("columns", [200, 80, 60, 40])
def test_where_the_run_is_never_wraps(columns: int) -> None:
    """It stands on a line of its own, above the title, also on the narrowest screen."""
    out = io.StringIO()
    show.put(show.console(out), show.tell(LONGEST), columns)

    assert ["", LONGEST.where] == out.getvalue().split("\n")[:2]
    assert len(LONGEST.where) <= 40


async def test_where_the_run_is_in_whole_lines_and_not_as_json() -> None:
    """The plain desk says it before the title; a program that reads events gets none of it."""
    out, events = FakeOut(), FakeOut()
    await PlainDesk(io.StringIO(), out, bell=False).tell(LONGEST)
    await JsonLinesDesk(OperatorScript("nobody", ()), events, FakeClock(), {}).tell(LONGEST)

    assert f"{LONGEST.where}\n{LONGEST.heading}\n" == out.getvalue()
    assert LONGEST.heading in events.getvalue()
    assert "Step" not in events.getvalue()


SENSORS = ("filament", "filament 2")


def of_two_sensors(answers: dict[str, bool]) -> list[PhaseBegins]:
    """The phases of an installation of two sensors, whose function test is asked for of each."""

    def walk() -> Steps[None]:
        yield from carried_out(AS_FOUND, _nothing())
        yield Establish(SensorsToTest(sentences=(), sensors=SENSORS))
        yield from carried_out(PATHS, _nothing())
        for number, sensor in enumerate(SENSORS, start=1):
            yield Establish(SensorBegun(sentences=(), sensor=sensor, number=number, sensors=2))
            yield from for_sensor(sensor, tuple({*SENSORS} - {sensor}), one(sensor))
        verdict = Verdict.CONDITIONAL
        yield Establish(SensorsJudged(sentences=(), verdict=verdict, sensors=()))
        yield from carried_out(SIGN_OFF, _nothing())

    def one(sensor: str) -> Steps[None]:
        yield from carried_out(LOOP_CHECK, _nothing())
        if (yield from confirm(Confirm("function.active_tool", f"The tool of {sensor}?"))):
            yield from carried_out(FUNCTION_TEST, _nothing())

    planned = {AS_FOUND.name: 5.0, LOOP_CHECK.name: 300.0, FUNCTION_TEST.name: 900.0, SIGN_OFF.name: 60.0}
    shown = Outlook(planned, {"function.active_tool": FUNCTION_TEST.name}).shown(walk())
    found: list[PhaseBegins] = []
    response: object = None
    while True:
        try:
            request = shown.send(response)
        except StopIteration:
            return found
        found += [request] if isinstance(request, PhaseBegins) else []
        response = answers[request.question.partition(":")[0]] if isinstance(request, Confirm) else None


def test_two_sensors_have_their_phases_each() -> None:
    """Once it is known that there are two, the rest counts for both; what is left out of one goes for that one."""
    begun_phases = of_two_sensors({"filament": True, "filament 2": False})

    assert [
        ("as_found", 1, 4, 1265.0),
        ("paths", 2, 7, 120.0 + 2 * 1200.0 + 60.0),
        ("loop_check of filament", 3, 7, 2460.0),
        ("function_test of filament", 4, 7, 2160.0),
        ("loop_check of filament 2", 5, 7, 1260.0),
        ("sign_off", 6, 6, 60.0),
    ] == [(each.name, each.step, each.steps, each.left_s) for each in begun_phases]
