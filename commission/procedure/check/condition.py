"""Phase: what a printer's own answers tell of its protection, with nobody's hands on it.

Identity, firmware, drift of the settings since they were left, whether runouts are watched for, and a while of steady
reading. It asks only questions. What it cannot know is said to be not judged: whether the watching survives a restart,
whether the reading follows the filament, whether the printer pauses.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.response import TimedReading
from commission.asking.steps import Steps, establish, watch
from commission.command_lines import FULL_CHECK
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.loop import Steady, watch_values
from commission.evidence.findings.meeting import OpenOnRecord
from commission.evidence.findings.reported import RunoutControlNow, SwitchesNow, runout_values
from commission.judge.acceptance import Criterion
from commission.judge.condition import Measured, nuisance_criterion
from commission.judge.exposure import watched
from commission.judge.nuisance import Exposed
from commission.judge.plan import Plan
from commission.judge.power import NOT_SEEN
from commission.procedure.check.met import meet_again, nothing_on_record
from commission.procedure.function.reserve_on_record import ReserveOnRecord
from commission.procedure.loop.pull_items import PULL, pull_item
from commission.procedure.loop.unplugged_reading import CURE_UNSEEN
from commission.procedure.meeting.as_found import runout_sentences, switch_sentences
from commission.procedure.meeting.background import NO_SERIES, Continuation, SeriesOnRecord
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Match, SamePrinter, Surroundings, prove, same_printer
from commission.procedure.meeting.printing import not_printing
from commission.procedure.meeting.sensor_met import SensorMet, keep_met
from commission.procedure.meeting.switch_name import differs
from commission.procedure.meeting.unsafe import NOTHING_STANDS, OnRecord
from commission.procedure.settings.drift import settings_drift
from commission.vocabulary import PunchClass, Verdict

CONDITION = Phase("condition_check", "Condition: what the printer's own answers tell", "the condition check")
READINGS_PER_S = 10
MOST_OPEN = 8
"""Open items of earlier runs that are told; the rest is counted."""


@dataclass(frozen=True)
class Subject:
    """What a check is about, and what it is held against.

    Attributes:
        surroundings: tag, port and neighbours.
        operator: who does it.
        today: the day of the check.
        plan: of the trials, where hands are there.
        history: what the printer's earlier runs measured, oldest first.
        switch: the switch tested last time; empty when none is on record.
        wiring: identity of the wiring as the record knows it.
        declared: what is said of a wiring that was declared without a run; empty where a run declared the newest.
        open_items: what the record has open, each as a sentence.
        unsettled: the failures and the open items of class A that no later test has cleared, each as a sentence.
        on_record: those of them that this check does not clear, by what it comes to.
        reserve: the filament reserve that the record has; None for none.
        nuisance_trips: noted since the last check.
        print_hours: printed since then, as far as the record tells.
        first_day: of the first check that was passed.
        full_due: when the full check is due by the record.
        hidden_failures: failures that earlier checks found.
        exposed: what was watched since the last recorded change, without this check.
        steady_s: how long the reading is watched with hands off, in seconds.
        full: whether unplug, pause and power cycle are part of it.
        unattended: nobody is there: nothing is asked.
        gentle: hands off, it is read ten times a second at most.
        prove: show the tag on the printer's display first.
        continuation: the broken-off check that is taken up again; None for one from the start.
        series: of the printer's trials, as the record has them.
        of_several: `switch` is one of several sensors, and no other one is read in its place.
        each: the same for every sensor, where several are checked one after the other; else empty.
    """

    surroundings: Surroundings
    operator: str
    today: date
    plan: Plan
    history: tuple[Measured, ...] = ()
    switch: str = ""
    wiring: str = "0"
    declared: tuple[str, ...] = ()
    open_items: tuple[str, ...] = ()
    unsettled: tuple[str, ...] = ()
    on_record: OnRecord = NOTHING_STANDS
    reserve: ReserveOnRecord | None = None
    nuisance_trips: int = 0
    print_hours: float | None = None
    first_day: date | None = None
    full_due: date | None = None
    hidden_failures: int = 0
    exposed: tuple[Exposed, ...] = ()
    steady_s: float = 30.0
    full: bool = False
    unattended: bool = False
    gentle: bool = False
    prove: bool = False
    continuation: Continuation | None = None
    series: SeriesOnRecord = NO_SERIES
    of_several: bool = False
    each: tuple["Subject", ...] = ()


@dataclass
class Condition:
    """What a check has come to so far.

    Attributes:
        identity: what the printer announces.
        switch: the filament switch; None when none is reported.
        runout: the state of runout control before anything else.
        criteria: everything judged or not judged, in order.
        watched: the readings of the steady watch; None where there was no switch to watch.
    """

    identity: Identity | None
    switch: str | None
    runout: RunoutControl
    criteria: list[Criterion] = field(default_factory=list)
    watched: tuple[TimedReading, ...] | None = None


def identify_subject(subject: Subject) -> Steps[tuple[Identity | None, SamePrinter]]:
    """Whether it is the printer on record, and what is known of it."""
    identity = yield from identify()
    same = yield from same_printer(subject.surroundings, identity)
    yield from not_printing()
    if not subject.history:
        yield Tell(nothing_on_record(subject.surroundings.tag), weight=Weight.NOTE)
    if subject.open_items:
        said = (f"Open on record since {item}" for item in subject.open_items[:MOST_OPEN])
        more = len(subject.open_items) - MOST_OPEN
        yield from establish(OpenOnRecord(sentences=(*said, *([f"And {more} more."] if more > 0 else []))))
    if subject.prove:
        yield from prove(subject.surroundings.tag)
    return identity, same


@steps_of(CONDITION)
def condition_check(subject: Subject, identity: Identity | None, same: SamePrinter) -> Steps[Condition]:
    """Everything that needs no hands, once the printer has been met."""
    wanted, unattended = subject.surroundings.source, subject.unattended
    met = yield from meet_again(identity, wanted, subject.switch, unattended=unattended, only=subject.of_several)
    reported, runout, switch = met.reported, met.runout, met.switch
    yield from establish(RunoutControlNow(sentences=runout_sentences(runout), **runout_values(runout)))
    yield from establish(SwitchesNow(sentences=switch_sentences(reported.states), names=reported.names))
    yield from keep_met(met, subject.switch)
    condition = Condition(identity, switch, runout)
    condition.criteria += [identity_criterion(same), firmware_criterion(subject, same), watching_criterion(runout)]
    condition.criteria.append(
        (yield from settings_drift(subject.surroundings.tag, subject.today, same.marks.firmware, identity))
    )
    condition.criteria.append(nuisance_criterion(subject.nuisance_trips, subject.print_hours))
    condition.criteria.append(switch_criterion(subject, met))
    if switch is not None:
        condition.watched = yield from _steady(subject, switch)
    return condition


def switch_criterion(subject: Subject, met: SensorMet) -> Criterion:
    """Whether the filament sensor is read, and by the name on record; another one calls for a full check."""
    name, rule = "switch reported", "The filament switch is reported, by the name on record"
    reported, switch = met.reported, met.switch
    if switch is None:
        seen = next((each for each in reported.unsettled if each.name == subject.switch or each.is_filament), None)
        if seen is not None:
            said = f"The filament switch is reported in {reported.share(seen.name)} only: nothing can be read of it."
            return Criterion(name, rule, said, Verdict.NOT_JUDGED)
        said = "No filament switch is reported, or several and nobody to say which one is meant."
        return Criterion(name, rule, said, Verdict.FAIL)
    if not subject.switch or switch == subject.switch:
        return Criterion(name, rule, f"Reported as {switch}, {met.share}.", Verdict.PASS)
    said = differs(switch, subject.switch)
    if subject.full:
        return Criterion(name, rule, f"{said} This full check tests it anew.", Verdict.PASS)
    return Criterion(name, rule, f"{said} A full check is due at once.", Verdict.CONDITIONAL)


def _steady(subject: Subject, switch: str) -> Steps[tuple[TimedReading, ...]]:
    taken = yield from watch(
        Watch(
            key="steady",
            title="Hands off: is the reading steady?",
            lines=("Leave filament and cable alone.",),
            switch=switch,
            presence=None,
            seconds=subject.steady_s,
            readings=round(READINGS_PER_S * subject.steady_s),
            interval_s=1 / READINGS_PER_S if subject.gentle else AS_FAST_AS_IT_GOES,
        )
    )
    seen = watched(taken.readings, subject.steady_s)
    yield from establish(Steady(sentences=seen.sentences(), switch=switch, **watch_values(seen)))
    return taken.readings


def identity_criterion(same: SamePrinter) -> Criterion:
    """Whether it is the printer on record, and how far that could be told."""
    confirmed = same.match in (Match.UNCLEAR, Match.DIFFERENT)
    observed = f"{same.match.value.capitalize()}{'; the operator says it is the one' if confirmed else ''}."
    verdict = {Match.FIRST: Verdict.NOT_JUDGED, Match.SAME: Verdict.PASS, Match.SAME_PLACE: Verdict.PASS}
    judged = verdict.get(same.match, Verdict.CONDITIONAL)
    return Criterion("identity", "The printer on record", observed, judged, no_record=same.match is Match.FIRST)


def firmware_criterion(subject: Subject, same: SamePrinter) -> Criterion:
    """The firmware is the one that was tested last; another one calls for a full check, which this may be."""
    rule = "The firmware that was tested"
    now = same.marks.firmware
    # a run that only looked, such as a backup, met a firmware and tested none
    tested = next((check.firmware for check in reversed(subject.history) if check.firmware), None)
    if tested is None and same.match is Match.FIRST:
        return Criterion("firmware", rule, "No firmware is on record.", Verdict.NOT_JUDGED, no_record=True)
    changed = same.firmware_changed if tested is None else tested != now
    if not changed:
        return Criterion("firmware", rule, f"Announced as on record: {now or 'nothing'}.", Verdict.PASS)
    observed = f"Another firmware is announced: {now or 'nothing'}."
    if subject.full:
        return Criterion("firmware", rule, f"{observed} This full check tests it anew.", Verdict.PASS)
    return Criterion("firmware", rule, f"{observed} A full check is due at once.", Verdict.CONDITIONAL)


def watching_criterion(runout: RunoutControl) -> Criterion:
    """Whether runouts are watched for now."""
    return _watching("runout detection", runout)


def restart_criterion(runout: RunoutControl | None, *, seen: bool) -> Criterion:
    """Whether runouts are watched for after a restart, which only a restart shows.

    Args:
        runout: the state of runout control after one; None without one.
        seen: whether the printer was seen to begin anew; unseen, that it watches now shows nothing stored.
    """
    name = "runout detection after a restart"
    if runout is None:
        said = "It was not restarted: what is stored cannot be seen from here."
        return Criterion(name, _WATCHING_RULE, said, Verdict.NOT_JUDGED)
    found = _watching(name, runout)
    if found.verdict is Verdict.PASS and not seen:
        said = f"{NOT_SEEN}: that runout detection is on does not show that it is stored."
        return replace(found, observed=said, verdict=Verdict.NOT_JUDGED)
    return found


_WATCHING_RULE = "Runout detection is on, and the printer itself reacts"


def _watching(name: str, runout: RunoutControl) -> Criterion:
    if runout.enabled is None:
        observed, verdict = "The printer does not say whether runout detection is on.", Verdict.NOT_JUDGED
    elif not runout.enabled:
        observed, verdict = "Runout detection is off: nothing protects this printer.", Verdict.FAIL
    elif runout.host_handling:
        observed, verdict = (
            "Runout detection is on, but the printer leaves the reaction to a host computer.",
            Verdict.FAIL,
        )
    else:
        observed, verdict = "Runout detection is on.", Verdict.PASS
    return Criterion(name, _WATCHING_RULE, observed, verdict)


def open_items(criteria: Sequence[Criterion]) -> Steps[None]:
    """What is left to put right, with its cure."""
    grades = {Verdict.FAIL: PunchClass.UNSAFE, Verdict.CONDITIONAL: PunchClass.INCOMPLETE}
    for criterion in criteria:
        if criterion.verdict in grades:
            text = f"{criterion.name.capitalize()}: {criterion.observed}"
            unseen = criterion.verdict is Verdict.CONDITIONAL and criterion.name in _UNSEEN
            cure = CURE_UNSEEN if unseen else _CURES.get(criterion.name, _CURE)
            if criterion.name == PULL:
                text, cure = pull_item(criterion)
            yield Punch(grades[criterion.verdict], text, cure)


_UNSEEN = ("unplugged", "unplugged at the sensor")
"""Conditional only where a power-off was not seen."""
_CURE = "Find the cause, put it right, then run a full check."
_CURES = {
    "runout detection": "Switch runout detection on, have the printer itself react, save, restart, and run this check "
    "again.",
    "firmware": f"Run the full check: `{FULL_CHECK}`.",
    "settings": "Compare with the record; put back what nobody meant to change, or record why it changed.",
    "settle time": "The switch or its lever wears: clean it, or replace it soon; then run a full check.",
    "runout detection after a restart": "Switch runout detection on, save the settings, restart, and run the full "
    "check again.",
    "nuisance trips": "Look for noise, a loose plug or a worn switch; then run a full check.",
    "switch reported": "See that the switch is listed, by the same name and for the same input; then run a full check.",
    "identity": "Make sure of the machine; then its new marks are on record by this check.",
}
