"""The function test as offered inside a longer job, so that a short job stays short."""

from commission.dialect.identity import Identity
from commission.evidence.findings.function import FunctionTest
from commission.judge.reserve import Reserve
from commission.procedure.as_found import AsFound
from commission.procedure.function_plan import MATERIAL, FunctionPlan, Mode
from commission.procedure.function_test import function_test
from commission.procedure.function_verdict import FunctionTested
from commission.procedure.message import Punch
from commission.procedure.request import Choose, Confirm, Enter, EntryKind, Option
from commission.procedure.steps import Steps, choose, confirm, enter, establish
from commission.vocabulary import PunchClass, Verdict


def offered_function_test(
    found: AsFound, identity: Identity | None, room: Reserve | None = None
) -> Steps[FunctionTested | None]:
    """Offer the function test in one of its modes; None when it was left out, with the reason."""
    lines = (
        "A correct reading is not a working protection: the function test provokes a runout and sees the pause.",
        "It moves the axes, and in its warm mode heats, each only after a release that names it.",
    )
    now = found.switch is not None and (yield from confirm(Confirm("function.now", "Do the function test now?", lines)))
    if found.switch is None or not now:
        yield from _left_out()
        return None
    options = tuple(Option(mode.value, f"{mode.value} test", mode.meaning) for mode in Mode)
    mode = yield from choose(Choose("function.mode", "Which function test?", options))
    plan = yield from _plan(Mode(mode), room)
    return (yield from function_test(plan, found.switch, identity))


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
    if verdict in (Verdict.FAIL, Verdict.NOT_JUDGED):
        return verdict
    if tested is None:
        return Verdict.CONDITIONAL
    if tested.verdict is Verdict.FAIL:
        return Verdict.FAIL
    return verdict if tested.verdict is Verdict.PASS else Verdict.CONDITIONAL


def _left_out() -> Steps[None]:
    reason = yield from enter(Enter("function.skip_reason", "Why is it left out? (for the report)"))
    said = (
        f"The function test was left out: {reason.rstrip('.')}.",
        "Whether it pauses is not known: without that the whole is at best a conditional pass.",
    )
    yield from establish(FunctionTest(sentences=said, verdict=Verdict.NOT_JUDGED, reason=reason))
    yield Punch(
        PunchClass.INCOMPLETE,
        "Whether the printer pauses was not tested.",
        "Run `commission function` before the printer is trusted unattended.",
    )


def _plan(mode: Mode, room: Reserve | None) -> Steps[FunctionPlan]:
    celsius = 200.0
    material = ""
    if mode is Mode.WARM:
        material = yield from enter(MATERIAL)
        asked = Enter("function.celsius", "Nozzle temperature", EntryKind.NUMBER, unit="°C", least=150, most=300)
        celsius = float((yield from enter(asked)))
    plan = FunctionPlan(mode=mode, celsius=celsius, material=material)
    return plan if room is None else plan.with_room(room.leftover_max_mm)
