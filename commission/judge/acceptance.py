"""The loop check held against its plan: every criterion with its rule, what was observed, and its verdict.

One failed criterion fails the whole; else one that is not judged leaves the whole not judged; else one that shows
less than a pass takes makes it conditional. Silence never passes.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from commission import units
from commission.judge.advice import Advice, advice
from commission.judge.demonstration import bound_sentence
from commission.judge.evidence import LoopEvidence, Tally, WiggleResult, tally
from commission.judge.failsafe import FailSafeFinding, UnpluggedResult, fail_safe, far_end_sentence
from commission.judge.plan import Plan
from commission.judge.polarity import LEAST_CYCLES
from commission.judge.stability import glitch_sentence, rate_sentence
from commission.judge.wording import counted
from commission.vocabulary import FailSafe, Presence, Reading, SwitchBehaviour, Verdict

__all__ = [
    "Acceptance",
    "Advice",
    "Criterion",
    "FailSafeFinding",
    "LoopEvidence",
    "Plan",
    "Tally",
    "UnpluggedResult",
    "WiggleResult",
    "accept",
    "advice",
    "at_sensor_criterion",
    "fail_safe",
    "tally",
]


@dataclass(frozen=True)
class Criterion:
    """One thing the plan asks for: the rule, what was observed, and the verdict on it."""

    name: str
    rule: str
    observed: str
    verdict: Verdict


@dataclass(frozen=True)
class Acceptance:
    """The verdict on the loop check.

    Attributes:
        verdict: the whole.
        reasons: sentences for a person: what keeps it from a pass first, then what the counts show and do not show.
        criteria: every criterion in the order of the plan.
    """

    verdict: Verdict
    reasons: tuple[str, ...]
    criteria: tuple[Criterion, ...]


_Judged = tuple[Verdict, str]

# the first of these that any criterion has is the verdict on the whole
_WEIGHT = (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL, Verdict.PASS)

_POLARITY_VERDICTS = {
    SwitchBehaviour.DIRECT: Verdict.PASS,
    SwitchBehaviour.UNDECIDED: Verdict.NOT_JUDGED,
    SwitchBehaviour.NOT_REPORTED: Verdict.NOT_JUDGED,
}
_FAIL_SAFE_VERDICTS = {FailSafe.SAFE: Verdict.PASS, FailSafe.NOT_TESTED: Verdict.NOT_JUDGED}


def accept(plan: Plan, evidence: LoopEvidence) -> Acceptance:
    """Hold the evidence against the plan. A calculation that fails leaves its criterion not judged, with the reason."""
    trials = f"No misread in {plan.cycles_for_pass} trials, counted from the first"
    steady = "No unwanted change"
    judges: tuple[tuple[str, str, Callable[[], _Judged]], ...] = (
        ("polarity", "Direct: active means filament in", lambda: _polarity(evidence)),
        ("nuisance trips", trials, lambda: _misreads(plan, evidence, Presence.IN)),
        ("missed runouts", trials, lambda: _misreads(plan, evidence, Presence.OUT)),
        ("steadiness in dwells", steady, lambda: _dwells(evidence)),
        ("steadiness at leave-it prompts", steady, lambda: _leave_it(evidence)),
        (
            "wiggle",
            f"{steady} in {plan.wiggle_s_for_pass:.0f} s and {plan.wiggle_readings_for_pass} readings",
            lambda: _wiggle(plan, evidence.wiggle),
        ),
        (
            "unplugged",
            f"Reads steadily out in {counted(plan.power_ups_for_pass, 'power-up')}",
            lambda: _unplugged(plan, evidence),
        ),
        (
            "trials set aside",
            f"At most {plan.set_aside_limit} voided or unreadable",
            lambda: _set_aside(plan, evidence),
        ),
    )
    if evidence.moving is not None:
        moving = evidence.moving
        judges = (*judges, ("steadiness while the machine moves", steady, lambda: _moving(plan, moving)))
    tried = () if evidence.at_sensor is None else (at_sensor_criterion(evidence.at_sensor, evidence.unplugged),)
    criteria = (*(_criterion(name, rule, judge) for name, rule, judge in judges), *tried)
    verdict = next(weight for weight in _WEIGHT if any(c.verdict is weight for c in criteria))
    return Acceptance(verdict, _reasons(criteria), criteria)


def _criterion(name: str, rule: str, judge: Callable[[], _Judged]) -> Criterion:
    try:
        verdict, observed = judge()
    except (ArithmeticError, ValueError) as error:
        return Criterion(name, rule, f"The calculation failed: {error}", Verdict.NOT_JUDGED)
    return Criterion(name, rule, observed, verdict)


def _reasons(criteria: Sequence[Criterion]) -> tuple[str, ...]:
    ranked = sorted(criteria, key=lambda criterion: _WEIGHT.index(criterion.verdict))
    sentences = [f"{c.name.capitalize()}, {c.verdict.value}: {c.observed}" for c in ranked]
    return (
        *sentences,
        "A clean count bounds the share of misreads under the conditions of this check. It says nothing about wear, "
        "dust, "
        "other filament, or what a presence switch cannot see: a clog, a tangle, a hooked spool end, a break after it.",
    )


def _polarity(evidence: LoopEvidence) -> _Judged:
    odds = (
        "" if evidence.polarity_odds is None else f", {units.odds(evidence.polarity_odds)} against the next explanation"
    )
    observed = f"The finding is: {evidence.polarity.value}{odds}."
    return _POLARITY_VERDICTS.get(evidence.polarity, Verdict.FAIL), observed


def _misreads(plan: Plan, evidence: LoopEvidence, presence: Presence) -> _Judged:
    if presence is Presence.IN:
        what, misreads, trials = "Read out with filament in", evidence.in_misreads, evidence.in_trials
    else:
        what, misreads, trials = "Read in with filament out", evidence.out_misreads, evidence.out_trials
    if trials == 0:
        return Verdict.NOT_JUDGED, f"{what}: no trial could be read."
    if evidence.polarity is SwitchBehaviour.INVERTED:
        return Verdict.NOT_JUDGED, (
            f"Filament {presence.value} is read the wrong way round; {misreads} of {counted(trials, 'trial')} read "
            "otherwise than inverted."
        )
    observed = bound_sentence(what, misreads, trials, plan.confidence)
    if misreads:
        return Verdict.FAIL, observed
    if trials < LEAST_CYCLES:
        return Verdict.NOT_JUDGED, f"{observed} Fewer than {LEAST_CYCLES} trials decide nothing."
    return (Verdict.PASS if trials >= plan.cycles_for_pass else Verdict.CONDITIONAL), observed


def _dwells(evidence: LoopEvidence) -> _Judged:
    changes = evidence.unwanted_changes_in_dwells
    dwells = evidence.in_trials + evidence.out_trials + evidence.leave_it_trials
    if dwells == 0:
        return Verdict.NOT_JUDGED, "No dwell was taken."
    observed = f"{counted(changes, 'unwanted change')} in {counted(dwells, 'dwell')}."
    return (Verdict.FAIL if changes else Verdict.PASS), observed


def _leave_it(evidence: LoopEvidence) -> _Judged:
    if evidence.leave_it_trials == 0:
        return (
            Verdict.NOT_JUDGED,
            "No leave-it prompt was given, so a reading that changes by itself was not looked for.",
        )
    observed = (
        f"{counted(evidence.leave_it_changes, 'change')} at {counted(evidence.leave_it_trials, 'leave-it prompt')}."
    )
    return (Verdict.FAIL if evidence.leave_it_changes else Verdict.PASS), observed


def _wiggle(plan: Plan, wiggle: WiggleResult | None) -> _Judged:
    if wiggle is None or wiggle.readings == 0:
        return Verdict.NOT_JUDGED, "No wiggle was done."
    observed = (
        f"{counted(wiggle.readings, 'reading')}: {rate_sentence(wiggle.changes, wiggle.duration_s, plan.confidence)}"
    )
    if wiggle.largest_gap_s:
        observed += f" {glitch_sentence(wiggle.largest_gap_s)}"
    if wiggle.misreads:
        observed += f" {counted(wiggle.misreads, 'reading')} did not show the filament as it was."
    if wiggle.changes or wiggle.misreads:
        return Verdict.FAIL, observed
    whole = wiggle.duration_s >= plan.wiggle_s_for_pass and wiggle.readings >= plan.wiggle_readings_for_pass
    return (Verdict.PASS if whole else Verdict.CONDITIONAL), observed


def _moving(plan: Plan, moving: WiggleResult) -> _Judged:
    observed = (
        f"{counted(moving.readings, 'reading')}: {rate_sentence(moving.changes, moving.duration_s, plan.confidence)}"
    )
    if moving.readings == 0:
        return Verdict.NOT_JUDGED, "Nothing could be read while the machine moved."
    if moving.misreads:
        observed += f" {counted(moving.misreads, 'reading')} did not show the filament as it was."
    return (Verdict.FAIL if moving.changes or moving.misreads else Verdict.PASS), observed


def _unplugged(plan: Plan, evidence: LoopEvidence) -> _Judged:
    finding = fail_safe(evidence.unplugged, evidence.polarity)
    verdict = _FAIL_SAFE_VERDICTS.get(finding.fail_safe, Verdict.FAIL)
    if verdict is Verdict.PASS and finding.power_ups < plan.power_ups_for_pass:
        verdict = Verdict.NOT_JUDGED
    return verdict, finding.sentence


def at_sensor_criterion(result: UnpluggedResult, at_board: Sequence[UnpluggedResult] = ()) -> Criterion:
    """What the input read with its cable unplugged at the sensor: a criterion where it was tried."""
    safe = Verdict.PASS if result.steady is Reading.INACTIVE else Verdict.FAIL
    verdict = safe if result.read else Verdict.NOT_JUDGED
    return Criterion("unplugged at the sensor", "Reads steadily out", far_end_sentence(result, at_board), verdict)


def _set_aside(plan: Plan, evidence: LoopEvidence) -> _Judged:
    voided, unreadable = evidence.voided_trials, evidence.unreadable_trials
    within = voided + unreadable <= plan.set_aside_limit
    return (Verdict.PASS if within else Verdict.NOT_JUDGED), f"{voided} voided, {unreadable} unreadable."
