"""How steady a reading was, and how little a steady minute proves.

The rate bound is exact for events that come by themselves at a constant rate (Poisson); the glitch figures hold for
gaps as they were. A serial poll cannot see bounce of a few milliseconds, and says so through its largest gap.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from commission import units
from commission.judge.distributions import falling_root, poisson_cdf
from commission.judge.wording import confidence_words, counted
from commission.vocabulary import Reading

_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Sample:
    """One reading and when it was taken, in seconds on any steady clock."""

    at_s: float
    reading: Reading

    def __post_init__(self) -> None:
        if not math.isfinite(self.at_s):
            raise ValueError(f"A reading needs a finite time, not {self.at_s}.")


@dataclass(frozen=True)
class Settling:
    """How a reading came to rest.

    Attributes:
        first_seen_s: when the expected reading was first seen.
        steady_from_s: when the unbroken run up to the end began.
        resolution_s: the largest gap between polls: nothing finer was measured.
    """

    first_seen_s: float
    steady_from_s: float
    resolution_s: float

    @property
    def settle_time_s(self) -> float:
        """Seconds from the first sight of the expected reading until it stayed."""
        return self.steady_from_s - self.first_seen_s


def unwanted_changes(readings: Sequence[Reading]) -> int:
    """Number of times a reading differs from the last one that could be read; lost readings change nothing."""
    known = [reading for reading in readings if reading is not Reading.UNKNOWN]
    return sum(before is not after for before, after in pairwise(known))


def largest_gap_s(samples: Sequence[Sample]) -> float:
    """The longest time in seconds between two readings that could be read; 0 with fewer than two.

    Raises:
        ValueError: the samples are not in the order of time.
    """
    known = [sample.at_s for sample in samples if sample.reading is not Reading.UNKNOWN]
    gaps = [after - before for before, after in pairwise(known)]
    if any(gap < 0 for gap in gaps):
        raise ValueError("Readings must be handed over in the order in which they were taken.")
    return max(gaps, default=0.0)


def settling(samples: Sequence[Sample], expected: Reading) -> Settling | None:
    """How the reading came to rest at the expected one; None if it does not show it at the end.

    Formula: steady from the sample after the last one that showed something else; seconds.

    Raises:
        ValueError: the samples are not in the order of time.
    """
    resolution_s = largest_gap_s(samples)
    known = [sample for sample in samples if sample.reading is not Reading.UNKNOWN]
    if not known or known[-1].reading is not expected:
        return None
    others = [index for index, sample in enumerate(known) if sample.reading is not expected]
    steady = known[others[-1] + 1] if others else known[0]
    first = next(sample for sample in known if sample.reading is expected)
    return Settling(first.at_s, steady.at_s, resolution_s)


def poisson_upper(changes: int, duration_s: float, confidence: float) -> float:
    """Upper one-sided bound on a rate of changes, per second.

    Formula: chi2(C, 2k+2) / (2t), found as the mean m with P(N <= k; m) = 1 - C, divided by t. Source: the exact
    bound for a Poisson count (relation between the chi-square and Poisson distributions).

    Raises:
        ValueError: a negative count, no time, or a confidence outside 0 to 1.
        ArithmeticError: the bound is too large to be a number.
    """
    if changes < 0 or not (duration_s > 0 and math.isfinite(duration_s)) or not 0 < confidence < 1:
        raise ValueError(
            f"A rate needs a count from 0 up, a time above 0 s and a confidence between 0 and 1, "
            f"not {changes}, {duration_s} s, {confidence}."
        )
    ceiling = 2.0 * changes - 2 * math.log(1 - confidence) + 22.0
    mean = falling_root(lambda m: poisson_cdf(changes, m) - (1 - confidence), 0.0, ceiling)
    rate_per_s = mean / duration_s
    if not math.isfinite(rate_per_s):
        raise ArithmeticError(f"A watch of {duration_s} s is too short to bound a rate.")
    return rate_per_s


def shortest_glitch_s(gaps_s: Sequence[float], probability: float = 0.95) -> float:
    """The shortest glitch in seconds that polls with these gaps see with that probability; at most the largest gap.

    Formula: a glitch of width w begins at a moment that has nothing to do with the polls, so it begins in a gap T with
    T's share of the time, and then meets the poll at its end with min(1, w / T). It is seen with the sum of min(w, T)
    over the sum of T, which is a straight line in w between two neighbouring gaps; w is solved for. Source: common
    practice.

    Raises:
        ValueError: a gap below 0 s, no time at all, or a probability outside 0 to 1.
    """
    if any(gap < 0 for gap in gaps_s) or not sum(gaps_s) > 0 or not 0 < probability <= 1:
        raise ValueError(f"Poll gaps above 0 s and a probability up to 1 are needed, not {probability}.")
    wanted_s, left = probability * math.fsum(gaps_s), len(gaps_s)
    for gap in sorted(gaps_s):
        if wanted_s <= gap * left:
            return wanted_s / left
        wanted_s -= gap
        left -= 1
    return max(gaps_s)


def rate_sentence(changes: int, duration_s: float, confidence: float = 0.95) -> str:
    """What a watch of that length says about unwanted changes, with its bound per hour."""
    per_hour = poisson_upper(changes, duration_s, confidence) * _SECONDS_PER_HOUR
    seen = f"{counted(changes, 'unwanted change')} in {units.seconds(duration_s)}"
    digits = 0 if per_hour >= 10 else 2
    still = "still allows" if changes == 0 else "allows"
    return f"{seen}, which at {confidence_words(confidence)} confidence {still} up to {per_hour:.{digits}f} an hour."


def glitch_sentence(per_s: float, shortest_s: float, gap_s: float, probability: float = 0.95) -> str:
    """How often it was read, and the shortest glitch that this shows; the largest gap stands beside it."""
    return (
        f"Read {per_s:.{0 if per_s >= 10 else 1}f} times a second, with {units.seconds(gap_s)} between two readings at "
        f"most: a glitch shorter than {units.seconds(shortest_s)} was seen with less than "
        f"{confidence_words(probability)} probability."
    )
