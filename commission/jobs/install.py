"""The order of the phases, what a fail blocks, and where an inverted polarity leads back to."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.phase import Progress
from commission.asking.steps import Steps, establish
from commission.dialect.family import printer_of
from commission.dialect.identity import Identity
from commission.jobs.outlook import outlook_of
from commission.jobs.program import asked_beforehand, by_program
from commission.jobs.repair_now import offered_repair, repaired
from commission.jobs.settings_share import (
    keep_settings,
    offered_reflash,
    offered_watching,
    settings_as_left,
)
from commission.jobs.several import begun, beside_paths, judged, one_after_the_other, proven_paths, turn_of
from commission.jobs.taking_up import take_up
from commission.jobs.wiring_share import explained, follow_up, prepare_wiring
from commission.judge.advice import Advice
from commission.judge.nuisance import not_shown_by_a_run
from commission.judge.plan import Plan
from commission.judge.trial_series import SeriesSoFar
from commission.procedure.borrow.prediction import held_against_prediction
from commission.procedure.function.offer import for_active_tool, not_offered, offered_function_test, with_function
from commission.procedure.function.pause_told import told_instead
from commission.procedure.function.reserve import offered_reserve, reserve_after_repair
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.loop.loop_check import LOOP_CHECK, LoopChecked, loop_check
from commission.procedure.loop.repair_steps import REFLASHING
from commission.procedure.loop.series import continued, named
from commission.procedure.meeting.as_found import AS_FOUND, AsFound, as_found
from commission.procedure.meeting.background import Background, SeriesOnRecord
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import prove, same_printer
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.unsafe import UnsafeItems
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.wiring.pin_look import OFFER, PIN_LOOK, changed_by_asking, pin_look
from commission.vocabulary import Verdict


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
        yield from repaired(repair, sheet, background)
    identity = yield from identify()
    progress = yield from _known(background, identity, unsafe)
    together = background.sensors
    wanted = background.surroundings.source
    found = yield from progress.do(AS_FOUND, lambda: as_found(identity, wanted, together))
    rest = partial(_rest, plan, operator, background, sheet, repair, unsafe, identity, progress, found)
    if asked_beforehand(found, identity) and not found.sensors:  # of several sensors each is asked for itself
        return (yield from by_program(found, progress, rest))
    return (yield from rest())


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
        found = (yield from _reflashed(sheet, record, identity, found, progress, background.sensors)) or found
    if found.switch is None:
        verdict = yield from not_reported(found.met)
        printer = printer_of(identity)
        if printer is not None and changed_by_asking(printer):
            yield from progress.offered(PIN_LOOK, OFFER, lambda: pin_look(printer))
        yield from sign_off(operator)
        return JobResult(verdict)
    job = _Job(plan, operator, background, identity, repair)
    tested = yield from (_all_of_them if found.sensors else _only_one)(job, found, progress)
    yield from settings_as_left(sheet, record)
    unsettled = len(background.on_record.beside(tested.verdict))
    verdict = yield from unsafe.held_against(tested.verdict)
    yield from sign_off(operator, _calendar(background, verdict))
    if verdict in (Verdict.PASS, Verdict.CONDITIONAL):
        yield Tell((not_shown_by_a_run(background.surroundings.tag, background.surroundings.port.path),))
    advised = Advice.NONE if tested.checked is None else (yield from offered_repair(tested.checked, identity))
    return JobResult(verdict, advised, unsettled, unsafe.carried)


@dataclass(frozen=True)
class _Job:
    """What the parts of an installation share; see `install_run`."""

    plan: Plan
    operator: str
    background: Background
    identity: Identity | None
    repair: Advice


@dataclass(frozen=True)
class _Tested:
    """What a sensor came to; `checked` is its loop check, where the printer can be repaired at once."""

    verdict: Verdict
    checked: LoopChecked | None = None


def _only_one(job: _Job, found: AsFound, progress: Progress) -> Steps[_Tested]:
    """One sensor, be it the only one or not."""
    series, tag, switch = job.background.series, job.background.surroundings.tag, found.switch or ""
    if job.background.sensors:
        yield from _one_of_several(job.background.sensors, found)
        series, tag = series.of_sensor(switch), f"{tag}/{switch}"
    return (yield from _tested(job, found, progress, series, tag))


def _one_of_several(sensors: Sequence[str], found: AsFound) -> Steps[None]:
    """It is counted for itself. Where the printer tells of no other one any more, it is all there is."""
    names = () if found.met is None else found.met.reports
    if not set(names) & (set(sensors) - {found.switch}):
        yield from begun((found.switch or "",))
    yield from establish(turn_of(found.switch or "", 1, 1))


def _all_of_them(job: _Job, found: AsFound, progress: Progress) -> Steps[_Tested]:
    """Several sensors: which belongs to which path, then each for itself."""
    sensors = () if found.met is None else found.met.several
    yield from begun(found.sensors)
    shown = yield from proven_paths(sensors, progress)
    yield from offered_watching(found.runout, progress, job.identity)
    series, tag = job.background.series, job.background.surroundings.tag

    def one(sensor: str, done: Progress) -> Steps[_Tested]:
        return _tested(job, found.of(sensor), done, series.of_sensor(sensor), f"{tag}/{sensor}", several=True)

    came_to = yield from one_after_the_other(found.sensors, shown.paths, progress, one)
    verdicts = {sensor: each.verdict for sensor, each in came_to.items()}
    return _Tested((yield from judged(verdicts, shown.paths, beside_paths(shown.verdict))))


def _tested(
    job: _Job, found: AsFound, progress: Progress, series: SeriesOnRecord, tag: str, *, several: bool = False
) -> Steps[_Tested]:
    """Wiring, loop check, reserve and function test of one sensor."""
    switch, identity = found.switch or "", job.identity
    if (yield from prepare_wiring(switch, progress)).forbidden:
        return _Tested(Verdict.FAIL)
    so_far = yield from _series(job, series, progress, tag)
    checked = yield from progress.do(
        LOOP_CHECK, lambda: explained(loop_check(job.plan, switch, so_far, moves=told_instead(identity) is None))
    )
    yield from follow_up(checked, job.plan, switch, progress)
    yield from held_against_prediction(checked.behaviour, checked.fail_safe)
    verdict = checked.acceptance.verdict
    failed = verdict is Verdict.FAIL
    room = yield from reserve_after_repair() if failed else offered_reserve(found.runout.distance_mm, progress)
    if not several:
        yield from offered_watching(found.runout, progress, identity, refused=room is not None and room.refused)
    test = offered_function_test(found, identity, room, progress)
    verdict = yield from _pause(verdict, found, for_active_tool(test, progress, identity, switch) if several else test)
    return _Tested(verdict, checked)


def _reflashed(
    sheet: Sheet,
    record: SettingsRecord | None,
    identity: Identity | None,
    found: AsFound,
    progress: Progress,
    together: Sequence[str],
) -> Steps[AsFound | None]:
    lists_sensor = found.switch is not None
    return offered_reflash(sheet, record, identity, progress, lists_sensor=lists_sensor, together=together)


def _series(job: _Job, series: SeriesOnRecord, progress: Progress, tag: str) -> Steps[SeriesSoFar]:
    """The series in which the trials are counted; what was repaired at the beginning of this run began a new one."""
    stands = progress.stands(LOOP_CHECK)
    so_far = series.for_phase(LOOP_CHECK.name, stands=stands)
    if stands:
        return so_far
    if job.repair is not Advice.NONE and job.background.continuation is None:
        so_far = so_far.changed(job.repair.value)
    so_far = yield from continued(so_far, job.operator)
    yield from named(so_far, tag, job.plan)
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
