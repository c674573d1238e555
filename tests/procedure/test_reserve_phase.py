"""The reserve phase and the offer of a function test, by answers alone."""

from collections.abc import Mapping
from typing import Any, TypeVar

import pytest

from commission.asking.message import Establish, Punch
from commission.asking.request import Choose, Confirm, Enter, Request
from commission.asking.steps import Steps
from commission.dialect.runout import RunoutControl
from commission.evidence.findings import function
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import FilamentPathMeasured
from commission.judge.reserve import Path, Reserve
from commission.judge.volume import Queue
from commission.procedure.function.offer import not_offered, offered_function_test, with_function
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.function.reserve import offered_reserve
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.meeting.as_found import AsFound
from commission.vocabulary import PunchClass, Verdict
from tests.support.kept_findings import KeptFindings

F = TypeVar("F", bound=Finding)
LENGTHS = {
    "reserve.trip_to_gear": "40",
    "reserve.gear_to_nozzle": "60",
    "reserve.job": "known",
    "reserve.queue": "3",
    "reserve.retract": "0",
}


def played(steps: Steps[Any], answers: Mapping[str, bool | str]) -> tuple[object, list[Request]]:
    """What the steps return and what they asked; yes and empty where nothing is said."""
    asked: list[Request] = []
    response: object = None
    while True:
        try:
            request = steps.send(response)
        except StopIteration as end:
            return end.value, asked
        asked.append(request)
        match request:
            case Confirm():
                response = answers.get(request.key, True)
            case Choose():
                response = answers.get(request.key, request.options[0].key)
            case Enter():
                response = answers.get(request.key, "")
            case _:
                response = None


def found_in(asked: list[Request], kind: type[F]) -> F:
    """The finding of this kind among what was yielded."""
    return KeptFindings(each.finding for each in asked if isinstance(each, Establish))[kind]


def test_the_reserve_is_worked_out_from_two_lengths() -> None:
    """A 40 with a queue of 3 mm allows 22 mm; the printer's 20 mm fit (common practice, no source)."""
    reserve, asked = played(offered_reserve(20.0), LENGTHS)

    assert isinstance(reserve, Reserve)
    assert (22, 20, False) == (reserve.leftover_max_mm, reserve.leftover_mm, reserve.refused)
    found = found_in(asked, function.Reserve)
    assert (True, 22) == (found.done, found.leftover_max_mm)
    path = Path(40, gear_to_nozzle_mm=60, queue=Queue(3, "a queue as entered"), retract_mm=0, leftover_mm=20)
    assert FilamentPathMeasured.of(path) == found.path
    assert found.drawn_before is None
    assert not any(isinstance(each, Punch) for each in asked)


@pytest.mark.parametrize(("to_gear", "grade"), [("12", PunchClass.UNSAFE), ("30", PunchClass.INCOMPLETE)])
def test_a_leftover_that_does_not_fit_is_an_open_item(to_gear: str, grade: PunchClass) -> None:
    """A path too short for any leftover is unsafe; one that takes a smaller one is still to be set."""
    _, asked = played(offered_reserve(25.0), LENGTHS | {"reserve.trip_to_gear": to_gear})

    (item,) = [each for each in asked if isinstance(each, Punch)]
    assert grade is item.grade
    assert item.cure.startswith("One of: set ")
    assert 2 == item.cure.count(" Or: ")


@pytest.mark.parametrize(
    ("answers", "queue_mm", "assumed"),
    [
        ({}, 5.0, "16 queued moves of about 9 mm with a bead of 0.45 x 0.20 mm"),
        ({"reserve.nozzle": "0.8"}, 45.0, "a bead of 0.90 x 0.40 mm"),
        ({"reserve.job": "long"}, 54.2, "16 queued moves of 100 mm"),
        ({"reserve.job": "known", "reserve.queue": "7"}, 7.0, "a queue as entered"),
    ],
)
def test_the_job_is_asked_for_and_named(answers: dict[str, bool | str], queue_mm: float, assumed: str) -> None:
    """Short moves, long straight ones, or a queue that is known: the finding says which job it is reckoned for."""
    reserve, asked = played(offered_reserve(10.0), {"reserve.trip_to_gear": "400", **answers})
    found = found_in(asked, function.Reserve)

    assert isinstance(reserve, Reserve)
    assert found.path is not None
    assert assumed in found.path.job
    assert 10 + queue_mm == pytest.approx(reserve.pause_after_mm, abs=0.05)
    assert any("Reckoned for this job" in sentence and assumed in sentence for sentence in found.sentences)


def test_where_nothing_is_unloaded_no_grip_is_asked_for() -> None:
    """An unload of 0 mm means that new filament pushes the tail on, and the grip margin is neither asked nor kept."""
    reserve, asked = played(offered_reserve(20.0), LENGTHS | {"reserve.unload": "0"})

    assert isinstance(reserve, Reserve)
    assert 34 == reserve.leftover_max_mm
    assert "reserve.grip" not in {each.key for each in asked if isinstance(each, Enter)}


def test_a_reserve_left_out_is_said() -> None:
    """Without the lengths whether the leftover fits is not known, and the record says so."""
    reserve, asked = played(offered_reserve(20.0), {"reserve.now": False})

    assert reserve is None
    said = ("Left out by the operator: the filament reserve.", "Whether the leftover fits is not known.")
    assert function.Reserve(sentences=said, done=False) == found_in(asked, function.Reserve)


def test_a_function_test_left_out_stands_with_its_reason() -> None:
    """The reason is asked for, and that the pause was not tested is an open item of class B."""
    found = AsFound("filament", (), RunoutControl(supported=True))
    answers: dict[str, bool | str] = {"function.now": False, "function.skip_reason": "no time today"}
    tested, asked = played(offered_function_test(found, None, None), answers)

    assert tested is None
    assert "no time today" == found_in(asked, function.FunctionTest).reason
    assert [PunchClass.INCOMPLETE] == [each.grade for each in asked if isinstance(each, Punch)]


@pytest.mark.parametrize("verdict", [Verdict.FAIL, Verdict.NOT_JUDGED])
def test_a_function_test_that_was_not_offered_is_said(verdict: Verdict) -> None:
    """After a loop check that failed or was not judged the record says why no function test was offered."""
    _, asked = played(not_offered(verdict), {})

    assert "the loop check" in found_in(asked, function.FunctionTest).reason


@pytest.mark.parametrize(
    ("verdict", "tested", "whole"),
    [
        (Verdict.PASS, None, Verdict.CONDITIONAL),
        (Verdict.FAIL, None, Verdict.FAIL),
        (Verdict.PASS, Verdict.PASS, Verdict.PASS),
        (Verdict.PASS, Verdict.CONDITIONAL, Verdict.CONDITIONAL),
        (Verdict.PASS, Verdict.NOT_JUDGED, Verdict.CONDITIONAL),
        (Verdict.CONDITIONAL, Verdict.PASS, Verdict.CONDITIONAL),
        (Verdict.CONDITIONAL, Verdict.FAIL, Verdict.FAIL),
        (Verdict.FAIL, Verdict.PASS, Verdict.FAIL),
    ],
)
def test_the_whole_is_no_better_than_its_function_test(
    verdict: Verdict, tested: Verdict | None, whole: Verdict
) -> None:
    """A failed function test fails the whole, a limited one or none at all limits it, and none makes it better."""
    assert whole is with_function(verdict, None if tested is None else FunctionTested(tested))


def test_the_release_names_what_moves_and_heats() -> None:
    """Homing, travel, flow, temperature, material and the way back are in the release, and only its effects."""
    cold = FunctionPlan(Mode.DRY).release()
    warm = FunctionPlan(Mode.WARM, celsius=215, material="PLA", homed=True).release()

    assert "heats" not in {effect.value for effect in cold.effects}
    assert "heats" in {effect.value for effect in warm.effects}
    assert "homed: the head and bed move fully" in cold.lines[0]
    assert any("215 °C and PLA" in line for line in warm.lines)
    assert any("bed is clear" in line for line in warm.lines)


def test_a_plan_that_cannot_be_is_refused() -> None:
    """No flow, no heat beyond 300 °C, and no function test without a pause."""
    with pytest.raises(ValueError, match="flow"):
        FunctionPlan(flow_mm3_s=0)
    with pytest.raises(ValueError, match="300"):
        FunctionPlan(celsius=350)
    with pytest.raises(ValueError, match="at least one pause"):
        FunctionPlan(pauses=0)


def test_the_time_limit_follows_the_rule() -> None:
    """A pause is waited for 2 (D + Q) / v + 10 s, with the test's own queue (common practice, no source)."""
    plan = FunctionPlan(flow_mm3_s=5.0)
    pattern = plan.pattern

    assert 2.079 == pytest.approx(pattern.feed_mm_s, abs=0.001)
    assert 2 * (20 + pattern.queue_mm) / pattern.feed_mm_s + 10 == pytest.approx(plan.stop_s(20.0))
