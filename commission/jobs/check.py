"""The periodic check: the condition check, and with hands there the trials and the wiggle; in full also more.

In full it also unplugs the sensor, cycles the power and provokes a pause. Each is held against the checks before.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.phase import Phase, Progress, steps_of
from commission.asking.steps import Steps, establish, recall
from commission.dialect.identity import Identity
from commission.drawing.trend import as_text
from commission.evidence.findings import loop
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.function import Pause
from commission.jobs.install import JobResult
from commission.jobs.several import begun, judged, one_after_the_other, turn_of
from commission.jobs.taking_up import take_up
from commission.judge.acceptance import Criterion
from commission.judge.advice import Advice
from commission.judge.condition import Measured, left_open, overall
from commission.judge.exposure import watched
from commission.judge.nuisance import Around, Exposed, not_shown_yet, rate_bounds
from commission.procedure.check.condition import Condition, Subject, condition_check, identify_subject, open_items
from commission.procedure.check.criteria import OWN_DETECTION, Worked, criteria_of, measured_now
from commission.procedure.check.hands import PROOF_TEST, powered_off, proven
from commission.procedure.check.trends import trends_of
from commission.procedure.function.offer import for_active_tool, offered_function_test
from commission.procedure.function.reserve_on_record import recalled_reserve
from commission.procedure.loop.pull_items import pull_still_open
from commission.procedure.loop.series import continued, named
from commission.procedure.meeting.as_found import AsFound
from commission.procedure.meeting.identity import SamePrinter, same_as_in_run
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.unsafe import OnRecord, UnsafeItems
from commission.procedure.wiring.noted import told_as_declared
from commission.vocabulary import Verdict

JUDGEMENT = Phase("judgement", "Held against the record", "the judgement")
NEEDS_HANDS = {
    "misreads": "whether the reading follows the filament",
    "unplugged": "what a broken wire reads",
    "pause": "whether the printer pauses",
    "runout detection after a restart": "whether runout detection survives a restart",
}
UNSETTLED = "What earlier runs found wrong stands; only a completed check with hands clears it:"
FULL_ADDS = ("runout detection after a restart", "unplugged", "pause")
"""What a full check judges beyond a brief one."""
NEEDED = ("polarity", "misreads", "wiggle", "steadiness")
"""Without these a check with hands has no verdict; without the last one an unattended check has none."""
BEYOND_BRIEF = (*FULL_ADDS, "time to pause")
BEYOND_UNATTENDED = (*BEYOND_BRIEF, "misreads", "misreads against the record", "settle time")
"""What such a check does not stand for: it says so, beside its verdict."""


def periodic_check(subject: Subject) -> Steps[JobResult]:
    """The whole check: brief, full or unattended, as the subject says; or the rest of one that was broken off.

    The condition is looked at each time, since it tells how the printer is now; what took hands stays done.
    """
    every = OnRecord(subject.unsettled, subject.unsettled)  # an unattended check clears nothing
    unsafe = UnsafeItems(every if subject.unattended else subject.on_record)
    return (yield from unsafe.noted(_check(subject, unsafe)))


def _check(subject: Subject, unsafe: UnsafeItems) -> Steps[JobResult]:
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    identity, same = yield from identify_subject(subject)
    yield from told_as_declared(subject.declared)
    progress = yield from _progress(subject, same)
    unsafe.keep(() if subject.continuation is None else subject.continuation.unsafe, progress)
    if subject.each:
        result = yield from _each(subject, identity, same, progress, unsafe)
    else:
        if subject.of_several:
            yield from establish(turn_of(subject.switch, 1, 1))
        result = yield from _sensor(subject, identity, same, progress, unsafe)
    if not subject.unattended:
        yield from _sign_off(subject, result.verdict, full=subject.full and not result.missing)
    return JobResult(result.verdict, Advice.NONE, result.unsettled, unsafe.carried)


def _sensor(
    subject: Subject, identity: Identity | None, same: SamePrinter, progress: Progress, unsafe: UnsafeItems
) -> Steps["_Judged"]:
    """Condition, what takes hands, and judgement of one sensor."""
    condition = yield from condition_check(subject, identity, same)
    worked = Worked()
    if condition.switch is not None and not subject.unattended:
        worked = yield from _worked(subject, condition, condition.switch, progress)
    return (yield from _judge(subject, condition, worked, unsafe))


def _each(
    subject: Subject, identity: Identity | None, same: SamePrinter, progress: Progress, unsafe: UnsafeItems
) -> Steps["_Judged"]:
    """One sensor after the other; the check comes to the worst of them."""
    subjects = {each.switch: each for each in subject.each}
    yield from begun(tuple(subjects))

    def one(sensor: str, done: Progress) -> Steps[_Judged]:
        return _sensor(subjects[sensor], identity, same, done, unsafe)

    came_to = yield from one_after_the_other(tuple(subjects), {}, progress, one)
    verdicts = {sensor: each.verdict for sensor, each in came_to.items()}
    whole = yield from judged(verdicts, {}, Verdict.PASS)
    missing = tuple(dict.fromkeys(name for each in came_to.values() for name in each.missing))
    return _Judged(whole, missing, max(each.unsettled for each in came_to.values()))


@dataclass(frozen=True)
class _Judged:
    """What a check came to, the tests that a full one misses, and how much on record it leaves standing."""

    verdict: Verdict
    missing: tuple[str, ...]
    unsettled: int


def _progress(subject: Subject, same: SamePrinter) -> Steps[Progress]:
    """What of a broken-off check still stands; the printer is compared with the one that it met."""
    before = subject.continuation
    match = same.match
    if before is not None and before.marks is not None:
        match = yield from same_as_in_run(subject.surroundings, same, before.marks)
    return (yield from take_up(before, same.marks, match))


def _worked(subject: Subject, condition: Condition, switch: str, progress: Progress) -> Steps[Worked]:
    stands = progress.stands(PROOF_TEST)
    so_far = subject.series.for_phase(PROOF_TEST.name, stands=stands)
    if not stands:
        so_far = yield from continued(so_far, subject.operator)
        tag = subject.surroundings.tag
        yield from named(so_far, f"{tag}/{switch}" if subject.of_several else tag, subject.plan)
    shown = yield from proven(subject.plan, switch, progress, so_far)
    worked = Worked(shown.series, shown.wiggle)
    if not subject.full:
        return worked
    off = yield from powered_off(subject.plan, switch, progress, condition.identity)
    worked.unplugged, worked.at_sensor = off.unplugged.at_board, off.unplugged.at_sensor
    worked.pull = off.unplugged.pull
    worked.after_restart, worked.restart_seen = off.after_restart, off.restart_seen
    found = AsFound(switch, (), condition.runout)
    room = yield from recalled_reserve(subject.reserve, condition.identity)
    test = offered_function_test(found, condition.identity, room, progress)
    if subject.of_several:
        test = for_active_tool(test, progress, condition.identity, switch)
    worked.tested = yield from test
    pause = None if worked.tested is None else (yield from recall(Pause))
    worked.time_to_pause_s = None if pause is None else pause.announced_after_s
    return worked


@steps_of(JUDGEMENT)
def _judge(subject: Subject, condition: Condition, worked: Worked, unsafe: UnsafeItems) -> Steps[_Judged]:
    criteria = criteria_of(subject, condition, worked)
    by_rules, missing = verdict_of(subject, criteria), left_open(criteria, _beyond(subject))
    verdict, against = unsafe.beside(by_rules), unsafe.said_beside(by_rules)
    stands = subject.unsettled if subject.unattended else unsafe.on_record.beside(by_rules)
    not_judged = [each for each in criteria if each.verdict is Verdict.NOT_JUDGED]
    said = (
        f"{kind_of(subject).capitalize()}: {verdict.value}.",
        *(f"{each.name.capitalize()}, {each.verdict.value}: {each.observed}" for each in criteria),
        *_not_done(not_judged),
        *([f"A {kind_of(subject)} is no pass without: {', '.join(missing)}."] if missing else []),
        *(((UNSETTLED, *stands) if stands else ()) if subject.unattended else against),
    )
    yield from establish(
        CheckJudged(
            sentences=said,
            kind=kind_of(subject),
            verdict=verdict,
            switch=condition.switch,
            unattended=subject.unattended,
            not_judged=tuple(each.name for each in not_judged),
            unsettled=stands,
            criteria=loop.criteria_of(criteria),
        )
    )
    yield from open_items([each for each in criteria if each.name != OWN_DETECTION])  # open since it was met
    if subject.history and not subject.full:
        yield from pull_still_open()
    yield from _trends(subject, measured_now(subject, condition, worked))
    yield from _rates(subject, condition, worked)
    return _Judged(verdict, missing_of_full(subject, criteria), len(stands))


def verdict_of(subject: Subject, criteria: Sequence[Criterion]) -> Verdict:
    """The verdict on a check of this kind: see `overall`."""
    return overall(criteria, NEEDED[-1:] if subject.unattended else NEEDED, _beyond(subject))


def _beyond(subject: Subject) -> tuple[str, ...]:
    if subject.unattended:
        return BEYOND_UNATTENDED
    return () if subject.full else BEYOND_BRIEF


def missing_of_full(subject: Subject, criteria: Sequence[Criterion]) -> tuple[str, ...]:
    """What makes a full check one and was not judged in it: it then moves the date of none."""
    not_judged = {each.name for each in criteria if each.verdict is Verdict.NOT_JUDGED}
    return tuple(name for name in FULL_ADDS if subject.full and name in not_judged)


def _trends(subject: Subject, now: Measured) -> Steps[None]:
    if not subject.history:
        return
    for trend in trends_of([*subject.history, replace(now, label=f"{now.label} (now)")]):
        yield Tell(tuple(as_text(trend)[1:]), heading=as_text(trend)[0])


def _rates(subject: Subject, condition: Condition, worked: Worked) -> Steps[None]:
    """How rarely the reading changes by itself, with all that was watched before on the same wiring."""
    watches = [] if condition.watched is None else [condition.watched]
    watches += [] if worked.wiggle is None else [worked.wiggle.readings]
    now = [watched(readings, 0.0) for readings in watches]
    bounds = rate_bounds([*subject.exposed, *(Exposed(Around.AT_REST, seen.exposure_s, seen.changes) for seen in now)])
    open_yet = not_shown_yet(bounds, subject.surroundings.tag, subject.switch if subject.of_several else "")
    said = (*(bound.sentence for bound in bounds), *([open_yet] if open_yet else []))
    yield Tell(said, heading="How rarely the reading changes by itself")


def kind_of(subject: Subject) -> str:
    """How this check is called in the record."""
    if subject.unattended:
        return "condition check"
    return "full check" if subject.full else "brief check"


def _not_done(not_judged: Sequence[Criterion]) -> tuple[str, ...]:
    names = [each.name for each in not_judged]
    missing = [what for name, what in NEEDS_HANDS.items() if name in names]
    if not missing:
        return ()
    return (f"This check does not tell {'; nor '.join(missing)}: that is not judged, which is no pass.",)


def _sign_off(subject: Subject, verdict: Verdict, *, full: bool) -> Steps[None]:
    calendar = None
    if verdict in (Verdict.PASS, Verdict.CONDITIONAL):
        calendar = Calendar(
            today=subject.today,
            first_day=min(subject.first_day or subject.today, subject.today),
            hidden_failures=subject.hidden_failures,
            full=full,
            full_due=subject.full_due,
        )
    yield from sign_off(subject.operator, calendar)
