"""The loop check held against its plan: every criterion with its rule, what was observed, and its verdict.

One failed criterion fails the whole; else one that is not judged leaves the whole not judged; else one that shows
less than a pass takes makes it conditional. Silence never passes.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from commission import units
from commission.judge.double_sampling import for_cycles
from commission.judge.evidence import LoopEvidence, PullResult, StartUp, WiggleResult
from commission.judge.exposure import reached
from commission.judge.failsafe import UnpluggedResult, fail_safe, far_end_sentence
from commission.judge.misreads import kind_judged
from commission.judge.nuisance import Around, Exposed, rate_bounds
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.judge.wording import counted
from commission.vocabulary import Presence, PullConclusion, Reading, SwitchBehaviour, Verdict


@dataclass(frozen=True)
class Criterion:
    """One thing the plan asks for: the rule, what was observed, and the verdict on it.

    Attributes:
        no_record: it is a comparison, and there is no record to compare with yet.
    """

    name: str
    rule: str
    observed: str
    verdict: Verdict
    no_record: bool = False


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

    @property
    def in_short(self) -> tuple[str, ...]:
        """The reasons, with what was passed by name alone."""
        passed = {_said(each): each.name for each in self.criteria if each.verdict is Verdict.PASS}
        *apart, bound = (said for said in self.reasons if said not in passed)
        return (*apart, *([f"Passed: {', '.join(passed.values())}."] if passed else []), bound)


_Judged = tuple[Verdict, str]

# the first of these that any criterion has is the verdict on the whole
_WEIGHT = (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL, Verdict.PASS)

_POLARITY_VERDICTS = {
    SwitchBehaviour.DIRECT: Verdict.PASS,
    SwitchBehaviour.UNDECIDED: Verdict.NOT_JUDGED,
    SwitchBehaviour.NOT_REPORTED: Verdict.NOT_JUDGED,
}


def accept(plan: Plan, evidence: LoopEvidence) -> Acceptance:
    """Hold the evidence against the plan. A calculation that fails leaves its criterion not judged, with the reason."""
    sampling = for_cycles(evidence.sampling, plan.cycles)
    trials = f"{sampling.rule[:1].upper()}{sampling.rule[1:]}; counted over the whole series"
    steady = "No unwanted change"
    judges: tuple[tuple[str, str, Callable[[], _Judged]], ...] = (
        ("polarity", "Direct: active means filament in", lambda: _polarity(evidence)),
        ("reads in with filament in", trials, lambda: _misreads(plan, evidence, Presence.IN)),
        ("reads out with filament out", trials, lambda: _misreads(plan, evidence, Presence.OUT)),
        ("steadiness in dwells", steady, lambda: _dwells(evidence)),
        ("steadiness at leave-it prompts", steady, lambda: _leave_it(evidence)),
        (
            "wiggle",
            f"{steady} in {plan.wiggle_s_for_pass:.0f} s watched",
            lambda: _wiggle(plan, evidence.wiggle),
        ),
        (
            "unplugged",
            f"Reads steadily out in {counted(plan.power_ups_for_pass, 'power-up')}, wherever the filament is",
            lambda: _unplugged(plan, evidence),
        ),
        ("pull", PULL_RULE, lambda: _pull(evidence.pull)),
        ("trials set aside", set_aside_rule(plan), lambda: _set_aside(plan, evidence)),
    )
    if evidence.start_up is not None:
        started = evidence.start_up
        judges = (*judges, ("start-up", "Reads after the power cycle as before it", lambda: _start_up(started)))
    if evidence.moving is not None:
        moving = evidence.moving
        judges = (*judges, ("steadiness while the machine moves", steady, lambda: _watched(plan, moving)))
    if evidence.failed_in:
        judges = (*judges, ("series of trials", "A series that failed ends", lambda: _failed_already(evidence)))
    if evidence.broken_off_changes:
        judges = (*judges, ("steadiness in what was broken off", steady, lambda: _broken_off(evidence)))
    unplugged_before = broken_off_criteria(evidence.broken_off_unplugged, evidence.broken_off_open)
    tried = () if evidence.at_sensor is None else (at_sensor_criterion(evidence.at_sensor, evidence.unplugged),)
    criteria = (*(_criterion(name, rule, judge) for name, rule, judge in judges), *unplugged_before, *tried)
    verdict = next(weight for weight in _WEIGHT if any(c.verdict is weight for c in criteria))
    return Acceptance(verdict, _reasons(criteria), criteria)


def _criterion(name: str, rule: str, judge: Callable[[], _Judged]) -> Criterion:
    try:
        verdict, observed = judge()
    except (ArithmeticError, ValueError) as error:
        return Criterion(name, rule, f"The calculation failed: {error}", Verdict.NOT_JUDGED)
    return Criterion(name, rule, observed, verdict)


def _reasons(criteria: Sequence[Criterion]) -> tuple[str, ...]:
    return (
        *map(_said, sorted(criteria, key=lambda criterion: _WEIGHT.index(criterion.verdict))),
        "A clean count bounds the share of misreads under the conditions of this check. It says nothing about wear, "
        "dust, other filament, or what a presence switch cannot see: a clog, a tangle, a hooked spool end, a break "
        "after it.",
    )


def _said(criterion: Criterion) -> str:
    return f"{criterion.name.capitalize()}, {criterion.verdict.value}: {criterion.observed}"


def _polarity(evidence: LoopEvidence) -> _Judged:
    odds = (
        "" if evidence.polarity_odds is None else f", {units.odds(evidence.polarity_odds)} against the next explanation"
    )
    observed = f"The finding is: {evidence.polarity.value}{odds}."
    return _POLARITY_VERDICTS.get(evidence.polarity, Verdict.FAIL), observed


def _misreads(plan: Plan, evidence: LoopEvidence, presence: Presence) -> _Judged:
    if presence is Presence.IN:
        what, misreads, trials = "Read out with filament in", evidence.in_misreads, evidence.in_trials
        aside = evidence.in_set_aside
    else:
        what, misreads, trials = "Read in with filament out", evidence.out_misreads, evidence.out_trials
        aside = evidence.out_set_aside
    if trials == 0:
        return Verdict.NOT_JUDGED, f"{what}: no trial could be read."
    if evidence.polarity is SwitchBehaviour.INVERTED:
        return Verdict.NOT_JUDGED, (
            f"Filament {presence.value} is read the wrong way round; {misreads} of {counted(trials, 'trial')} read "
            "otherwise than inverted."
        )
    counts = (trials, misreads, aside)
    verdict, observed = kind_judged(for_cycles(evidence.sampling, plan.cycles), what, counts, plan.confidence)
    return verdict, observed + (_rate(plan, evidence) if presence is Presence.IN else "")


def _rate(plan: Plan, evidence: LoopEvidence) -> str:
    """How often the reading may change by itself, by what was watched at rest."""
    if evidence.wiggle is None:
        return ""
    seen = evidence.wiggle.watched
    bounds = rate_bounds([Exposed(Around.AT_REST, seen.exposure_s, seen.changes)], plan.confidence)
    return "".join(f" {bound.sentence}" for bound in bounds)


def _broken_off(evidence: LoopEvidence) -> _Judged:
    changes = counted(evidence.broken_off_changes, "unwanted change")
    return Verdict.FAIL, f"{changes} in a watch of this series that was broken off. Stopping deletes nothing."


def broken_off_criteria(bad: int, left_open: int) -> tuple[Criterion, ...]:
    """Power-ups that were broken off: those that read other than out, and those of which it is not known."""
    name, rule = "unplugged in what was broken off", "Reads steadily out, wherever the filament is"
    if bad:
        said = (
            f"Not so in {counted(bad, 'power-up')} of this series that came to no judgement. Stopping deletes nothing."
        )
        return (Criterion(name, rule, said, Verdict.FAIL),)
    if left_open:
        said = (
            f"It read in, in {counted(left_open, 'power-up')} of this series that was broken off before it was known "
            "whether the sensor was unplugged. Say what was done since: that begins a new series."
        )
        return (Criterion(name, rule, said, Verdict.NOT_JUDGED),)
    return ()


def _failed_already(evidence: LoopEvidence) -> _Judged:
    return Verdict.FAIL, f"It failed in {evidence.failed_in}, and no change since is on record."


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
    if wiggle is None:
        return Verdict.NOT_JUDGED, "No wiggle was done."
    verdict, observed = _watched(plan, wiggle)
    whole = reached(wiggle.watched.exposure_s, plan.wiggle_s_for_pass)
    return (Verdict.CONDITIONAL if verdict is Verdict.PASS and not whole else verdict), observed


def _watched(plan: Plan, wiggle: WiggleResult) -> _Judged:
    """What was seen to be wrong fails, however little was watched; what was not watched in full is not judged."""
    seen = wiggle.watched
    observed = " ".join((f"{counted(seen.readings, 'reading')}:", *seen.sentences(plan.confidence)))
    if wiggle.misreads:
        observed += f" {counted(wiggle.misreads, 'reading')} did not show the filament as it was."
    if not wiggle.clean:
        return Verdict.FAIL, observed
    return (Verdict.PASS if seen.complete else Verdict.NOT_JUDGED), observed


def _start_up(started: StartUp) -> _Judged:
    """A start that reads otherwise than before is an item left to do, not yet a danger: the trials read right."""
    if not started.watched.complete or started.as_before is None:
        return Verdict.NOT_JUDGED, started.sentence
    return (Verdict.PASS if started.as_before and started.seen else Verdict.CONDITIONAL), started.sentence


def _unplugged(plan: Plan, evidence: LoopEvidence) -> _Judged:
    finding = fail_safe(evidence.unplugged, evidence.polarity)
    return finding.verdict(plan.power_ups_for_pass), finding.sentence


PULL_RULE = "Something holds the input when it is unplugged: shown by a resistor, a current or a voltage"
PULL_LEFT_OUT = (
    "Nobody proved what holds the unplugged input: one that nothing holds can rest at out by chance, so this is no "
    "full pass."
)


def pull_criterion(result: PullResult | None) -> Criterion:
    """Whether the unplugged input is held; without a proof at best conditional, since reading alone cannot tell."""
    return _criterion("pull", PULL_RULE, lambda: _pull(result))


def _pull(result: PullResult | None) -> _Judged:
    if result is None:
        return Verdict.CONDITIONAL, PULL_LEFT_OUT
    verdicts = {PullConclusion.PROVEN: Verdict.PASS, PullConclusion.WEAK: Verdict.FAIL}
    return verdicts.get(result.conclusion, Verdict.CONDITIONAL), result.sentence


def at_sensor_criterion(result: UnpluggedResult, at_board: Sequence[UnpluggedResult] = ()) -> Criterion:
    """What the input read with its cable unplugged at the sensor: a criterion where it was tried."""
    seen = Verdict.PASS if result.power is PowerSeen.POWER_OFF else Verdict.CONDITIONAL
    verdict = (seen if result.steady is Reading.INACTIVE else Verdict.FAIL) if result.read else Verdict.NOT_JUDGED
    observed = far_end_sentence(result, at_board)
    if verdict is Verdict.CONDITIONAL:
        observed += " That the power was off before it was not seen: it rests on the operator's word."
    return Criterion("unplugged at the sensor", "Reads steadily out", observed, verdict)


def set_aside_rule(plan: Plan) -> str:
    """How many trials may be left out of the count."""
    return f"At most {plan.set_aside_limit} voided and {plan.unread_limit} unread"


def _set_aside(plan: Plan, evidence: LoopEvidence) -> _Judged:
    return set_aside(plan, evidence.voided_trials, evidence.unread_trials, given_up=evidence.given_up)


def set_aside(plan: Plan, voided: int, unread: int, *, given_up: bool) -> tuple[Verdict, str]:
    """Whether few enough trials were left out of the count, and how many there were.

    Args:
        plan: with its limits.
        voided: declared spoilt by the operator.
        unread: taken again because too few readings were known.
        given_up: the series was ended because of them.
    """
    within = voided <= plan.set_aside_limit and unread <= plan.unread_limit and not given_up
    ended = " The trials were ended because of that." if given_up else ""
    return (Verdict.PASS if within else Verdict.NOT_JUDGED), f"{voided} voided, {unread} unread.{ended}"
