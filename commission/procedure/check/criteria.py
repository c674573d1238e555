"""What a periodic check judges, from what it saw with and without hands; each in words a person can hold it to."""

from dataclasses import dataclass

from commission.asking.response import WatchTaken
from commission.dialect.family import printer_of
from commission.dialect.runout import RunoutControl
from commission.dialect.sources.source import Source
from commission.dialect.sources.ways import Proves
from commission.judge.acceptance import (
    Criterion,
    at_sensor_criterion,
    broken_off_criteria,
    pull_criterion,
    set_aside,
    set_aside_rule,
)
from commission.judge.condition import Measured, condition_criteria
from commission.judge.evidence import PullResult
from commission.judge.exposure import watched
from commission.judge.failsafe import UnpluggedResult, fail_safe
from commission.judge.measuring import Circumstances, TimedWatch, measure
from commission.judge.misreads import Trials
from commission.judge.plan import Plan
from commission.judge.polarity import PREDICTIONS
from commission.judge.trial import Came
from commission.judge.trial_series import SeriesSoFar
from commission.judge.wording import counted
from commission.procedure.check.condition import Condition, Subject, restart_criterion
from commission.procedure.function.verdict import FunctionTested
from commission.procedure.loop.trials import Series
from commission.vocabulary import Presence, Reading, SwitchBehaviour, Verdict


@dataclass
class Worked:
    """What hands brought to light."""

    series: Series | None = None
    wiggle: WatchTaken | None = None
    unplugged: tuple[UnpluggedResult, ...] = ()
    at_sensor: UnpluggedResult | None = None
    pull: PullResult | None = None
    after_restart: RunoutControl | None = None
    restart_seen: bool = True
    tested: FunctionTested | None = None
    time_to_pause_s: float | None = None


OWN_DETECTION = "own detection"


def own_detection(condition: Condition) -> list[Criterion]:
    """Where an input alone is read: nothing shows that the printer's detection reads it, so it limits the check."""
    source = None if condition.switch is None else Source.called(condition.switch, printer_of(condition.identity))
    if source is None or source.proves is not Proves.INPUT:
        return []
    said = f"Only an input is read ({condition.switch}): nothing shows that the printer acts on it."
    return [Criterion(OWN_DETECTION, "What is read is what the printer acts on", said, Verdict.CONDITIONAL)]


def criteria_of(subject: Subject, condition: Condition, worked: Worked) -> list[Criterion]:
    """Everything the check judges, and everything it cannot."""
    now = measured_now(subject, condition, worked)
    return [
        *condition.criteria,
        *own_detection(condition),
        restart_criterion(worked.after_restart, seen=worked.restart_seen),
        *_trials(subject.plan, worked),
        *condition_criteria(subject.history, now, _of_series(subject.plan, worked.series)),
        _unplugged(subject.plan, worked),
        *([pull_criterion(worked.pull)] if subject.full else []),
        *([] if worked.at_sensor is None else [at_sensor_criterion(worked.at_sensor, worked.unplugged)]),
        _pauses(worked.tested),
    ]


def _trials(plan: Plan, worked: Worked) -> list[Criterion]:
    """What only hands show; nothing of it without a series."""
    series = worked.series
    if series is None:
        return []
    verdict, observed = set_aside(plan, series.dropped, series.lost, given_up=series.given_up)
    left_out = Criterion("trials set aside", set_aside_rule(plan), observed, verdict)
    return [_polarity(series.behaviour), _wiggle(plan, worked), left_out, *_before(series.tally.so_far)]


def _before(so_far: SeriesSoFar) -> list[Criterion]:
    """What the series was found to be before this check."""
    found = []
    if so_far.came_to is Verdict.FAIL:
        said = f"It failed in {so_far.runs[-1]}, and no change since is on record."
        found.append(Criterion("series of trials", "A series that failed ends", said, Verdict.FAIL))
    if so_far.watch_changes:
        said = f"{counted(so_far.watch_changes, 'unwanted change')} in a watch that was broken off."
        found.append(Criterion("steadiness in what was broken off", "No unwanted change", said, Verdict.FAIL))
    return [*found, *broken_off_criteria(so_far.unplugged_bad, so_far.unplugged_open)]


def _of_series(plan: Plan, series: Series | None) -> Trials | None:
    """All trials of the series, those of earlier runs too."""
    if series is None:
        return None
    kinds = (series.counts.kind(Presence.IN), series.counts.kind(Presence.OUT))
    filament_in, filament_out = (
        (len(kind) - kind.count(Came.SET_ASIDE), kind.count(Came.WRONG), kind.count(Came.SET_ASIDE)) for kind in kinds
    )
    return Trials(series.tally.so_far.sampling(plan), filament_in, filament_out)


def measured_now(subject: Subject, condition: Condition, worked: Worked) -> Measured:
    """What this check measured, in the terms of those before it."""
    trials = [] if worked.series is None else worked.series.tally.now
    behaviour = SwitchBehaviour.UNDECIDED if worked.series is None else worked.series.behaviour
    wiggle = [] if worked.wiggle is None else [TimedWatch(worked.wiggle.readings, subject.plan.wiggle_s)]
    steady = [] if condition.watched is None else [TimedWatch(condition.watched, subject.steady_s)]
    around = Circumstances(
        label=subject.today.isoformat(),
        wiring=subject.wiring,
        firmware="" if condition.identity is None else condition.identity.firmware_name or "",
        time_to_pause_s=worked.time_to_pause_s,
    )
    return measure(trials, [*steady, *wiggle], behaviour, around)


def _polarity(behaviour: SwitchBehaviour) -> Criterion:
    verdicts = {SwitchBehaviour.DIRECT: Verdict.PASS, SwitchBehaviour.UNDECIDED: Verdict.NOT_JUDGED}
    observed = f"The finding is: {behaviour.value}."
    return Criterion("polarity", "Direct: active means filament in", observed, verdicts.get(behaviour, Verdict.FAIL))


def _wiggle(plan: Plan, worked: Worked) -> Criterion:
    """Steady and wrong is no pass: with filament in, every reading of the wiggle shows it."""
    rule = "Every reading shows the filament that is in, for as long as was planned"
    if worked.wiggle is None or worked.series is None:
        return Criterion("wiggle", rule, "No wiggle was done.", Verdict.NOT_JUDGED)
    expected = PREDICTIONS.get(worked.series.behaviour, PREDICTIONS[SwitchBehaviour.DIRECT])[Presence.IN]
    wrong = sum(reading.reading not in (expected, Reading.UNKNOWN) for reading in worked.wiggle.readings)
    seen = watched(worked.wiggle.readings, plan.wiggle_s)
    observed = f"{wrong} of {counted(seen.readings, 'reading')} show something else. {' '.join(seen.sentences())}"
    if wrong:
        return Criterion("wiggle", rule, observed, Verdict.FAIL)
    return Criterion("wiggle", rule, observed, Verdict.PASS if seen.complete else Verdict.NOT_JUDGED)


def _unplugged(plan: Plan, worked: Worked) -> Criterion:
    behaviour = SwitchBehaviour.UNDECIDED if worked.series is None else worked.series.behaviour
    found = fail_safe(worked.unplugged, behaviour)
    rule = "Reads steadily out, wherever the filament is"
    return Criterion("unplugged", rule, found.sentence, found.verdict(plan.power_ups_for_pass))


def _pauses(tested: FunctionTested | None) -> Criterion:
    rule = "The printer pauses when filament runs out"
    if tested is None:
        return Criterion("pause", rule, "No runout was provoked.", Verdict.NOT_JUDGED)
    observed = " ".join(tested.reasons) or f"The function test came to: {tested.verdict.value}."
    return Criterion("pause", rule, observed, tested.verdict)
