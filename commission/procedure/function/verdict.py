"""What a function test comes to: the gates as it showed them, its verdict, and what to do about what failed.

The verdict drops no part: a shut gate or a failed part fails the whole, without a pause it is not judged, and any other
part that is no pass (a pause, a test beside the pauses, a gate that is not known) leaves it conditional, by its reason.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from commission.asking.message import Punch
from commission.asking.steps import Steps, establish
from commission.evidence.findings.function import FunctionTest, WireWord
from commission.judge.gates import GateEvidence, Heat, How, unknown
from commission.judge.gates import gates as gate_row
from commission.judge.pause_verdict import PauseJudged
from commission.judge.wording import counted
from commission.procedure.function.change_over import Changed
from commission.procedure.function.extras import Extra
from commission.procedure.function.fault import AGAIN, Fault
from commission.procedure.function.gates import establish_gates, show_gates_left
from commission.procedure.function.plan import FunctionPlan
from commission.vocabulary import PunchClass, Reading, Verdict

ONCE_WHOLE = (
    "Run the function test once with nothing left out: its warm mode has them all. Until then do not rely on what was "
    "not tested."
)

PASS_PAUSES = 3
"""So many provoked pauses a pass takes, beside a real runout (common practice, no source)."""


@dataclass(frozen=True)
class FunctionTested:
    """What the function test established."""

    verdict: Verdict
    shut: str = ""
    reasons: tuple[str, ...] = ()


@dataclass
class Seen:
    """What has been seen so far.

    Attributes:
        known: of the gates.
        failed: what went wrong, apart from the tests beside the pauses.
        word_in: the reading and the printer's word that a pause showed to be filament in.
    """

    plan: FunctionPlan
    switch: str
    known: GateEvidence
    judged: list[PauseJudged] = field(default_factory=list)
    extras: list[Extra] = field(default_factory=list)
    changes: list[Changed] = field(default_factory=list)
    failed: list[Fault] = field(default_factory=list)
    word_in: tuple[Reading, str] | None = None

    @property
    def pauses(self) -> int:
        """How many pauses were seen."""
        return sum(judged.verdict in (Verdict.PASS, Verdict.CONDITIONAL) for judged in self.judged)

    @property
    def line_answers(self) -> bool:
        """Builds without emergency words still take the word that goes on while they wait; a display is surer."""
        return self.known.emergency_words is not False or self.known.display is False

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Everything that went wrong, each once."""
        paused = (pause_fault(judged) for judged in self.judged if judged.verdict is Verdict.FAIL)
        beside = (extra.fault for extra in self.extras if extra.verdict is Verdict.FAIL)
        return tuple(dict.fromkeys([*self.failed, *paused, *beside]))

    @property
    def limited(self) -> tuple[Fault, ...]:
        """What was done beside the pauses and seen with a limit."""
        return tuple(extra.fault for extra in self.extras if extra.verdict is Verdict.CONDITIONAL)


def pause_fault(judged: PauseJudged) -> Fault:
    """A failed pause as what went wrong."""
    return Fault(" ".join(judged.reasons), judged.cure or AGAIN)


def judge_function(seen: Seen) -> Steps[FunctionTested]:
    """Show and record the gates, the wording and the verdict, with an open item for the first thing that failed."""
    seen.known = _with_findings(seen.known, seen.judged)
    if seen.judged or any(extra.verdict is not Verdict.NOT_JUDGED for extra in seen.extras):
        yield from show_gates_left(seen.known, "The gates in front of a pause, after the test")
    shut = yield from establish_gates(seen.known)
    verdict, reasons = _verdict(seen, shut is not None)
    left_out = tuple(extra.title for extra in seen.extras if extra.verdict is Verdict.NOT_JUDGED)
    if seen.word_in is not None:
        reading, word = seen.word_in
        said = f"The pause settles the wording: this build takes '{word}' ({reading.value}) for filament in."
        yield from establish(WireWord(sentences=(said,), reading=reading, word=word))
    yield from establish(
        FunctionTest(
            sentences=(f"Function test, mode {seen.plan.mode.value}: {verdict.value}.", *reasons),
            verdict=verdict,
            mode=seen.plan.mode.value,
            pauses=seen.pauses,
            pauses_planned=seen.plan.pauses,
            first_shut="" if shut is None else shut.key,
            left_out=left_out,
            reasons=reasons,
        )
    )
    if shut is None:
        for fault in seen.faults:
            yield Punch(PunchClass.UNSAFE, fault.text, fault.cure)
        for limit in seen.limited:
            yield Punch(PunchClass.INCOMPLETE, limit.text, limit.cure)
    untested = left_out if seen.judged else ("whether the printer pauses at all", *left_out)
    if shut is None and untested:
        yield Punch(PunchClass.INCOMPLETE, f"Not tested: {'; '.join(untested)}.", ONCE_WHOLE)
    return FunctionTested(verdict, "" if shut is None else shut.key, reasons)


def _with_findings(known: GateEvidence, judged: Sequence[PauseJudged]) -> GateEvidence:
    """The gates as the pauses showed them."""
    if any(each.verdict in (Verdict.PASS, Verdict.CONDITIONAL) for each in judged):
        known = replace(known, latched=False, job_known=True, job_how=How.TESTED)
    shut = {each.shut for each in judged}
    if "job" in shut:
        known = replace(known, job_known=False, job_how=How.TESTED)
    if "not_latched" in shut:
        known = replace(known, latched=True)
    if "not_host_alone" in shut:
        known = replace(known, host_handling=True)
    return replace(known, heat=Heat.TOO_COLD, heat_how=How.TESTED) if "heat" in shut else known


def _verdict(seen: Seen, gate_shut: bool) -> tuple[Verdict, tuple[str, ...]]:  # noqa: FBT001
    failed = tuple(fault.text for fault in seen.faults)
    if gate_shut or failed:
        return Verdict.FAIL, failed or ("A gate in front of the pause is shut.",)
    if not seen.pauses:
        return Verdict.NOT_JUDGED, ("No pause was tested.",)
    planned = seen.plan.pauses
    limits = [f"Only {seen.pauses} of {planned} planned pauses were seen."] if seen.pauses < planned else []
    if planned < PASS_PAUSES:
        limits.append(f"{counted(planned, 'pause')} planned: a pass takes {PASS_PAUSES} and a real runout.")
    limits += [f"Left out: {extra.title}." for extra in seen.extras if extra.verdict is Verdict.NOT_JUDGED]
    limits += [limit.text for limit in seen.limited]
    limits += [f"Not known: {gate.title}." for gate in unknown(gate_row(seen.known))]
    limited = (judged for judged in seen.judged if judged.verdict is not Verdict.PASS)
    limits += [reason for judged in limited for reason in judged.reasons[-1:] or (f"A pause: {judged.verdict.value}.",)]
    if limits:
        return Verdict.CONDITIONAL, tuple(dict.fromkeys((f"It paused {seen.pauses} times and went on.", *limits)))
    return Verdict.PASS, (f"It paused {seen.pauses} times, a real runout among them, and went on each time.",)
