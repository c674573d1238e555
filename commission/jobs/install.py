"""The order of the phases, what a fail blocks, and where an inverted polarity leads back to."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from commission.asking import power
from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.phase import Phase, Progress, carried_out
from commission.asking.request import Choose, Hold, Option
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, choose, establish, hold
from commission.dialect.identity import Identity
from commission.evidence.findings.meeting import Repair
from commission.jobs.outlook import outlook_of
from commission.jobs.program import asked_beforehand, by_program
from commission.jobs.settings_share import (
    keep_settings,
    offered_reflash,
    offered_watching,
    restored,
    settings_as_left,
)
from commission.jobs.taking_up import take_up
from commission.jobs.wiring_share import explained, follow_up, prepare_wiring
from commission.judge.advice import Advice
from commission.judge.nuisance import not_shown_by_a_run
from commission.judge.plan import Plan
from commission.judge.trial_series import SeriesSoFar
from commission.procedure.borrow.prediction import held_against_prediction
from commission.procedure.function.offer import not_offered, offered_function_test, with_function
from commission.procedure.function.pause_told import told_instead
from commission.procedure.function.reserve import offered_reserve, reserve_after_repair
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.loop.loop_check import LOOP_CHECK, LoopChecked, loop_check
from commission.procedure.loop.repair_steps import REFLASHING, REPAIRS
from commission.procedure.loop.series import continued, named
from commission.procedure.meeting.as_found import AS_FOUND, AsFound, as_found
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import prove, same_printer
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.unsafe import UnsafeItems
from commission.procedure.settings.as_text import keeps_a_file
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.reflash import look_after
from commission.vocabulary import Verdict

IN_ITS_FILE = (
    "Nothing is reflashed for it: turn the sensor's input in the printer's own configuration file.",
    "Keep a copy of the file first. Restart the printer yourself, then run this again as a new run.",
)
REPAIR = Phase("repair", "Repair", "the repair")


@dataclass(frozen=True)
class JobResult:
    """What a job came to.

    Attributes:
        repair: what the operator wants to do now, before a new run.
        unsettled: what earlier runs found unsafe, and this one could not clear.
        carried: open items of class A that this run raised before it was taken up.
    """

    verdict: Verdict
    repair: Advice = Advice.NONE
    unsettled: int = 0
    carried: int = 0


def install_run(
    plan: Plan, operator: str, background: Background, sheet: Sheet, repair: Advice = Advice.NONE
) -> Steps[JobResult]:
    """The whole job: identify, as found, settings, wiring, loop check, watching, function test, sign-off.

    Args:
        plan: what the loop check will be, fixed beforehand.
        operator: who does it.
        background: what is known of the printer beforehand.
        sheet: what heads the settings files.
        repair: what a run before this one advised; its hold point then comes first.
    """
    unsafe = UnsafeItems(background.on_record)
    return (yield from outlook_of(plan).shown(unsafe.noted(_walk(plan, operator, background, sheet, repair, unsafe))))


def _walk(
    plan: Plan, operator: str, background: Background, sheet: Sheet, repair: Advice, unsafe: UnsafeItems
) -> Steps[JobResult]:
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    if repair is not Advice.NONE:
        yield from _repair(repair, sheet, background)
    identity = yield from identify()
    progress = yield from _known(background, identity, unsafe)
    found = yield from progress.do(AS_FOUND, lambda: as_found(identity, background.surroundings.source))
    rest = partial(_rest, plan, operator, background, sheet, repair, unsafe, identity, progress, found)
    return (yield from by_program(found, progress, rest) if asked_beforehand(found, identity) else rest())


def _rest(
    plan: Plan,
    operator: str,
    background: Background,
    sheet: Sheet,
    repair: Advice,
    unsafe: UnsafeItems,
    identity: Identity | None,
    progress: Progress,
    found: AsFound,
) -> Steps[JobResult]:
    """The job from the settings on, once it is known what answers and what it reports."""
    record = yield from keep_settings(sheet, identity, found, progress)
    if repair not in REFLASHING:  # else that has just been done
        found = (yield from _reflashed(sheet, record, identity, found, progress)) or found
    if found.switch is None:
        verdict = yield from not_reported(found.met)
        yield from sign_off(operator)
        return JobResult(verdict)
    if (yield from prepare_wiring(found.switch, progress)).forbidden:
        yield from settings_as_left(sheet, record)
        yield from sign_off(operator)
        return JobResult(Verdict.FAIL)
    switch = found.switch
    so_far = yield from _series(background, progress, operator, repair, plan)
    checked = yield from progress.do(
        LOOP_CHECK, lambda: explained(loop_check(plan, switch, so_far, moves=told_instead(identity) is None))
    )
    yield from follow_up(checked, plan, found.switch, progress)
    yield from held_against_prediction(checked.behaviour, checked.fail_safe)
    verdict = checked.acceptance.verdict
    failed = verdict is Verdict.FAIL
    room = yield from reserve_after_repair() if failed else offered_reserve(found.runout.distance_mm, progress)
    yield from offered_watching(found.runout, progress, identity, refused=room is not None and room.refused)
    verdict = yield from _pause(verdict, found, offered_function_test(found, identity, room, progress))
    yield from settings_as_left(sheet, record)
    unsettled = len(background.on_record.beside(verdict))
    verdict = yield from unsafe.held_against(verdict)
    yield from sign_off(operator, _calendar(background, verdict))
    if verdict in (Verdict.PASS, Verdict.CONDITIONAL):
        yield Tell((not_shown_by_a_run(background.surroundings.tag, background.surroundings.port.path),))
    return JobResult(verdict, (yield from _offer(checked, identity)), unsettled, unsafe.carried)


def _reflashed(
    sheet: Sheet, record: SettingsRecord | None, identity: Identity | None, found: AsFound, progress: Progress
) -> Steps[AsFound | None]:
    return offered_reflash(sheet, record, identity, progress, lists_sensor=found.switch is not None)


def _series(
    background: Background, progress: Progress, operator: str, repair: Advice, plan: Plan
) -> Steps[SeriesSoFar]:
    """The series in which the trials are counted; what was repaired at the beginning of this run began a new one."""
    stands = progress.stands(LOOP_CHECK)
    so_far = background.series.for_phase(LOOP_CHECK.name, stands=stands)
    if stands:
        return so_far
    if repair is not Advice.NONE and background.continuation is None:
        so_far = so_far.changed(repair.value)
    so_far = yield from continued(so_far, operator)
    yield from named(so_far, background.surroundings.tag, plan)
    return so_far


def _pause(verdict: Verdict, found: AsFound, test: Steps[FunctionTested | None]) -> Steps[Verdict]:
    """An input alone pauses nothing, so no test is offered there, and it is at best a conditional pass."""
    if found.met is not None and found.met.input_only:
        return Verdict.CONDITIONAL if verdict is Verdict.PASS else verdict
    return (yield from _function(verdict, test))


def _function(verdict: Verdict, test: Steps[FunctionTested | None]) -> Steps[Verdict]:
    """What reads wrong needs no function test; that none was offered is said."""
    if verdict not in (Verdict.PASS, Verdict.CONDITIONAL):
        yield from not_offered(verdict)
        return verdict
    return with_function(verdict, (yield from test))


def _known(background: Background, identity: Identity | None, unsafe: UnsafeItems) -> Steps[Progress]:
    """Whether it is the printer on record, and what of a broken-off run still stands."""
    continuation = background.continuation
    before = None if continuation is None else continuation.marks
    same = yield from same_printer(background.surroundings, identity, before)
    if background.prove:
        yield from prove(background.surroundings.tag)
    progress = yield from take_up(continuation, same.marks, same.match)
    unsafe.keep(() if continuation is None else continuation.unsafe, progress)
    return progress


def _calendar(background: Background, verdict: Verdict) -> Calendar | None:
    """The next date is agreed only where the printer may be used."""
    return background.calendar if verdict in (Verdict.PASS, Verdict.CONDITIONAL) else None


def _repair(repair: Advice, sheet: Sheet, background: Background) -> Steps[None]:
    title, hold_points = REPAIRS[repair]
    identity, record = None, None
    if repair in REFLASHING:
        identity = yield from identify()
        yield from same_printer(background.surroundings, identity)
        record = yield from keep_settings(sheet, identity, None)
    yield from carried_out(REPAIR.titled(title), _repaired(repair, hold_points, sheet, record, identity))


def _repaired(
    repair: Advice, hold_points: Sequence[Hold], sheet: Sheet, record: SettingsRecord | None, identity: Identity | None
) -> Steps[None]:
    released = HoldReleased()
    for hold_point in hold_points:
        released = yield from (hold(hold_point) if hold_point.reflash else power.by_itself(hold_point))
    yield from establish(Repair(sentences=(f"Repaired before this run: {repair.value}.",), repair=repair))
    if record is not None:
        reflashed = yield from look_after(sheet, record, identity, released)
        yield from restored(sheet, record, reflashed)


def _offer(checked: LoopChecked, identity: Identity | None) -> Steps[Advice]:
    if checked.advice not in REPAIRS:
        return Advice.NONE
    if checked.advice in REFLASHING and keeps_a_file(identity) is not None:
        yield Tell(IN_ITS_FILE, heading="On this printer the logic stands in a file")
        return Advice.NONE
    options = (
        Option(
            "now", "do it now", "this run ends here as it is; after the hold point the check starts again as a new run"
        ),
        Option("later", "do it later", "this run ends here; start the check again when it is done"),
    )
    answer = yield from choose(Choose("walk.repair", f"The advice is: {checked.advice.value}. When?", options))
    return checked.advice if answer == "now" else Advice.NONE
