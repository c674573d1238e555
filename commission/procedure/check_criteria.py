"""What a periodic check judges, from what it saw with and without hands; each in words a person can hold it to."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.dialect.runout import RunoutControl
from commission.judge.acceptance import Criterion, at_sensor_criterion
from commission.judge.condition import Measured, condition_criteria
from commission.judge.failsafe import UnpluggedResult, fail_safe
from commission.judge.measuring import Circumstances, TimedTrial, measure
from commission.judge.polarity import PREDICTIONS
from commission.judge.stability import Sample
from commission.procedure.condition_check import Condition, Subject, restart_criterion
from commission.procedure.function_verdict import FunctionTested
from commission.procedure.response import TimedReading, TrialTaken, WatchTaken
from commission.procedure.trials import Series
from commission.vocabulary import FailSafe, Instruction, Presence, Reading, SwitchBehaviour, Verdict


@dataclass
class Worked:
    """What hands brought to light."""

    series: Series | None = None
    wiggle: WatchTaken | None = None
    unplugged: tuple[UnpluggedResult, ...] = ()
    at_sensor: UnpluggedResult | None = None
    after_restart: RunoutControl | None = None
    tested: FunctionTested | None = None
    time_to_pause_s: float | None = None


def criteria_of(subject: Subject, condition: Condition, worked: Worked) -> list[Criterion]:
    """Everything the check judges, and everything it cannot."""
    now = measured_now(subject, condition, worked)
    polarity = [] if worked.series is None else [_polarity(worked.series.behaviour), _wiggle(worked)]
    return [
        *condition.criteria,
        restart_criterion(worked.after_restart),
        *polarity,
        *condition_criteria(subject.history, now),
        _unplugged(worked),
        *([] if worked.at_sensor is None else [at_sensor_criterion(worked.at_sensor, worked.unplugged)]),
        _pauses(worked.tested),
    ]


def measured_now(subject: Subject, condition: Condition, worked: Worked) -> Measured:
    """What this check measured, in the terms of those before it."""
    taken = [] if worked.series is None else worked.series.taken
    behaviour = SwitchBehaviour.UNDECIDED if worked.series is None else worked.series.behaviour
    watches = [] if worked.wiggle is None else [_samples(worked.wiggle.readings)]
    around = Circumstances(
        label=subject.today.isoformat(),
        wiring=subject.wiring,
        firmware="" if condition.identity is None else condition.identity.firmware_name or "",
        time_to_pause_s=worked.time_to_pause_s,
    )
    trials = [_timed(prompt.presence, prompt.instruction, trial) for prompt, trial in taken]
    return measure(trials, [condition.watched, *watches], behaviour, around)


def _timed(presence: Presence, instruction: Instruction, trial: TrialTaken) -> TimedTrial:
    moved = instruction is not Instruction.LEAVE
    return TimedTrial(presence, moved, _samples(trial.before), _samples(trial.dwell))


def _samples(readings: Sequence[TimedReading]) -> tuple[Sample, ...]:
    return tuple(Sample(reading.at_s, reading.reading) for reading in readings)


def _polarity(behaviour: SwitchBehaviour) -> Criterion:
    verdicts = {SwitchBehaviour.DIRECT: Verdict.PASS, SwitchBehaviour.UNDECIDED: Verdict.NOT_JUDGED}
    observed = f"The finding is: {behaviour.value}."
    return Criterion("polarity", "Direct: active means filament in", observed, verdicts.get(behaviour, Verdict.FAIL))


def _wiggle(worked: Worked) -> Criterion:
    """Steady and wrong is no pass: with filament in, every reading of the wiggle shows it."""
    rule = "Every reading shows the filament that is in"
    if worked.wiggle is None or worked.series is None or not worked.wiggle.readings:
        return Criterion("wiggle", rule, "No wiggle was done.", Verdict.NOT_JUDGED)
    expected = PREDICTIONS.get(worked.series.behaviour, PREDICTIONS[SwitchBehaviour.DIRECT])[Presence.IN]
    readings = [reading.reading for reading in worked.wiggle.readings if reading.reading is not Reading.UNKNOWN]
    wrong = sum(reading is not expected for reading in readings)
    observed = f"{wrong} of {len(readings)} readings over {worked.wiggle.seconds:.0f} s show something else."
    return Criterion("wiggle", rule, observed, Verdict.FAIL if wrong else Verdict.PASS)


def _unplugged(worked: Worked) -> Criterion:
    behaviour = SwitchBehaviour.UNDECIDED if worked.series is None else worked.series.behaviour
    found = fail_safe(worked.unplugged, behaviour)
    verdicts = {FailSafe.SAFE: Verdict.PASS, FailSafe.NOT_TESTED: Verdict.NOT_JUDGED}
    return Criterion("unplugged", "Reads steadily out", found.sentence, verdicts.get(found.fail_safe, Verdict.FAIL))


def _pauses(tested: FunctionTested | None) -> Criterion:
    rule = "The printer pauses when filament runs out"
    if tested is None:
        return Criterion("pause", rule, "No runout was provoked.", Verdict.NOT_JUDGED)
    observed = " ".join(tested.reasons) or f"The function test came to: {tested.verdict.value}."
    return Criterion("pause", rule, observed, tested.verdict)
