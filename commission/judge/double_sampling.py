"""How many trials of one kind (filament in, or out) a pass takes: a double sampling plan that allows for one slip.

A first lot of trials without a misread is accepted at once. One misread among them does not end the series: a second
lot is taken, and the whole is accepted when no other misread is in it. At the second misread the series ends. With p
the share of misreads, q = 1 - p, and n1 and n2 the two numbers of trials, independent trials are accepted with

    A(p) = q^n1 + n1 p q^(n2 - 1)

for the one misread must stand among the first n1 trials. A(p) at a share that should be rejected is the consumer's
risk. Source: double sampling by attributes, acceptance numbers 0 and 1, rejection number 2 at both looks; the numbers
of trials are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import ceil

from commission.judge.distributions import falling_root
from commission.judge.trial import Came
from commission.judge.wording import counted
from commission.units import percent


class Decision(Enum):
    """What the trials so far come to."""

    GO_ON = "go on"
    CONDITIONAL = "conditional so far"
    ACCEPTED = "accepted"
    REJECTED = "rejected"
    SPOILT = "not judged"


@dataclass(frozen=True)
class SamplingPlan:
    """Numbers of trials of one kind.

    Attributes:
        clean: n1, trials without a misread that are accepted.
        with_one: n2, trials in all that are accepted with one misread among them.
        conditional: trials without a misread from which on a stop leaves a conditional result.
    """

    clean: int
    with_one: int
    conditional: int = 6

    def __post_init__(self) -> None:
        if not 1 <= self.conditional <= self.clean < self.with_one:
            raise ValueError(
                "A plan needs fewer trials for a conditional result than without a misread, and more with one, not "
                f"{self.conditional}, {self.clean} and {self.with_one}."
            )

    @property
    def rule(self) -> str:
        """The plan in one sentence."""
        return f"{self.clean} trials without a misread, or {self.with_one} with one; the second misread ends the series"

    @property
    def shows(self) -> str:
        """What an acceptance shows, whichever way the plan was passed."""
        return f"Whichever way the plan is passed, at most {percent(limiting_share(self))} are misread at 95 %"


FIRST_SERIES = SamplingPlan(clean=22, with_one=38)
SECOND_SERIES = SamplingPlan(clean=27, with_one=44)
"""For the one series that may follow a rejection after an examination that found nothing."""


def for_cycles(least: SamplingPlan, cycles: int) -> SamplingPlan:
    """The plan where more cycles were planned than a pass takes: more trials, and with a misread more in proportion."""
    if cycles <= least.clean:
        return least
    return SamplingPlan(cycles, ceil(cycles * least.with_one / least.clean), least.conditional)


@dataclass(frozen=True)
class Standing:
    """Where a series of one kind stands.

    Attributes:
        plan: what it is held against.
        decision: what it comes to.
        trials: how many count; none after the one that ended the series does.
        misreads: which of them were misread, counted from 1.
        set_aside: which of them were set aside before their dwell, counted from 1.
    """

    plan: SamplingPlan
    decision: Decision
    trials: int
    misreads: tuple[int, ...]
    set_aside: tuple[int, ...] = ()

    @property
    def ended(self) -> bool:
        """Whether further trials can change nothing any more."""
        return self.decision in {Decision.REJECTED, Decision.SPOILT}

    @property
    def blemished(self) -> bool:
        """Whether the one trial is used up that may be misread, or set aside."""
        return bool(self.misreads or self.set_aside)

    @property
    def still_needed(self) -> int:
        """Further trials without a misread that would be accepted; none when it is decided."""
        if self.ended or self.decision is Decision.ACCEPTED:
            return 0
        return self._goal - self.trials

    @property
    def sentence(self) -> str:
        """The standing for a person; a misread is always named."""
        done = counted(self.trials, "trial")
        if self.decision is Decision.REJECTED:
            first, second = self.misreads
            return f"Trials {first} and {second} read wrong. The second misread ends the series."
        if self.decision is Decision.SPOILT:
            return (
                f"{_named(self.misreads, self.set_aside)}. Only one trial of a kind may be: the series is not judged."
            )
        if not self.blemished:
            return f"{done} without a misread{self._end}"
        return f"{done}, and {_named(self.misreads, self.set_aside, within=True)}{self._end}"

    @property
    def _goal(self) -> int:
        return self.plan.with_one if self.blemished else self.plan.clean

    @property
    def _end(self) -> str:
        if self.decision is Decision.ACCEPTED:
            return ": accepted."
        stop = " A stop now is a conditional result." if self.decision is Decision.CONDITIONAL else ""
        other = "another" if self.misreads else "a"
        return (
            f". The plan goes on to {self._goal}; {self.still_needed} more without {other} misread are accepted.{stop}"
        )


def _named(misreads: Sequence[int], set_aside: Sequence[int], *, within: bool = False) -> str:
    names = [f"trial {number} read wrong" for number in misreads]
    names += [f"trial {number} was set aside" for number in set_aside]
    said = " and ".join(names)
    return said if within else said[:1].upper() + said[1:]


def decide(plan: SamplingPlan, came: Sequence[Came]) -> Standing:
    """What a series of one kind comes to.

    Both kinds are taken in turn, so one may go on while the other is decided. A misread after acceptance counts like
    any other: further trials can take an acceptance back, and never make one easier. A trial that was set aside before
    its dwell is counted beside the misreads, so that nobody gains by setting aside what looks bad; with one of each
    the series is not judged.

    Args:
        plan: the numbers of trials.
        came: for each trial that counts, in the order it was taken, what it came to.
    """
    wrong = tuple(number for number, each in enumerate(came, 1) if each is Came.WRONG)
    aside = tuple(number for number, each in enumerate(came, 1) if each is Came.SET_ASIDE)
    if len(wrong) > 1:
        return Standing(plan, Decision.REJECTED, wrong[1], wrong[:2])
    if len(places := sorted((*wrong, *aside))) > 1:
        last = places[1]
        return Standing(plan, Decision.SPOILT, last, wrong, tuple(place for place in aside if place <= last))
    trials = len(came)
    accepted, conditional = (plan.with_one, plan.clean) if places else (plan.clean, plan.conditional)
    if trials >= accepted:
        decision = Decision.ACCEPTED
    else:
        decision = Decision.CONDITIONAL if trials >= conditional else Decision.GO_ON
    return Standing(plan, decision, trials, wrong, aside)


def acceptance_probability(plan: SamplingPlan, share: float) -> float:
    """The probability that a series of one kind is accepted: q^n1 + n1 p q^(n2 - 1); no unit.

    At a share of misreads that should be rejected this is the consumer's risk.

    Args:
        plan: the numbers of trials.
        share: p, the probability that a trial is misread; the trials are taken to be independent.

    Raises:
        ValueError: the share is no probability.
    """
    if not 0 <= share <= 1:
        raise ValueError(f"A share of misreads lies between 0 and 1, not {share}.")
    right = 1 - share
    return float(right**plan.clean + plan.clean * share * right ** (plan.with_one - 1))


def limiting_share(plan: SamplingPlan, risk: float = 0.05) -> float:
    """The share of misreads that is accepted with that probability: what an acceptance shows at confidence 1 - risk.

    Raises:
        ValueError: the risk does not lie between 0 and 1.
    """
    if not 0 < risk < 1:
        raise ValueError(f"A risk lies between 0 and 1, not {risk}.")
    return falling_root(lambda share: acceptance_probability(plan, share) - risk, 0.0, 1.0)
