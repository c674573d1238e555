"""The function test as a job of its own: who is it, what does it report, the test, sign-off.

Of a printer with several sensors one is tested, or all that are named, one after the other, each by its own release.
"""

from collections.abc import Sequence
from dataclasses import replace

from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.phase import FROM_THE_START, Progress
from commission.asking.steps import Steps, enter
from commission.dialect.family import Identified
from commission.dialect.identity import Identity
from commission.jobs.install import JobResult
from commission.jobs.several import alone, begun, judged, one_after_the_other
from commission.procedure.function.function_test import function_test
from commission.procedure.function.gates import establish_gates, read_gates, show_gates
from commission.procedure.function.offer import for_active_tool
from commission.procedure.function.pause_told import pause_told, told_instead
from commission.procedure.function.plan import MATERIAL, FunctionPlan
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.meeting.as_found import AsFound, as_found
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings, same_printer
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.unsafe import NOTHING_STANDS, OnRecord, UnsafeItems
from commission.vocabulary import Verdict


def function_run(
    plan: FunctionPlan,
    operator: str,
    surroundings: Surroundings,
    on_record: OnRecord = NOTHING_STANDS,
    sensors: Sequence[str] = (),
) -> Steps[JobResult]:
    """The whole job; a printer that reports no filament switch has its first shut gate named, and nothing is moved.

    Args:
        plan: which moves, and how many pauses.
        operator: who does it.
        surroundings: what was known before the port was opened.
        on_record: what earlier runs found unsafe, and this one does not clear.
        sensors: several that the record has of this printer; empty where it has one.

    Raises:
        Interrupted: the operator says that it is another printer; nothing but questions was sent then.
    """
    unsafe = UnsafeItems(on_record)
    return (yield from unsafe.noted(_walk(plan, operator, surroundings, unsafe, sensors)))


def _walk(
    plan: FunctionPlan, operator: str, surroundings: Surroundings, unsafe: UnsafeItems, sensors: Sequence[str]
) -> Steps[JobResult]:
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    identity = yield from identify()
    yield from same_printer(surroundings, identity)
    found = yield from as_found(identity, surroundings.source, tuple(sensors))
    printer = told_instead(identity)
    if found.switch is None and printer is not None:
        verdict = yield from not_reported(found.met)
        yield from sign_off(operator)
        return JobResult(verdict)
    if found.switch is None:
        known = yield from read_gates(identity, plan.leftover_max_mm)
        yield from show_gates(known, "The gates in front of a pause")
        shut = yield from establish_gates(known)
        yield from sign_off(operator)
        return JobResult(Verdict.NOT_JUDGED if shut is None else Verdict.FAIL)
    if found.sensors:
        if set(found.sensors) >= set(sensors):  # a part of those on record takes nothing off the record
            yield from begun(found.sensors)
        came_to = yield from _each_of_them(plan, identity, found.sensors)
    else:
        came_to = yield from _only_one(plan, identity, found, found.switch, sensors)
    unsettled = 0 if printer is not None else len(unsafe.on_record.beside(came_to))
    verdict = yield from unsafe.held_against(came_to)
    yield from sign_off(operator)
    return JobResult(verdict, unsettled=unsettled)


def _only_one(
    plan: FunctionPlan, identity: Identity | None, found: AsFound, sensor: str, sensors: Sequence[str]
) -> Steps[Verdict]:
    """One sensor, be it the only one or not."""
    several = len({*sensors, *(() if found.met is None else found.met.reports)}) > 1
    test = _test(plan, identity, sensor)
    test = for_active_tool(test, FROM_THE_START, identity, sensor) if several else test
    return _verdict((yield from alone(sensors, found.met, sensor, test)))


def _each_of_them(plan: FunctionPlan, identity: Identity | None, sensors: Sequence[str]) -> Steps[Verdict]:
    """Several sensors, one after the other; between two of them the tool is changed at the machine, by a person."""

    def one(sensor: str, done: Progress) -> Steps[FunctionTested | None]:
        return for_active_tool(_test(plan, identity, sensor), done, identity, sensor)

    came_to = yield from one_after_the_other(sensors, {}, FROM_THE_START, one)
    return (yield from judged({sensor: _verdict(each) for sensor, each in came_to.items()}, {}, Verdict.PASS))


def _verdict(tested: FunctionTested | None) -> Verdict:
    return Verdict.NOT_JUDGED if tested is None else tested.verdict


def _test(plan: FunctionPlan, identity: Identity | None, sensor: str) -> Steps[FunctionTested | None]:
    """The test as this printer's family has it."""
    printer = told_instead(identity)
    return _tested(plan, sensor, identity) if printer is None else _told(printer, sensor)


def _told(printer: Identified, switch: str) -> Steps[FunctionTested | None]:
    return (yield from pause_told(printer, switch))


def _tested(plan: FunctionPlan, switch: str, identity: Identity | None) -> Steps[FunctionTested | None]:
    if plan.hot and not plan.material:  # the release of heat names the material
        plan = replace(plan, material=(yield from enter(MATERIAL)))
    return (yield from function_test(plan, switch, identity))
