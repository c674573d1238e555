"""Which candidate explains what was seen: classes that nothing separates, their shares, and when one is found.

The predicted table is an argument: per candidate and test, what the test shows. Nothing here knows what a wire is. One
fault is assumed: two at once are weighed as though they were one, and the report says so.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from commission.judge.expectation import DEFAULT_ERRORS, Errors, Expectation
from commission.judge.explanations import Explanations, Hand, Observation
from commission.judge.weighing import CONFIDENT, posterior

__all__ = [
    "BenchTest",
    "Diagnosis",
    "Explanations",
    "Group",
    "Observation",
    "classes",
    "diagnose",
    "ranked",
    "separating",
]


@dataclass(frozen=True)
class BenchTest:
    """A test that can be asked for.

    Attributes:
        name: its name in the table.
        readings: how many it takes.
        own_power_up: power goes off before and after it.
        unpowered: it is done without power, so it can restart nothing.
        cost_s: what it takes of a person, in seconds, with what it risks.
        repeats: how often it may be asked at most.
        first: it is asked before any other that is not, where it tells anything.
    """

    name: str
    readings: int = 21
    own_power_up: bool = False
    unpowered: bool = False
    cost_s: float = 15.0
    repeats: int = 3
    first: bool = False

    def __post_init__(self) -> None:
        if self.readings < 1 or self.repeats < 1 or not self.cost_s > 0:
            raise ValueError(f"The test {self.name!r} needs at least one reading, one repeat and a cost above zero.")


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
        """Whether the first class leads by enough, and is more than nine parts in ten of all."""
        return self.odds >= self.needed_odds and self.groups[0].weight > CONFIDENT


def diagnose(
    explanations: Explanations,
    observations: Sequence[Observation],
    tests: Iterable[str],
    *,
    errors: Errors = DEFAULT_ERRORS,
    needed_odds: float = 20.0,
    weights: Mapping[str, float] | None = None,
) -> Diagnosis:
    """Weigh the candidates and group those that none of these tests separates.

    Args:
        explanations: the candidates with what each test shows under them.
        observations: what was seen, from any subset of the tests, in any order.
        tests: the tests at hand, done or still to be asked: what they cannot separate is one class.
        errors: the error terms.
        needed_odds: the lead that decides.
        weights: those of `posterior` after the same observations, where they are known.

    Raises:
        ValueError: a test that the table does not know, or nothing explains what was seen.
    """
    weights = posterior(explanations, observations, errors=errors) if weights is None else weights
    at_hand = {*tests, *(seen.test for seen in observations)}
    found = [Group(members, sum(weights[name] for name in members)) for members in classes(explanations, at_hand)]
    if explanations.trials_missing(observations):
        found = _capped(explanations, found)
    groups = ranked(found)
    second = groups[1].weight if len(groups) > 1 else 0.0
    return Diagnosis(groups, groups[0].weight / second if second > 0 else inf, needed_odds)


def ranked(groups: Iterable[Group]) -> tuple[Group, ...]:
    """The heaviest first; those that weigh the same but for the rounding of a sum stay in their order.

    Sums are taken in an order that differs from one process to the next; what is told of them does not.
    """
    return tuple(sorted(groups, key=lambda group: -float(f"{group.weight:.9e}")))


def _capped(explanations: Explanations, groups: list[Group]) -> list[Group]:
    """The classes that may be sound weigh at most 90 % together before enough trials have shown it."""
    sound = [explanations.may_be_sound(group.members) for group in groups]
    share = sum(group.weight for group, is_sound in zip(groups, sound, strict=True) if is_sound)
    if not CONFIDENT < share < 1:
        return groups
    of_sound, of_others = CONFIDENT / share, (1 - CONFIDENT) / (1 - share)
    return [
        Group(group.members, group.weight * (of_sound if is_sound else of_others))
        for group, is_sound in zip(groups, sound, strict=True)
    ]


def classes(explanations: Explanations, tests: Iterable[str]) -> list[tuple[str, ...]]:
    """The candidates grouped by what they predict in all of these tests, and by what they say of the person.

    What a person only looks at and says makes no class: it may be overlooked, and what is read is the same.
    """
    names = sorted(set(tests) - explanations.looked)
    grouped: dict[tuple[tuple[Expectation, ...], Hand], list[str]] = {}
    for name, candidate in explanations.candidates.items():
        says = tuple(candidate.row[test] for test in names)
        hand = Hand.SLIPPED if candidate.hand is Hand.SLIPPED else Hand.MAY_SLIP
        grouped.setdefault((says, hand), []).append(name)
    return [tuple(members) for members in grouped.values()]


def separating(explanations: Explanations, members: Sequence[str], tests: Iterable[str]) -> list[str]:
    """Those of the tests in which these candidates do not all show the same: what could still separate them."""
    rows = [explanations.candidates[name].row for name in members]
    return [test for test in tests if len({row[test] for row in rows}) > 1]
