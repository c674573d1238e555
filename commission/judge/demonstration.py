"""What counts of failures demonstrate about a proportion, as exact bounds (Clopper-Pearson)."""

from dataclasses import dataclass
from enum import Enum

from commission import units
from commission.judge.distributions import binomial_cdf, falling_root
from commission.judge.wording import confidence_words


class BoundSide(Enum):
    """Where the doubt of an interval lies."""

    BOTH = "two-sided"
    LOWER = "lower bound"
    UPPER = "upper bound"


@dataclass(frozen=True)
class Interval:
    """From and to, both proportions between 0 and 1."""

    lower: float
    upper: float

    def __post_init__(self) -> None:
        if not 0 <= self.lower <= self.upper <= 1:
            raise ValueError(
                f"An interval of proportions runs upwards within 0 to 1, not {self.lower} to {self.upper}."
            )


def clopper_pearson(failures: int, trials: int, confidence: float, side: BoundSide = BoundSide.BOTH) -> Interval:
    """The exact interval for a proportion; the open side of a one-sided one is 0 or 1.

    Formula: the upper limit u solves P(X <= k; n, u) = a, the lower l solves P(X >= k; n, l) = a, with a = (1-C)/2
    two-sided and 1-C one-sided. Source: Clopper and Pearson, by inverting the binomial distribution.

    Raises:
        ValueError: counts that cannot be, or a confidence outside 0 to 1.
    """
    if not 0 <= failures <= trials or trials < 1 or not 0 < confidence < 1:
        raise ValueError(
            f"An interval needs 0 <= failures <= trials, at least one trial and a confidence between 0 and 1, "
            f"not {failures} of {trials} at {confidence}."
        )
    tail = (1 - confidence) / (2 if side is BoundSide.BOTH else 1)
    lower = 0.0 if side is BoundSide.UPPER else _lower_limit(failures, trials, tail)
    upper = 1.0 if side is BoundSide.LOWER else _upper_limit(failures, trials, tail)
    return Interval(lower, upper)


def _upper_limit(failures: int, trials: int, tail: float) -> float:
    if failures == trials:
        return 1.0
    return falling_root(lambda p: binomial_cdf(failures, trials, p) - tail, 0.0, 1.0)


def _lower_limit(failures: int, trials: int, tail: float) -> float:
    # a lower limit on failures is the mirror image of an upper limit on successes
    return 0.0 if failures == 0 else 1.0 - _upper_limit(trials - failures, trials, tail)


def upper_bound(failures: int, trials: int, confidence: float = 0.95) -> float:
    """The largest proportion of failures that the counts leave possible, one-sided; see clopper_pearson."""
    return clopper_pearson(failures, trials, confidence, BoundSide.UPPER).upper


def bound_sentence(what: str, failures: int, trials: int, confidence: float = 0.95) -> str:
    """A count of failures with the proportion it still allows, as in `Missed runouts: 0 of 20; ...`."""
    bound, sure = units.percent(upper_bound(failures, trials, confidence)), confidence_words(confidence)
    return f"{what}: {failures} of {trials}; at {sure} confidence the true share is at most {bound}."
