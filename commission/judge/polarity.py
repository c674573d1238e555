"""How the reading follows the filament, inferred from trials that were fixed beforehand.

Five explanations are weighed with equal priors: direct, inverted, stuck active, stuck inactive, and no relation.
Each of the first four predicts the reading of every trial and allows for an unknown error probability with a
Beta(0.5, 9.5) prior (one error in twenty on average, most of the weight near none); its marginal likelihood of k
errors in n trials is B(0.5+k, 9.5+n-k) / B(0.5, 9.5). No relation is a fair coin: 2^-n. Only the prompts at which the
filament was moved are trials here: a *leave it* prompt repeats the trial before it and would count it twice.

The rule names the polarity and certifies nothing: a switch that misreads one time in ten is named direct in most
runs (scripts/simulate_polarity.py counts them); `acceptance` is what refuses it. Source: Bayes' theorem with a
beta-binomial marginal; the numbers 0.5, 9.5, 6, 12 and 1000 are this project's choice.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from commission.judge.distributions import log_beta
from commission.judge.exposure import is_read
from commission.units import odds as odds_in_words
from commission.vocabulary import Presence, Reading, SwitchBehaviour

LEAST_CYCLES = 6
MOST_CYCLES = 12
NEEDED_ODDS = 1000.0

_PRIOR_ERRORS, _PRIOR_AGREEMENTS = 0.5, 9.5

# What each explanation says will be read with filament in, and with filament out.
PREDICTIONS: Mapping[SwitchBehaviour, Mapping[Presence, Reading]] = MappingProxyType(
    {
        SwitchBehaviour.DIRECT: {Presence.IN: Reading.ACTIVE, Presence.OUT: Reading.INACTIVE},
        SwitchBehaviour.INVERTED: {Presence.IN: Reading.INACTIVE, Presence.OUT: Reading.ACTIVE},
        SwitchBehaviour.STUCK_ACTIVE: {Presence.IN: Reading.ACTIVE, Presence.OUT: Reading.ACTIVE},
        SwitchBehaviour.STUCK_INACTIVE: {Presence.IN: Reading.INACTIVE, Presence.OUT: Reading.INACTIVE},
    }
)


@dataclass(frozen=True)
class TrialResult:
    """One trial: what the operator declared, and the majority of the readings of its dwell."""

    presence: Presence
    majority: Reading

    @property
    def readable(self) -> bool:
        """Whether the dwell had a majority; one that had none is no trial and supports nobody."""
        return self.majority is not Reading.UNKNOWN


@dataclass(frozen=True)
class PolarityFinding:
    """What the trials show so far.

    Attributes:
        behaviour: the finding; UNDECIDED as long as no legal look has decided.
        decided: whether a legal look met the odds that were asked for.
        odds: the likeliest explanation against the runner-up; no unit.
        runner_up: the second likeliest explanation.
        errors: trials that contradict the likeliest of the four explanations that predict readings.
        trials: trials that could be read.
        weights: each explanation's share of belief; they add up to one.
        unreadable: dwells without a majority, left out of everything above.
    """

    behaviour: SwitchBehaviour
    decided: bool
    odds: float
    runner_up: SwitchBehaviour
    errors: int
    trials: int
    weights: Mapping[SwitchBehaviour, float]
    unreadable: int

    def __post_init__(self) -> None:
        if not self.odds >= 1:
            raise ValueError(f"The likeliest explanation cannot have odds of {self.odds} to 1.")
        if not 0 <= self.errors <= self.trials or self.unreadable < 0:
            raise ValueError("Errors lie between 0 and the number of trials.")
        if not math.isclose(math.fsum(self.weights.values()), 1, abs_tol=1e-9):
            raise ValueError("The weights of the explanations must add up to one.")

    @property
    def leading(self) -> SwitchBehaviour:
        """The likeliest explanation at this moment, decided or not."""
        return max(self.weights, key=lambda behaviour: self.weights[behaviour])

    @property
    def sentence(self) -> str:
        """The finding for a person, with its odds and its counts."""
        against = f"{self.errors} against" if self.errors else "none against"
        counts = f"{self.trials} in/out trials, {against} (leave-it prompts not counted)"
        if self.unreadable:
            counts += f"; {self.unreadable} could not be read and count for nothing"
        odds = f"{odds_in_words(self.odds)} against the next explanation ({self.runner_up.value})"
        if self.trials == 0:
            return "Not decided yet: no trial has been read."
        if self.decided:
            return f"The switch is {self.behaviour.value}: {odds}; {counts}."
        leader = f"the likeliest so far is {self.leading.value}, {odds}; {counts}"
        if self.behaviour is SwitchBehaviour.NO_RELATION:
            return f"No relation between filament and reading was shown by the last look: {leader}."
        return f"Not decided yet: {leader}."


def majority(readings: Sequence[Reading]) -> Reading:
    """The reading that more than half of all the readings of a dwell show, otherwise unknown.

    A dwell in which too few readings are known has none: see `is_read`. An unknown one counts in the whole, and for
    neither side.
    """
    if not is_read(readings):
        return Reading.UNKNOWN
    for candidate in (Reading.ACTIVE, Reading.INACTIVE):
        if 2 * sum(reading is candidate for reading in readings) > len(readings):
            return candidate
    return Reading.UNKNOWN


def contradictions(trials: Sequence[TrialResult], behaviour: SwitchBehaviour) -> int:
    """How many readable trials an explanation that predicts readings got wrong.

    Raises:
        KeyError: the behaviour predicts no reading.
    """
    expected = PREDICTIONS[behaviour]
    return sum(trial.readable and trial.majority is not expected[trial.presence] for trial in trials)


def marginal_log_likelihood(errors: int, trials: int) -> float:
    """Natural logarithm of B(0.5+k, 9.5+n-k) / B(0.5, 9.5) for k errors in n trials; no unit."""
    after = log_beta(_PRIOR_ERRORS + errors, _PRIOR_AGREEMENTS + trials - errors)
    return after - log_beta(_PRIOR_ERRORS, _PRIOR_AGREEMENTS)


def weigh(trials: Sequence[TrialResult]) -> PolarityFinding:
    """The five explanations weighed by what was read up to now, however little that is.

    Nothing is decided by it: only a look decides. When the two likeliest are level the behaviour is UNDECIDED.
    """
    count = sum(trial.readable for trial in trials)
    errors = {behaviour: contradictions(trials, behaviour) for behaviour in PREDICTIONS}
    logs = {behaviour: marginal_log_likelihood(wrong, count) for behaviour, wrong in errors.items()}
    logs[SwitchBehaviour.NO_RELATION] = -count * math.log(2)
    best, runner_up = sorted(logs, key=lambda behaviour: -logs[behaviour])[:2]
    lead = logs[best] - logs[runner_up]
    shares = {behaviour: math.exp(value - logs[best]) for behaviour, value in logs.items()}
    whole = math.fsum(shares.values())
    return PolarityFinding(
        behaviour=best if lead > 0 else SwitchBehaviour.UNDECIDED,
        decided=False,
        odds=math.exp(lead),
        runner_up=runner_up,
        errors=min(errors.values()),
        trials=count,
        weights=MappingProxyType({behaviour: share / whole for behaviour, share in shares.items()}),
        unreadable=len(trials) - count,
    )


def look(
    trials: Sequence[TrialResult],
    *,
    cycles_done: int,
    least: int = LEAST_CYCLES,
    most: int = MOST_CYCLES,
    needed_odds: float = NEEDED_ODDS,
) -> PolarityFinding:
    """One look at the trials after a whole cycle; the first legal look that decides ends the search.

    A look decides when it comes after `least` to `most` cycles, at least `least` trials of each presence could be
    read, and the likeliest explanation beats the runner-up by `needed_odds` to 1. At the last look an open question
    becomes NO_RELATION; if it is open because too little could be read, it stays UNDECIDED.

    Args:
        trials: all trials up to now, first to last, without voided ones and without *leave it* prompts.
        cycles_done: whole cycles carried out.
        least: cycles before the first look.
        most: cycles at the last look.
        needed_odds: likeliest to runner-up, as a ratio.

    Raises:
        ValueError: the look is not after a whole cycle, or beyond the last one, or the rule itself makes no sense.
    """
    if not 1 <= least <= most or not needed_odds > 1:
        raise ValueError(f"Looks need 1 <= least <= most and odds above 1, not {least}, {most}, {needed_odds}.")
    if not 0 <= cycles_done <= most:
        raise ValueError(f"A look is taken after 0 to {most} cycles, not after {cycles_done}; an earlier look decided.")
    readable = {side: sum(t.readable and t.presence is side for t in trials) for side in Presence}
    if max(readable.values()) > cycles_done:
        raise ValueError(
            f"A look is taken after whole cycles: {cycles_done} of them hold no {readable[Presence.IN]} trials with "
            f"filament in and {readable[Presence.OUT]} with filament out."
        )
    now = weigh(trials)
    enough = min(readable.values()) >= least
    if enough and now.odds >= needed_odds:
        return replace(now, decided=True)
    ended = enough and cycles_done == most
    return replace(now, behaviour=SwitchBehaviour.NO_RELATION if ended else SwitchBehaviour.UNDECIDED)
