"""The series of trials inside a loop check: cycles of *in* and *out*, looked at after whole cycles only."""

from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise

from commission.judge.exposure import is_read
from commission.judge.plan import MOST_REPEATS, Plan
from commission.judge.polarity import MOST_CYCLES, PolarityFinding, TrialResult, contradictions, look, majority
from commission.judge.schedule import Prompt, prompts
from commission.judge.stability import unwanted_changes
from commission.procedure.message import Punch, Tell, Weight
from commission.procedure.request import Confirm, TakeTrial
from commission.procedure.response import TimedReading, TrialTaken
from commission.procedure.steps import Steps, confirm, take
from commission.vocabulary import Instruction, Presence, PunchClass, Reading, SwitchBehaviour

CURE_UNREAD = (
    "See that the printer still reports this switch (`commission read` on a console capture). Use a short USB cable, "
    "away from motor wires, and one program on the port. Then run the check again."
)


@dataclass
class Series:
    """What the trials have shown so far.

    Attributes:
        results: the trials that stand, first to last, without *leave it* prompts.
        dwell_changes: unwanted changes inside the dwells of all prompts that stand.
        leave_trials, leave_changes: *leave it* prompts that stand, and those during which the reading changed, from the
            prompt to the end of the dwell.
        voided: trials the operator declared spoilt; they stay in the record.
        lost: trials that were unread: too few of their readings were known, so they count for nothing.
        given_up: the series ended because too many trials were unread.
        finding: the newest look.
        taken: every trial that stands, with its readings.
        asked: the presence the newest prompt asked for.
    """

    results: list[TrialResult] = field(default_factory=list)
    dwell_changes: int = 0
    leave_trials: int = 0
    leave_changes: int = 0
    voided: int = 0
    lost: int = 0
    given_up: bool = False
    cycles: int = 0
    shown: int = 0
    largest_gap_s: float = 0.0
    finding: PolarityFinding | None = None
    taken: list[tuple[Prompt, TrialTaken]] = field(default_factory=list)
    asked: Presence = Presence.OUT

    @property
    def behaviour(self) -> SwitchBehaviour:
        """What the looks came to; undecided as long as none decided."""
        return SwitchBehaviour.UNDECIDED if self.finding is None else self.finding.behaviour

    @property
    def blemished(self) -> bool:
        """Whether a clean acceptance is already out of reach."""
        if self.finding is None or not self.finding.decided:
            return False
        errors = contradictions(self.results, self.finding.behaviour)
        return bool(errors or self.dwell_changes or self.leave_changes)


def run_series(plan: Plan, switch: str, series: Series | None = None) -> Steps[Series]:
    """Take the planned trials, or as many as it needs to know that the plan cannot be met, or that it cannot be read.

    Args:
        plan: how many, and when they decide.
        switch: what is read.
        series: an empty one to fill, for a caller that wants to keep it when it is broken off.
    """
    series = Series() if series is None else series
    planned = len(prompts(plan, Presence.OUT))
    longest = replace(plan, cycles=max(plan.cycles, MOST_CYCLES))
    for cycle, order in groupby(prompts(longest, Presence.OUT), key=lambda prompt: prompt.cycle):
        for prompt in order:
            if not (yield from _stands(series, prompt, plan, switch, planned)):
                yield from _give_up(series)
                return series
        series.cycles = cycle
        _look(series, plan)
        if (yield from _is_over(series, plan)):
            break
    return series


def _stands(series: Series, prompt: Prompt, plan: Plan, switch: str, planned: int) -> Steps[bool]:
    """Take a trial until one stands; False where too many could not be read."""
    unread = 0
    while True:
        taken = yield from take(_request(series, prompt, plan, switch, planned))
        if taken.void_reason and series.voided < plan.set_aside_limit:
            series.voided += 1
            yield from _start_over(prompt, switch, "The spoilt trial stays in the record and is taken again.")
        elif not is_read([reading.reading for reading in taken.dwell]):
            series.lost += 1
            unread += 1
            if unread > MOST_REPEATS or series.lost > plan.unread_limit:
                return False
            yield from _start_over(prompt, switch, _unread(taken))
        else:
            if taken.void_reason:
                said = f"No more than {plan.set_aside_limit} may be set aside in this plan: the trial stands as it is."
                yield Tell((said,), weight=Weight.CAUTION)
            _count(series, prompt, taken)
            return True


def _unread(taken: TrialTaken) -> str:
    known = sum(reading.reading is not Reading.UNKNOWN for reading in taken.dwell)
    return f"Only {known} of {len(taken.dwell)} readings of this trial could be understood: it is taken again."


def _give_up(series: Series) -> Steps[None]:
    series.given_up = True
    said = f"Too many trials could not be read ({series.lost}): the trials end here, and what they lack is not judged."
    yield Tell((said,), weight=Weight.CAUTION)
    yield Punch(PunchClass.INCOMPLETE, said, CURE_UNREAD)


def _request(series: Series, prompt: Prompt, plan: Plan, switch: str, planned: int) -> TakeTrial:
    series.shown += 1
    series.asked = prompt.presence
    return TakeTrial(
        number=series.shown,
        planned=max(planned, series.shown),
        cycle=prompt.cycle,
        instruction=prompt.instruction,
        presence=prompt.presence,
        switch=switch,
        countdown_s=plan.countdown_s,
        readings=plan.readings_per_dwell,
        dwell_s=plan.dwell_s,
    )


def _start_over(prompt: Prompt, switch: str, why: str) -> Steps[None]:
    """Before a trial is repeated the filament must be where it was before the spoilt prompt."""
    before = prompt.presence if prompt.instruction is Instruction.LEAVE else prompt.presence.other
    yield from confirm(
        Confirm(
            "trial.again", f"Is the filament {before.value} again, as before that prompt?", lines=(why,), watch=switch
        )
    )


def _count(series: Series, prompt: Prompt, taken: TrialTaken) -> None:
    series.taken.append((prompt, taken))
    dwell = [reading.reading for reading in taken.dwell]
    series.largest_gap_s = max(series.largest_gap_s, _largest_gap_s(taken.dwell))
    series.dwell_changes += unwanted_changes(dwell)
    if prompt.instruction is Instruction.LEAVE:
        series.leave_trials += 1
        whole = [reading.reading for reading in (*taken.before, *taken.dwell)]
        series.leave_changes += 1 if unwanted_changes(whole) else 0
    else:
        series.results.append(TrialResult(prompt.presence, majority(dwell)))


def _largest_gap_s(readings: tuple[TimedReading, ...]) -> float:
    return max((after.at_s - before.at_s for before, after in pairwise(readings)), default=0.0)


def _look(series: Series, plan: Plan) -> None:
    """The first look that decides stands; what comes after it counts for the acceptance."""
    if series.finding is None or not series.finding.decided:
        series.finding = look(series.results, cycles_done=series.cycles, needed_odds=plan.needed_odds)


def _is_over(series: Series, plan: Plan) -> Steps[bool]:
    finding = series.finding
    if finding is None:
        return False
    if not finding.decided:
        return series.cycles >= MOST_CYCLES
    if finding.behaviour is not SwitchBehaviour.DIRECT:
        return True
    if series.blemished and series.cycles < plan.cycles:
        yield Tell(
            ("A clean series is already out of reach: the rest of the planned cycles would not change the verdict.",),
            weight=Weight.FINDING,
        )
        return True
    return series.cycles >= plan.cycles
