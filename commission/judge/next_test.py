"""Which test to ask for next: the safe one that tells most about the class, or none when it is time to stop.

The gain is the mutual information, in bits, between the class of candidates and the outcome of the test:
I = H(outcome) - sum over classes of weight x H(outcome | class). Source: Shannon's definition.
A test is safe while the chance that it restarts the board, as things stand, is at most the limit; a restart means a
supply shorted by the switch, and one must not be repeated to learn more about it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log2

from commission.judge.diagnosis import (
    BenchTest,
    Diagnosis,
    Observation,
    Table,
    diagnose,
    held_weights,
    posterior,
)
from commission.judge.expectation import DEFAULT_NOISE, Held, Noise, outcomes


@dataclass(frozen=True)
class Rules:
    """When to stop, and what is too dangerous to ask.

    Attributes:
        needed_odds: the lead of the first class that ends it.
        least_gain_bits: a test that promises less is not worth asking.
        repeats: how often a test may be asked at most.
        restart_limit: the greatest chance of a restart a test may carry.
    """

    needed_odds: float = 20.0
    least_gain_bits: float = 0.01
    repeats: int = 3
    restart_limit: float = 0.10

    def __post_init__(self) -> None:
        if self.needed_odds <= 1 or self.least_gain_bits < 0 or self.repeats < 1 or not 0 < self.restart_limit < 1:
            raise ValueError("Odds above 1, a gain of zero or more, at least one repeat, a limit between 0 and 1.")


@dataclass(frozen=True)
class Choice:
    """What to do next.

    Attributes:
        diagnosis: where the weighing stands, over the tests that were done or are safe to ask.
        test: the test to ask for, or nothing.
        gain_bits: what it promises.
        unsafe: tests left out because they might restart the board.
        reason: why this test, or why none.
    """

    diagnosis: Diagnosis
    test: BenchTest | None
    gain_bits: float
    unsafe: tuple[str, ...]
    reason: str


DEFAULT_RULES = Rules()


def choose(
    table: Table,
    priors: Mapping[str, float],
    tests: Sequence[BenchTest],
    observations: Sequence[Observation],
    *,
    noise: Noise = DEFAULT_NOISE,
    rules: Rules = DEFAULT_RULES,
) -> Choice:
    """The diagnosis as it stands, and the next test or the reason to stop."""
    weights = posterior(table, priors, observations, noise=noise)
    unsafe = unsafe_tests(table, weights, tests, noise=noise, rules=rules)
    safe = [test for test in tests if test.name not in unsafe]
    names = [test.name for test in safe]
    found = diagnose(table, priors, observations, names, noise=noise, needed_odds=rules.needed_odds)
    if found.decided:
        lead = f"The first class leads by {rules.needed_odds:g} to 1 or more."
        return Choice(found, None, 0.0, unsafe, lead)
    done = [seen.test for seen in observations]
    left = [test for test in safe if done.count(test.name) < rules.repeats]
    gains = [
        (gain_bits(table, found, test, _same_power_up(tests, observations, test), noise=noise), test) for test in left
    ]
    best = max(gains, key=lambda pair: pair[0], default=None)
    if best is None or best[0] < rules.least_gain_bits:
        return Choice(found, None, best[0] if best else 0.0, unsafe, "No safe test that is left separates further.")
    return Choice(found, best[1], best[0], unsafe, f"It promises most: {best[0]:.2f} bits.")


def unsafe_tests(
    table: Table,
    weights: Mapping[str, float],
    tests: Sequence[BenchTest],
    *,
    noise: Noise = DEFAULT_NOISE,
    rules: Rules = DEFAULT_RULES,
) -> tuple[str, ...]:
    """The tests that carry too great a chance of a restart, as the candidates stand."""
    return tuple(test.name for test in tests if restart_chance(table, weights, test, noise=noise) > rules.restart_limit)


def restart_chance(
    table: Table, weights: Mapping[str, float], test: BenchTest, *, noise: Noise = DEFAULT_NOISE
) -> float:
    """The chance that this test restarts the board, as the candidates stand; none without power."""
    if test.unpowered:
        return 0.0
    chances = {name: outcomes(table[name][test.name], Held.WANDERS, test.readings, noise)[-1] for name in weights}
    return sum(weight * chances[name] for name, weight in weights.items())


def gain_bits(
    table: Table,
    diagnosis: Diagnosis,
    test: BenchTest,
    same: Sequence[Observation] = (),
    *,
    noise: Noise = DEFAULT_NOISE,
) -> float:
    """What the test is expected to tell about the class, in bits.

    Args:
        table: what each test shows under each candidate.
        diagnosis: the classes, with their weights; within a class all candidates show the same in every test at hand.
        test: the test in question; one of those at hand when the classes were made.
        same: what was seen in the power-up the test falls into: an input that stuck there is taken to stay stuck.
        noise: the error terms.
    """
    groups = [(group.weight, _predicted(table, group.members[0], test, same, noise)) for group in diagnosis.groups]
    within = sum(weight * _entropy_bits(shares) for weight, shares in groups)
    return max(0.0, _entropy_bits(_mixed(groups)) - within)


def next_power_up(tests: Sequence[BenchTest], observations: Sequence[Observation], test: BenchTest) -> int:
    """The number of the power-up the test falls into: that of the last one, unless either has its own."""
    if not observations:
        return 0
    last = observations[-1]
    own = {known.name for known in tests if known.own_power_up}
    return last.power_up + 1 if test.own_power_up or last.test in own else last.power_up


def _same_power_up(
    tests: Sequence[BenchTest], observations: Sequence[Observation], test: BenchTest
) -> list[Observation]:
    number = next_power_up(tests, observations, test)
    return [seen for seen in observations if seen.power_up == number]


def _predicted(
    table: Table, name: str, test: BenchTest, same: Sequence[Observation], noise: Noise
) -> tuple[float, ...]:
    held = held_weights(table[name], same, noise)
    total = sum(held.values())
    return _mixed([(held[one] / total, outcomes(table[name][test.name], one, test.readings, noise)) for one in held])


def _mixed(parts: Sequence[tuple[float, Sequence[float]]]) -> tuple[float, ...]:
    """The average of several distributions, each with its weight."""
    total = sum(weight for weight, _ in parts)
    columns = zip(*(shares for _, shares in parts), strict=True)
    weights = [weight / total for weight, _ in parts]
    return tuple(sum(w * share for w, share in zip(weights, column, strict=True)) for column in columns)


def _entropy_bits(shares: Sequence[float]) -> float:
    return -sum(share * log2(share) for share in shares if share > 0)
