"""Which candidate explains what was read: weights, classes that nothing separates, and when to stop.

The predicted table is an argument: per candidate and test, what the test shows. Nothing here knows what a wire is.
The weight of a candidate is its prior times the probability of what was seen, test by test, as `expectation` gives it;
what a floating input does is drawn once per power-up and summed out there, so that an input that sticks cannot pass for
agreement of several tests.
Source: Bayes' rule; the numbers are stated, not measured, and printed with the result.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, prod

from commission.judge.expectation import DEFAULT_NOISE, HELD_SHARES, Expectation, Held, Noise, outcomes

Row = Mapping[str, Expectation]
Table = Mapping[str, Row]


@dataclass(frozen=True)
class BenchTest:
    """A test that can be asked for.

    Attributes:
        name: its name in the table.
        readings: how many it takes.
        own_power_up: power goes off before and after it.
        unpowered: it is done without power, so it can restart nothing.
    """

    name: str
    readings: int = 5
    own_power_up: bool = False
    unpowered: bool = False

    def __post_init__(self) -> None:
        if self.readings < 1:
            raise ValueError(f"The test {self.name!r} needs at least one reading.")


@dataclass(frozen=True)
class Observation:
    """What a test showed.

    Attributes:
        test: its name in the table.
        positives: how many readings were active (or near zero on the meter).
        readings: how many there were.
        restarted: the board restarted in it; the counts are then of no account.
        power_up: a number that changes whenever power was off in between.
    """

    test: str
    positives: int
    readings: int
    restarted: bool = False
    power_up: int = 0

    def __post_init__(self) -> None:
        if not self.restarted and not 0 <= self.positives <= self.readings:
            raise ValueError(f"{self.positives} of {self.readings} readings of {self.test!r} cannot be.")
        if not self.restarted and self.readings == 0:
            raise ValueError(f"{self.test!r} gave no reading; leave it out, it says nothing.")


@dataclass(frozen=True)
class Group:
    """Candidates that no test at hand separates, with their weight together."""

    members: tuple[str, ...]
    weight: float


@dataclass(frozen=True)
class Diagnosis:
    """Where the weighing stands.

    Attributes:
        groups: classes of candidates, the heaviest first; their weights sum to one.
        odds: the first against the second.
        needed_odds: what decides.
    """

    groups: tuple[Group, ...]
    odds: float
    needed_odds: float

    @property
    def decided(self) -> bool:
        """Whether the first class leads by enough."""
        return self.odds >= self.needed_odds


def diagnose(
    table: Table,
    priors: Mapping[str, float],
    observations: Sequence[Observation],
    tests: Iterable[str],
    *,
    noise: Noise = DEFAULT_NOISE,
    needed_odds: float = 20.0,
) -> Diagnosis:
    """Weigh the candidates and group those that none of these tests separates.

    Args:
        table: what each test shows under each candidate.
        priors: the weight of each candidate beforehand; relative.
        observations: what was seen, from any subset of the tests, in any order.
        tests: the tests at hand, done or still to be asked: what they cannot separate is one class.
        noise: the error terms.
        needed_odds: the lead that decides.

    Raises:
        ValueError: a candidate without a prior, or a test that the table does not know.
    """
    weights = posterior(table, priors, observations, noise=noise)
    at_hand = {*tests, *(seen.test for seen in observations)}
    found = [Group(members, sum(weights[name] for name in members)) for members in classes(table, at_hand)]
    ranked = tuple(sorted(found, key=lambda group: -group.weight))
    second = ranked[1].weight if len(ranked) > 1 else 0.0
    return Diagnosis(ranked, ranked[0].weight / second if second > 0 else inf, needed_odds)


def posterior(
    table: Table,
    priors: Mapping[str, float],
    observations: Sequence[Observation],
    *,
    noise: Noise = DEFAULT_NOISE,
) -> dict[str, float]:
    """The weight of each candidate after what was seen; the weights sum to one.

    Raises:
        ValueError: a candidate without a prior, or a test that the table does not know.
    """
    _check(table, priors, observations)
    likelihoods: dict[tuple[Expectation, ...], float] = {}  # many candidates predict alike: each row is worked out once
    raw = {}
    for name, row in table.items():
        alike = tuple(row[seen.test] for seen in observations)
        if alike not in likelihoods:
            likelihoods[alike] = _likelihood(row, observations, noise)
        raw[name] = priors[name] * likelihoods[alike]
    total = sum(raw.values())
    if not (isfinite(total) and total > 0):
        raise ValueError("The weights could not be worked out: the diagnosis is not judged.")
    return {name: weight / total for name, weight in raw.items()}


def classes(table: Table, tests: Iterable[str]) -> list[tuple[str, ...]]:
    """The candidates grouped by what they predict in all of these tests."""
    names = sorted(set(tests))
    grouped: dict[tuple[Expectation, ...], list[str]] = {}
    for candidate, row in table.items():
        grouped.setdefault(tuple(row[name] for name in names), []).append(candidate)
    return [tuple(members) for members in grouped.values()]


def separating(table: Table, members: Sequence[str], tests: Iterable[str]) -> list[str]:
    """Those of the tests in which these candidates do not all show the same: what could still separate them."""
    return [test for test in tests if len({table[name][test] for name in members}) > 1]


def held_weights(row: Row, observations: Iterable[Observation], noise: Noise) -> dict[Held, float]:
    """P(held) x P(what was seen in this power-up | held), for one candidate; not normalised."""
    seen = list(observations)
    return {held: share * prod(_chance(row, held, one, noise) for one in seen) for held, share in HELD_SHARES.items()}


def _likelihood(row: Row, observations: Sequence[Observation], noise: Noise) -> float:
    power_ups = {seen.power_up for seen in observations}
    return prod(
        sum(held_weights(row, (seen for seen in observations if seen.power_up == number), noise).values())
        for number in power_ups
    )


def _chance(row: Row, held: Held, seen: Observation, noise: Noise) -> float:
    readings = 1 if seen.restarted else seen.readings
    found = outcomes(row[seen.test], held, readings, noise)
    return found[-1] if seen.restarted else found[seen.positives]


def _check(table: Table, priors: Mapping[str, float], observations: Sequence[Observation]) -> None:
    if not table:
        raise ValueError("There is no candidate to weigh.")
    for name in table:
        if not priors.get(name, 0) > 0:
            raise ValueError(f"The candidate {name!r} has no prior above zero.")
    known = set.intersection(*(set(row) for row in table.values()))
    for seen in observations:
        if seen.test not in known:
            raise ValueError(f"The table does not predict {seen.test!r} for every candidate.")
