"""The loop check of a simulated unit: what a diagnosis begins from, and a whole one held against the plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from commission.judge.acceptance import accept
from commission.judge.diagnosis import BenchTest
from commission.judge.evidence import LoopEvidence, PullResult, wiggled
from commission.judge.expectation import Expectation, Sign
from commission.judge.explanations import Observation
from commission.judge.failsafe import UnpluggedResult
from commission.judge.plan import Plan
from commission.judge.polarity import TrialResult, weigh
from commission.judge.power import PowerSeen
from commission.judge.stability import Sample
from commission.judge.trial import Came, TimedTrial
from commission.judge.trial_series import Counts
from commission.vocabulary import Presence, PullConclusion, Reading, Verdict
from commission.wiring.prediction import Probe
from scripts.diagnosis.figures import Figures
from scripts.diagnosis.units import Unit

CYCLES = 22


def loop_check(unit: Unit, tests: Sequence[BenchTest]) -> list[Observation]:
    """Trials until the plan is met or a kind is misread twice, a wiggle, and two power-ups unplugged."""
    named = {test.name: test for test in tests}
    seen: list[Observation] = []
    expected = {Probe.FILAMENT_IN: True, Probe.FILAMENT_OUT: False}
    misread: Counter[Probe] = Counter()
    for probe in list(expected) * CYCLES:
        seen.append(unit.answer(named[probe.value], 0))
        misread[probe] += seen[-1].mostly is not expected[probe]
        if seen[-1].restarted or max(misread.values()) > 1:
            return seen
    seen.append(unit.answer(named[Probe.CABLE_WORKED.value], 0))
    if not seen[-1].restarted:
        seen += [unit.answer(named[Probe.UNPLUGGED_AT_BOARD.value], number) for number in (1, 2)]
    return seen


def through_loop_check(row: Mapping[str, Expectation], seed: str, figures: Figures) -> None:
    """A full loop check on the unit, held against the plan as the tool does."""
    unit, plan = Unit(row, row, 0.0, 0.6, f"{seed}-loop"), Plan(seed=0)

    def read(probe: Probe, power_up: int, readings: int) -> tuple[Reading, ...]:
        seen = unit.answer(BenchTest(probe.value, readings), power_up)
        active = 0 if seen.restarted else seen.positives
        lost = readings if seen.restarted else 0
        inactive = readings - active - lost
        return (Reading.ACTIVE,) * active + (Reading.INACTIVE,) * inactive + (Reading.UNKNOWN,) * lost

    def moved(presence: Presence, probe: Probe) -> TimedTrial:
        dwell = _timed(read(probe, 0, plan.readings_per_dwell), plan.dwell_s)
        return TimedTrial(presence, moved=True, before=(), dwell=dwell)

    both = ((Presence.IN, Probe.FILAMENT_IN), (Presence.OUT, Probe.FILAMENT_OUT))
    trials = [moved(presence, probe) for _ in range(plan.cycles) for presence, probe in both]
    wiggle = read(Probe.CABLE_WORKED, 0, plan.wiggle_readings)
    unplugged = tuple(
        UnpluggedResult(
            read(Probe.UNPLUGGED_AT_BOARD, number, plan.readings_per_dwell), watched=True, power=PowerSeen.POWER_OFF
        )
        for number in range(1, plan.power_ups + 1)
    )
    polarity = weigh([TrialResult(trial.presence, trial.majority) for trial in trials]).behaviour
    counts = Counts.of(trials, polarity)
    kinds = {presence: counts.kind(presence) for presence in Presence}
    evidence = LoopEvidence(
        polarity=polarity,
        in_trials=len(kinds[Presence.IN]),
        in_misreads=kinds[Presence.IN].count(Came.WRONG),
        out_trials=len(kinds[Presence.OUT]),
        out_misreads=kinds[Presence.OUT].count(Came.WRONG),
        unwanted_changes_in_dwells=counts.dwell_changes,
        unread_trials=counts.number(Came.UNREAD),
        leave_it_trials=10,
        leave_it_changes=0,
        wiggle=wiggled(_timed(wiggle, plan.wiggle_s), plan.wiggle_s),
        unplugged=unplugged,
        pull=PullResult(PullConclusion.PROVEN, "The pull was proven."),
    )
    if accept(plan, evidence).verdict is Verdict.PASS:
        figures.passed += 1
        figures.passed_unsteady += any(result.steady is not Reading.INACTIVE for result in unplugged)
        figures.passed_by_chance += row[Probe.UNPLUGGED_AT_BOARD.value].sign is not Sign.NEGATIVE


def _timed(readings: Sequence[Reading], seconds: float) -> tuple[Sample, ...]:
    """Readings spread over that time."""
    return tuple(Sample(seconds * number / (len(readings) - 1), reading) for number, reading in enumerate(readings))
