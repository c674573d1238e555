"""The function test as offered inside a longer job, so that a short job stays short."""

from commission.asking.leave_out import said_left_out
from commission.asking.message import Punch
from commission.asking.phase import FROM_THE_START, Progress, steps_of
from commission.asking.request import Choose, Confirm, Option
from commission.asking.steps import Steps, choose, confirm, enter, establish, recall
from commission.command_lines import FUNCTION as FUNCTION_LINE
from commission.command_lines import line
from commission.dialect.identity import Identity
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.function import Reserve as ReserveFound
from commission.judge.reserve import Reserve
from commission.procedure.function.function_test import FUNCTION_TEST, function_steps
from commission.procedure.function.pause_told import PAUSE_TOLD, pause_told, told_instead
from commission.procedure.function.plan import CELSIUS, MATERIAL, FunctionPlan, Mode
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.meeting.as_found import AsFound
from commission.vocabulary import PunchClass, Verdict


def offered_function_test(
    found: AsFound, identity: Identity | None, room: Reserve | None = None, progress: Progress = FROM_THE_START
) -> Steps[FunctionTested | None]:
    """Offer the function test in one of its modes; None when it was left out, with the reason."""
    if found.switch is None:
        return None
    switch = found.switch
    if (printer := told_instead(identity)) is not None:
        return (yield from progress.do(PAUSE_TOLD, lambda: pause_told(printer, switch)))
    lines = (
        "A correct reading is not a working protection: the function test provokes a runout and sees the pause.",
        "It moves the axes, and in its warm mode heats, each only after a release that names it.",
    )
    question = Confirm("function.now", "Do the function test now?", lines)
    tested = yield from progress.offered(
        FUNCTION_TEST, question, lambda: _in_a_mode(switch, identity, room), _left_out, needed=True
    )
    if tested is None:
        yield Punch(
            PunchClass.INCOMPLETE,
            "Whether the printer pauses was not tested.",
            f"Run `{FUNCTION_LINE}` before the printer is trusted unattended.",
        )
    return tested


def for_active_tool(
    test: Steps[FunctionTested | None], progress: Progress, identity: Identity | None, sensor: str
) -> Steps[FunctionTested | None]:
    """Of several sensors the one is tested whose filament the active tool feeds: this program changes no tool.

    Args:
        test: the function test as it is offered, not yet begun.
        progress: what of a run that is taken up again still stands.
        identity: as announced.
        sensor: how it is read.
    """
    stands = progress.stands(FUNCTION_TEST) or told_instead(identity) is not None
    lines = (
        "The function test feeds filament with the tool that is active. This program changes no tool: that moves the "
        "machine in a way that it does not know.",
        "Make the tool of this sensor the active one at the machine itself first, if it can do that. Stand clear: it "
        "may move.",
    )
    question = "Does the active tool feed the filament of this sensor?"
    if stands or (yield from confirm(Confirm("function.active_tool", question, lines))):
        return (yield from test)
    test.close()
    why = "another tool is active"
    said = (f"No function test was done: {why}.", "Whether the printer pauses for this sensor is not known.")
    yield from establish(FunctionTest(sentences=said, verdict=Verdict.NOT_JUDGED, reason=why))
    yield Punch(
        PunchClass.INCOMPLETE,
        "Whether the printer pauses was not tested.",
        "Make the tool of this sensor the active one at the machine, then run "
        f"`{line(FUNCTION_LINE, '', '', sensor)}`.",
    )
    return None


@steps_of(FUNCTION_TEST)
def _in_a_mode(switch: str, identity: Identity | None, room: Reserve | None) -> Steps[FunctionTested]:
    options = tuple(Option(mode.value, f"{mode.value} test", mode.meaning) for mode in Mode)
    mode = yield from choose(Choose("function.mode", "Which function test?", options))
    plan = yield from _plan(Mode(mode), room)
    return (yield from function_steps(plan, switch, identity))


def not_offered(loop_check: Verdict) -> Steps[None]:
    """Say that a function test was left for later, because the loop check before it came to this verdict."""
    why = {
        Verdict.FAIL: "the loop check failed; it is left for the run after the repair",
        Verdict.NOT_JUDGED: "the loop check was not judged; it comes after one that was",
    }[loop_check]
    said = (f"No function test was offered: {why}.", "Whether the printer pauses is not known.")
    yield from establish(FunctionTest(sentences=said, verdict=Verdict.NOT_JUDGED, reason=why))


def with_function(verdict: Verdict, tested: FunctionTested | None) -> Verdict:
    """The verdict of the whole: no better than the function test; without one at best a conditional pass."""
    beside = Verdict.NOT_JUDGED if tested is None else tested.verdict
    if Verdict.FAIL in (verdict, beside):
        return Verdict.FAIL
    if verdict is Verdict.NOT_JUDGED:
        return verdict
    return verdict if beside is Verdict.PASS else Verdict.CONDITIONAL


def _left_out(reason: str) -> FunctionTest:
    said = (
        said_left_out(FUNCTION_TEST.what, reason),
        "Whether it pauses is not known: without that the whole is at best a conditional pass.",
    )
    return FunctionTest(sentences=said, verdict=Verdict.NOT_JUDGED, reason=reason)


def _plan(mode: Mode, room: Reserve | None) -> Steps[FunctionPlan]:
    celsius = 200.0
    material = ""
    if mode is Mode.WARM:
        material = yield from enter(MATERIAL)
        celsius = float((yield from enter(CELSIUS)))
    plan = FunctionPlan(mode=mode, celsius=celsius, material=material, goes_on_by_reading=True)
    if room is None:
        return plan
    measured = yield from recall(ReserveFound)
    path = None if measured is None else measured.path
    return plan.with_room(room.leftover_max_mm, None if path is None else path.trip_to_gear_mm)
