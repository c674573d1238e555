"""The trials of a loop check: cycles of *in* and *out*; the polarity is looked at after whole cycles only."""

from dataclasses import dataclass, field
from itertools import groupby, pairwise

from commission import command_lines
from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Confirm, TakeTrial
from commission.asking.response import TimedReading, TrialTaken
from commission.asking.steps import Steps, confirm, take
from commission.judge.double_sampling import Standing
from commission.judge.pace import countdown_s
from commission.judge.plan import MOST_REPEATS, Plan
from commission.judge.polarity import MOST_CYCLES, PolarityFinding, TrialResult, look
from commission.judge.schedule import Prompt, prompts
from commission.judge.trial import Came, Counted, TimedTrial
from commission.judge.trial_series import Counts, Goal, Tally
from commission.vocabulary import Instruction, Presence, PunchClass, Reading, SwitchBehaviour

CURE_UNREAD = (
    f"See that the printer still reports this switch (`{command_lines.READ}` on a console capture). Use a short USB "
    "cable, away from motor wires, and one program on the port. Then run this again."
)
CURE_ASIDE = "Set a trial aside only where the hand or the printer spoilt it. Run this again with enough time for it."
MOST_AHEAD = 300
"""So many cycles are fixed beforehand; no plan needs as many."""


@dataclass
class Series:
    """What the trials have shown so far.

    Attributes:
        tally: every trial, those of this series from earlier runs first.
        given_up: the series ended because too many trials were unread or set aside.
        finding: the newest look.
        taken: every trial of this phase with its prompt, those that were set aside too.
        asked: the presence the newest prompt asked for.
    """

    tally: Tally = field(default_factory=Tally)
    given_up: bool = False
    cycles: int = 0
    shown: int = 0
    largest_gap_s: float = 0.0
    finding: PolarityFinding | None = None
    taken: list[tuple[Prompt, TrialTaken]] = field(default_factory=list)
    asked: Presence = Presence.OUT
    said: int = 0

    @property
    def behaviour(self) -> SwitchBehaviour:
        """What the looks came to; undecided as long as none decided."""
        return SwitchBehaviour.UNDECIDED if self.finding is None else self.finding.behaviour

    @property
    def counts(self) -> Counts:
        """All trials of the series, by the polarity found."""
        return self.tally.counts(self.behaviour)

    @property
    def counts_now(self) -> Counts:
        """The trials of this phase, by the polarity found."""
        return self.tally.counts_now(self.behaviour)

    @property
    def lost(self) -> int:
        """Trials of this phase that were unread: too few of their readings were known, so they count for nothing."""
        return self.counts_now.number(Came.UNREAD)

    @property
    def dropped(self) -> int:
        """Trials of this phase that were set aside after they had read right."""
        return self.counts_now.number(Came.DROPPED)

    @property
    def late(self) -> int:
        """Trials of this phase in which the hand came late, within the longest countdown: they count for nothing."""
        return self.counts_now.number(Came.LATE)

    @property
    def aside(self) -> int:
        """Trials of this phase that count for nothing though they could be read."""
        return self.late + self.dropped

    @property
    def voided(self) -> int:
        """Trials of this phase that the operator set aside; they stay in the record."""
        return sum(trial.spoken is not None for trial in self.tally.now)

    @property
    def standing_trials(self) -> list[tuple[Prompt, TrialTaken]]:
        """The trials of this phase whose readings count."""
        counted = self.counts_now.trials
        return [taken for taken, each in zip(self.taken, counted, strict=True) if each.stands]

    @property
    def results(self) -> list[TrialResult]:
        """What the moves of this phase read that nobody set aside: what the polarity is weighed by."""
        moves = [trial for trial in self.tally.now if trial.moved and trial.finished and trial.spoken is None]
        return [TrialResult(trial.presence, trial.majority) for trial in moves if trial.read]

    def kind(self, presence: Presence, plan: Plan) -> Standing:
        """Where the trials of that kind stand."""
        return self.counts.standing(presence, self.tally.so_far.sampling(plan))

    def can_pass(self, plan: Plan) -> bool:
        """Whether a pass is still within reach of the trials."""
        if self.finding is None or not self.finding.decided:
            return True
        if self.finding.behaviour is not SwitchBehaviour.DIRECT:
            return False
        ended = any(self.kind(presence, plan).ended for presence in Presence)
        ended = ended or self.aside > plan.set_aside_limit
        return not (ended or self.counts.dwell_changes or self.counts.leave_changes)


def run_series(plan: Plan, switch: str, series: Series | None = None) -> Steps[Series]:
    """Take the planned trials, or as many as it needs to know that the plan cannot be met, or that it cannot be read.

    Args:
        plan: how many, and when they decide.
        switch: what is read.
        series: an empty one to fill, for a caller that wants to keep it when it is broken off.
    """
    series = Series() if series is None else series
    for cycle, order in groupby(prompts(plan, Presence.OUT, MOST_AHEAD), key=lambda prompt: prompt.cycle):
        for prompt in order:
            if not (yield from _stands(series, prompt, plan, switch)):
                yield from _give_up(series, plan)
                return series
            yield from _tell_misreads(series, plan)
            if not series.can_pass(plan):
                yield from _tell_over(series, plan)
                return series
        series.cycles = cycle
        _look(series, plan)
        yield from _tell_misreads(series, plan)
        if _is_over(series, plan):
            break
    return series


def _stands(series: Series, prompt: Prompt, plan: Plan, switch: str) -> Steps[bool]:
    """Take a trial until one stands; False where too many could not be read, or were set aside too early to tell."""
    unread = 0
    while True:
        taken = yield from take(_request(series, prompt, plan, switch))
        counted = _count(series, prompt, taken)
        match counted.came:
            case Came.RIGHT | Came.WRONG | Came.LATE:  # the filament is where the next prompt expects it
                return True
            case Came.SET_ASIDE if series.counts.standing(prompt.presence, series.tally.so_far.sampling(plan)).ended:
                return True
            case Came.SET_ASIDE:
                yield from _start_over(prompt, switch, ASIDE)
            case Came.DROPPED if series.aside > plan.set_aside_limit:
                return not series.can_pass(plan)  # the caller says that a pass is out of reach
            case Came.DROPPED:
                yield from _start_over(prompt, switch, "It stays in the record and is taken again.")
            case Came.UNREAD:
                unread += 1
                if unread > MOST_REPEATS or series.lost > plan.unread_limit:
                    return False
                yield from _start_over(prompt, switch, _unread(taken))


ASIDE = "A trial set aside before its dwell is counted beside the misreads: one of a kind may be. It is taken again."
LATE = (
    "Prompt {}, {}: the reading changed after the countdown was over, as of a hand that came late. It counts for "
    "nothing, and another one is taken for it."
)


def _unread(taken: TrialTaken) -> str:
    known = sum(reading.reading is not Reading.UNKNOWN for reading in taken.dwell)
    return f"Only {known} of {len(taken.dwell)} readings of this trial could be understood: it is taken again."


def _give_up(series: Series, plan: Plan) -> Steps[None]:
    series.given_up = True
    many, cure = f"could not be read ({series.lost})", CURE_UNREAD
    if series.aside > plan.set_aside_limit:
        many, cure = f"were set aside later or came late ({series.aside})", CURE_ASIDE
    said = f"Too many trials {many}: the trials end here, and what they lack is not judged."
    yield Tell((said,), weight=Weight.CAUTION)
    yield Punch(PunchClass.INCOMPLETE, said, cure)


def _request(series: Series, prompt: Prompt, plan: Plan, switch: str) -> TakeTrial:
    series.shown += 1
    series.asked = prompt.presence
    return TakeTrial(
        number=series.shown,
        planned=max(_planned(series, plan), series.shown),
        cycle=prompt.cycle,
        instruction=prompt.instruction,
        presence=prompt.presence,
        switch=switch,
        countdown_s=countdown_s(plan, series.tally.now),
        readings=plan.readings_per_dwell,
        dwell_s=plan.dwell_s,
    )


def _planned(series: Series, plan: Plan) -> int:
    """How many prompts it takes as things stand."""
    goal = Goal(series.tally.so_far.sampling(plan), plan.cycles)
    kinds = [series.kind(presence, plan) for presence in Presence]
    cycles = max(goal.trials(kind) - kind.trials for kind in kinds) + series.cycles
    return len(prompts(plan, Presence.OUT, max(cycles, plan.cycles)))


def _start_over(prompt: Prompt, switch: str, why: str) -> Steps[None]:
    """Before a trial is repeated the filament must be where it was before the spoilt prompt."""
    before = prompt.presence if prompt.instruction is Instruction.LEAVE else prompt.presence.other
    yield from confirm(
        Confirm(
            "trial.again", f"Is the filament {before.value} again, as before that prompt?", lines=(why,), watch=switch
        )
    )


def _count(series: Series, prompt: Prompt, taken: TrialTaken) -> Counted:
    if taken.void_before:
        series.tally.set_last_aside()
    moved = prompt.instruction is not Instruction.LEAVE
    series.tally.add(TimedTrial(prompt.presence, moved, taken.before, taken.dwell, taken.spoken))
    series.taken.append((prompt, taken))
    series.largest_gap_s = max(series.largest_gap_s, _largest_gap_s(taken.dwell))
    return series.counts_now.trials[-1]


def _largest_gap_s(readings: tuple[TimedReading, ...]) -> float:
    return max((after.at_s - before.at_s for before, after in pairwise(readings)), default=0.0)


def _look(series: Series, plan: Plan) -> None:
    """The first look that decides stands; what comes after it counts for the acceptance."""
    if series.finding is None or not series.finding.decided:
        series.finding = look(series.results, cycles_done=series.cycles, needed_odds=plan.needed_odds)


def _tell_misreads(series: Series, plan: Plan) -> Steps[None]:
    """Once the polarity is known, the first misread of each kind is said at once, and how far the plan goes now."""
    if series.behaviour is not SwitchBehaviour.DIRECT:
        return
    trials = series.counts_now.trials
    for number in range(series.said, len(trials)):
        if trials[number].came is Came.WRONG:
            yield Tell((_misread(series, number, plan),), weight=Weight.FINDING)
        if trials[number].came is Came.LATE:
            yield Tell((LATE.format(number + 1, series.taken[number][0].instruction.value),))
    series.said = len(trials)


def _misread(series: Series, number: int, plan: Plan) -> str:
    prompt, _ = series.taken[number]
    kind = series.kind(prompt.presence, plan)
    read = f"Prompt {number + 1}, {prompt.instruction.value}, read wrong"
    if kind.ended:
        return f"{read}. {kind.sentence}"
    goal = Goal(series.tally.so_far.sampling(plan), plan.cycles).trials(kind)
    return (
        f"{read}. A slip of the hand does that too, so one misread of a kind is allowed: with filament "
        f"{prompt.presence.value} the plan goes on to {goal} trials. A second one ends it."
    )


def _tell_over(series: Series, plan: Plan) -> Steps[None]:
    if series.behaviour is not SwitchBehaviour.DIRECT or series.cycles >= plan.cycles:
        return
    said = "A pass is already out of reach: more trials would not change the verdict. The trials end here."
    yield Tell((said,), weight=Weight.FINDING)


def _is_over(series: Series, plan: Plan) -> bool:
    finding = series.finding
    if finding is None:
        return False
    if not finding.decided:
        return series.cycles >= MOST_CYCLES
    goal = Goal(series.tally.so_far.sampling(plan), plan.cycles)
    return not series.can_pass(plan) or all(goal.reached(series.kind(presence, plan)) for presence in Presence)
