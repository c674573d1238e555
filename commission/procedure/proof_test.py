"""The periodic check: the condition check, and with hands there the trials and the wiggle; in full also more.

In full it also unplugs the sensor, cycles the power and provokes a pause. Each is held against the checks before.
"""

from collections.abc import Sequence
from dataclasses import replace

from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.runout import runout_of
from commission.drawing.trend import as_text
from commission.judge.acceptance import Criterion
from commission.judge.advice import Advice
from commission.judge.condition import Measured, overall
from commission.procedure.as_found import AsFound, runout_facts, runout_sentences
from commission.procedure.by_hand import worked_by_hand
from commission.procedure.cautions import BY_HAND, GENERAL
from commission.procedure.check_criteria import Worked, criteria_of, measured_now
from commission.procedure.condition_check import Condition, Subject, condition_check, open_items
from commission.procedure.function_offer import offered_function_test
from commission.procedure.loop_check import trials_by_hand
from commission.procedure.message import Tell, Weight
from commission.procedure.next_check import Calendar
from commission.procedure.request import Confirm, Hold, PhaseBegins, PhaseEnds
from commission.procedure.response import (
    Interrupted,
    Interruption,
    InterruptionKind,
)
from commission.procedure.sign_off import sign_off
from commission.procedure.steps import Steps, ask, confirm, establish, hold, recall
from commission.procedure.trends import trends_of
from commission.procedure.unplug import unplug_test
from commission.procedure.walk import Walked
from commission.procedure.wiggle import wiggle_by_hand
from commission.vocabulary import Presence, SwitchBehaviour, Verdict

NAME = "proof_test"
NEEDS_HANDS = {
    "misreads": "whether the reading follows the filament",
    "unplugged": "what a broken wire reads",
    "pause": "whether the printer pauses",
    "watching after a restart": "whether watching survives a restart",
}
FULL_ADDS = ("watching after a restart", "unplugged", "pause")
"""What a full check judges beyond a brief one."""
POWER_CYCLE = Hold(
    key="proof.power_cycle",
    title="Power off and on again",
    steps=(
        "Switch the printer off and pull the USB cable: both, or the logic stays powered.",
        "Wait ten seconds.",
        "Switch the printer on and plug the USB cable back in.",
    ),
    release="Is the printer on again?",
    power=True,
)
OTHER = "On {port} a printer answers that announces itself differently. Nothing more is asked of it."


def periodic_check(subject: Subject) -> Steps[Walked]:
    """The whole check: brief, full or unattended, as the subject says."""
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    condition = yield from condition_check(subject)
    worked = Worked()
    if condition.switch is not None and not subject.unattended:
        worked = yield from _by_hand(subject, condition.switch)
        if subject.full:
            yield from _pause(condition, condition.switch, worked)
    verdict, missing = yield from _judge(subject, condition, worked)
    if not subject.unattended:
        yield from _sign_off(subject, verdict, full=subject.full and not missing)
    return Walked(verdict, Advice.NONE)


def _by_hand(subject: Subject, switch: str) -> Steps[Worked]:
    yield PhaseBegins(NAME, "Proof test: from the filament to the reading and back")
    yield Tell(BY_HAND, heading="Before you start", weight=Weight.CAUTION)
    worked = Worked()
    worked.series = yield from worked_by_hand(trials_by_hand(subject.plan, switch))
    if not worked.series.blemished:
        worked.wiggle = yield from worked_by_hand(wiggle_by_hand(subject.plan, switch))
    if subject.full:
        yield from _full(subject, switch, worked)
    yield PhaseEnds(NAME, {"switch": switch})
    return worked


def _full(subject: Subject, switch: str, worked: Worked) -> Steps[None]:
    lines = ("It takes the power off twice and shows what a broken wire would do.",)
    if (yield from confirm(Confirm("unplug.ready", "Go on with the unplug test?", lines))):
        behaviour = SwitchBehaviour.UNDECIDED if worked.series is None else worked.series.behaviour
        presence = None if worked.wiggle is None else Presence.IN
        off = yield from unplug_test(subject.plan, switch, behaviour, presence)
        worked.unplugged, worked.at_sensor = off.at_board, off.at_sensor
    else:
        released = yield from hold(POWER_CYCLE)
        if not released.same_identity:
            said = (
                f"On {released.port} a printer answers that announces itself differently. Nothing more is asked of it."
            )
            raise Interrupted(Interruption(InterruptionKind.OTHER_PRINTER, said))
    worked.after_restart = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    found = runout_sentences(worked.after_restart)
    yield from establish("runout_control_after_restart", *found, **runout_facts(worked.after_restart))


def _pause(condition: Condition, switch: str, worked: Worked) -> Steps[None]:
    worked.tested = yield from offered_function_test(AsFound(switch, (), condition.runout), condition.identity)
    pause = None if worked.tested is None else (yield from recall("pause"))
    after_s = None if pause is None else pause.get("announced_after_s")
    worked.time_to_pause_s = None if after_s is None else float(after_s)


def _judge(subject: Subject, condition: Condition, worked: Worked) -> Steps[tuple[Verdict, tuple[str, ...]]]:
    yield PhaseBegins("judgement", "Held against the record")
    criteria = criteria_of(subject, condition, worked)
    missing = missing_of_full(subject, criteria)
    verdict = Verdict.CONDITIONAL if overall(criteria) is Verdict.PASS and missing else overall(criteria)
    not_judged = [each for each in criteria if each.verdict is Verdict.NOT_JUDGED]
    yield from establish(
        "check",
        f"{kind_of(subject).capitalize()}: {verdict.value}.",
        *(f"{each.name.capitalize()}, {each.verdict.value}: {each.observed}" for each in criteria),
        *_not_done(not_judged),
        *([f"A full check is no pass without: {', '.join(missing)}."] if missing else []),
        kind=kind_of(subject),
        verdict=verdict.value,
        switch=condition.switch,
        unattended=subject.unattended,
        not_judged=[each.name for each in not_judged],
        criteria=[
            {"name": each.name, "rule": each.rule, "observed": each.observed, "verdict": each.verdict.value}
            for each in criteria
        ],
    )
    yield from open_items(criteria)
    yield from _trends(subject, measured_now(subject, condition, worked))
    yield PhaseEnds("judgement", {"verdict": verdict.value})
    return verdict, missing


def missing_of_full(subject: Subject, criteria: Sequence[Criterion]) -> tuple[str, ...]:
    """What makes a full check one and was not judged in it: it is then no pass, and moves the date of none."""
    not_judged = {each.name for each in criteria if each.verdict is Verdict.NOT_JUDGED}
    return tuple(name for name in FULL_ADDS if subject.full and name in not_judged)


def _trends(subject: Subject, now: Measured) -> Steps[None]:
    if not subject.history:
        return
    for trend in trends_of([*subject.history, replace(now, label=f"{now.label} (now)")]):
        yield Tell(tuple(as_text(trend)[1:]), heading=as_text(trend)[0])


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
