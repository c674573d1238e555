"""Which test to ask for next: the safe one that tells most for what it costs, or none when it is time to stop.

What a test tells is the mutual information, in bits, between the class of candidates and what the dwell is as a whole:
I = H(outcome) - sum over classes of weight x H(outcome | class). Source: Shannon's definition. It is divided by what
the test costs, so that a lever pressed by hand comes before a power-off, and both before a bridge at the header.
A test is safe while the chance that it restarts the board, as things stand, is at most the limit; a restart means a
supply shorted by the switch, and one must not be repeated to learn more about it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from math import log2

from commission.judge.diagnosis import BenchTest, Diagnosis, diagnose
from commission.judge.expectation import (
    DEFAULT_ERRORS,
    DEPARTURES,
    LASTING_DEPARTURES,
    NOTHING_DEPARTS,
    Departing,
    Errors,
    Expectation,
    Held,
    Sign,
    Whole,
    blend,
    restart_chance,
    shown,
    slipped,
    whole,
)
from commission.judge.explanations import Explanations, Observation
from commission.judge.weighing import Joint, Seen, joint, posterior


@dataclass(frozen=True)
class Rules:
    """When to stop, and what is too dangerous to ask.

    Attributes:
        needed_odds: the lead with which the first class is found.
        enough_odds: the lead from which on nothing more is asked.
        least_gain_bits: a test that promises less is not worth asking.
        least_rate_bits: nor one that promises less than this for a minute of what it costs.
        while_sound: the latter is so much stricter while what looks sound is in front: no power-off for nothing.
        restart_limit: the greatest chance of a restart a test may carry.
    """

    needed_odds: float = 20.0
    enough_odds: float = 50.0
    least_gain_bits: float = 0.015
    least_rate_bits: float = 0.01
    while_sound: float = 4.0
    restart_limit: float = 0.10

    def __post_init__(self) -> None:
        least, limit = min(self.least_gain_bits, self.least_rate_bits), self.restart_limit
        if not 1 < self.needed_odds <= self.enough_odds or least < 0 or not 0 < limit < 1:
            raise ValueError("Odds above 1, a gain of zero or more, a limit between 0 and 1.")

    def worth_asking_bits(self, cost_s: float, *, looks_sound: bool) -> float:
        """What a test of this cost must promise."""
        rate = self.least_rate_bits * (self.while_sound if looks_sound else 1.0)
        return max(self.least_gain_bits, rate * cost_s / 60)


@dataclass(frozen=True)
class Choice:
    """What to do next.

    Attributes:
        diagnosis: where the weighing stands, over the tests that were done or are safe to ask.
        test: the test to ask for, or nothing.
        gain_bits: what it tells; for the record, nobody is shown it.
        unsafe: tests left out because they might restart the board.
        reason: why this test, or why none.
        times: how often it is to be done, one after the other.
    """

    diagnosis: Diagnosis
    test: BenchTest | None
    gain_bits: float
    unsafe: tuple[str, ...]
    reason: str
    times: int = 1


DEFAULT_RULES = Rules()


@dataclass(frozen=True)
class Known:
    """What was worked out for one test and holds for the others, after the same observations.

    Attributes:
        seen: what was seen.
        joints: by candidate and power-up.
    """

    seen: Seen
    joints: dict[tuple[str, int], Joint] = field(default_factory=dict)


_OF_NO_WEIGHT = 1e-3
"""Classes below this weight say nothing of what a test would tell."""


def choose(
    explanations: Explanations,
    tests: Sequence[BenchTest],
    observations: Sequence[Observation],
    *,
    errors: Errors = DEFAULT_ERRORS,
    rules: Rules = DEFAULT_RULES,
) -> Choice:
    """The diagnosis as it stands, and the next test or the reason to stop."""
    seen = Seen(explanations, observations)
    weights = posterior(explanations, observations, errors=errors, seen=seen)
    unsafe = unsafe_tests(explanations, weights, tests, errors=errors, rules=rules)
    safe = [test for test in tests if test.name not in unsafe]
    names = [test.name for test in safe]
    found = diagnose(explanations, observations, names, errors=errors, needed_odds=rules.needed_odds, weights=weights)
    if found.decided and found.odds >= rules.enough_odds:
        return Choice(found, None, 0.0, unsafe, f"The first class leads by {rules.enough_odds:g} to 1 or more.")
    done = [each.test for each in observations]
    left = [test for test in safe if done.count(test.name) < test.repeats]
    if any(each.restarted for each in observations):
        left = [
            test for test in left if test.unpowered and not test.first
        ]  # the meter decides, before power comes back
    known = Known(seen)
    gains = [
        (gain_bits(explanations, found, test, observations, tests, errors=errors, known=known), test) for test in left
    ]
    sound = explanations.may_be_sound(found.groups[0].members)
    worth = [pair for pair in gains if pair[0] >= rules.worth_asking_bits(pair[1].cost_s, looks_sound=sound)]
    if worth:
        gain, test = max(worth, key=lambda pair: (pair[1].first, pair[0] / pair[1].cost_s))
        why = "A look costs nothing." if test.first else "It tells most for what it costs."
        return Choice(found, test, gain, unsafe, why)
    return _still_to_prove(explanations, found, left, observations, unsafe)


def _still_to_prove(
    explanations: Explanations,
    found: Diagnosis,
    left: Sequence[BenchTest],
    observations: Sequence[Observation],
    unsafe: tuple[str, ...],
) -> Choice:
    """Nothing separates further; what looks sound still takes its trials with filament out."""
    missing = explanations.trials_missing(observations)
    sound = explanations.may_be_sound(found.groups[0].members)
    out = next((test for test in left if _is_out(explanations, test)), None)
    if sound and missing and out is not None:
        why = "What sticks now and then hides: ten trials with filament out come before anything is called sound."
        return Choice(found, out, 0.0, unsafe, why, missing)
    return Choice(found, None, 0.0, unsafe, "No safe test that is left separates further.")


def _is_out(explanations: Explanations, test: BenchTest) -> bool:
    """Whether it is the trial that shows what sticks."""
    return explanations.in_out is not None and test.name == explanations.in_out[1]


def unsafe_tests(
    explanations: Explanations,
    weights: dict[str, float],
    tests: Sequence[BenchTest],
    *,
    errors: Errors = DEFAULT_ERRORS,
    rules: Rules = DEFAULT_RULES,
) -> tuple[str, ...]:
    """The tests that carry too great a chance of a restart, as the candidates stand."""
    limit = rules.restart_limit
    return tuple(test.name for test in tests if restarting(explanations, weights, test, errors=errors) > limit)


def restarting(
    explanations: Explanations, weights: dict[str, float], test: BenchTest, *, errors: Errors = DEFAULT_ERRORS
) -> float:
    """The chance that this test restarts the board, as the candidates stand; none without power."""
    if test.unpowered:
        return 0.0
    found = 0.0
    for name, weight in weights.items():
        found += weight * _restarts(explanations.candidates[name].row[test.name], errors)
    return found


@cache
def _restarts(expected: Expectation, errors: Errors) -> float:
    return restart_chance(whole(expected, Held.WANDERS, Departing(0.5), errors), errors)


def gain_bits(
    explanations: Explanations,
    diagnosis: Diagnosis,
    test: BenchTest,
    observations: Sequence[Observation] = (),
    tests: Sequence[BenchTest] = (),
    *,
    errors: Errors = DEFAULT_ERRORS,
    known: Known | None = None,
) -> float:
    """What the test is expected to tell about the class, in bits.

    Args:
        explanations: the candidates with what each test shows under them.
        diagnosis: the classes, with their weights; within a class all candidates show the same in every test at hand.
        test: the test in question; one of those at hand when the classes were made.
        observations: what was seen: how often something departs, and where an input sticks, follows from it.
        tests: those at hand, to tell which power-up the test falls into.
        errors: the error terms.
        known: what was worked out for another test from the same observations; it is filled.
    """
    known = Known(Seen(explanations, observations)) if known is None else known
    newest = next_power_up(tests, observations, test)
    predicted = [
        (group.weight, _group(explanations, group.members, test, newest, errors, known))
        for group in diagnosis.groups
        if group.weight > _OF_NO_WEIGHT
    ]
    total = sum(weight for weight, _ in predicted)
    groups = [(weight / total, shares) for weight, shares in predicted]
    within = sum(weight * _entropy_bits(shares) for weight, shares in groups)
    return max(0.0, _entropy_bits(blend(groups)) - within)


def next_power_up(tests: Sequence[BenchTest], observations: Sequence[Observation], test: BenchTest) -> int:
    """The number of the power-up the test falls into: that of the last one, unless either has its own."""
    if not observations:
        return 0
    last = observations[-1]
    own = {known.name for known in tests if known.own_power_up}
    return last.power_up + 1 if test.own_power_up or last.test in own else last.power_up


def _group(
    explanations: Explanations,
    members: Sequence[str],
    test: BenchTest,
    newest: int,
    errors: Errors,
    known: Known,
) -> Whole:
    """What the test is as a whole under a class, its members weighed as they stand."""
    found: list[tuple[float, Whole]] = []
    other = explanations.slips.get(test.name)
    for name in members:
        candidate = explanations.candidates[name]
        expected, twin = candidate.row[test.name], None if other is None else candidate.row[other]
        if test.name not in explanations.looked and _steady(expected) and (twin is None or _steady(twin)):
            return _shown(expected, twin, errors)[NOTHING_DEPARTS, Held.WANDERS]
        if (name, newest) not in known.joints:
            found_now = joint(known.seen, name, candidate.hand, errors=errors, newest=newest)
            lasts = any(each.lasting for each in candidate.row.values())
            known.joints[name, newest] = _with_departures(found_now, LASTING_DEPARTURES if lasts else DEPARTURES)
        weights = known.joints[name, newest]
        looks = _shown(expected, twin, errors)
        found += [(candidate.prior * weight, looks[key]) for key, weight in weights.items()]
    total = sum(weight for weight, _ in found)
    return blend([(weight / total, shares) for weight, shares in found])


def _steady(expected: Expectation) -> bool:
    """Whether it hangs on nothing that is not known of the unit."""
    return expected.sometimes is None and expected.sign is not Sign.FLOATING


@cache
def _shown(expected: Expectation, twin: Expectation | None, errors: Errors) -> dict[tuple[Departing, Held], Whole]:
    """What a dwell is as a whole, by how often something departs and by what a floating input does."""
    found = {}
    for departing, held in product((NOTHING_DEPARTS, *(each for each, _ in DEPARTURES)), Held):
        own = shown(expected, held, departing, errors)
        if twin is not None:
            other = slipped(whole(twin, held, departing, errors), errors)
            own = blend([(1 - errors.slip, own), (errors.slip, other)])
        found[departing, held] = own
    return found


def _with_departures(found: Joint, departures: Sequence[tuple[Departing, float]]) -> Joint:
    """The same with every way of departing, where nothing seen so far could depart."""
    if {departing for departing, _ in found} != {NOTHING_DEPARTS}:
        return found
    return {(departing, held): weight * share for (_, held), weight in found.items() for departing, share in departures}


def _entropy_bits(shares: Sequence[float]) -> float:
    return -sum(share * log2(share) for share in shares if share > 0)
