"""What one test shows under one candidate, as a distribution over its outcomes.

Model. A test gives n readings, of which k are positive, or the board restarts. Under a candidate that predicts
    positive or negative    k is binomial with the noise e per reading;
    floating                one hidden draw per power-up: it sticks (half the time, on either side alike) or it wanders;
                            then k is beta-binomial, P(k) = C(n,k) B(k+1/2, n-k+1/2) / B(1/2, 1/2);
    a restart               the restart is missed with a small probability;
    sometimes another       all of the first (0.4), all of the second (0.2), or mixed reading by reading (0.4).
Source: the numbers are stated, not measured.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from math import comb, exp

from commission.judge.distributions import log_beta


class Sign(StrEnum):
    """What a test shows under a candidate."""

    POSITIVE = "positive"
    NEGATIVE = "negative"
    FLOATING = "floating"
    RESTART = "restart"


class Held(StrEnum):
    """What a floating input does in one power-up."""

    WANDERS = "wanders"
    HIGH = "sticks positive"
    LOW = "sticks negative"


HELD_SHARES = {Held.WANDERS: 0.5, Held.HIGH: 0.25, Held.LOW: 0.25}


@dataclass(frozen=True)
class Expectation:
    """What a test shows under a candidate, and what it shows now and then, where a connection comes and goes."""

    sign: Sign
    sometimes: Sign | None = None


@dataclass(frozen=True)
class Noise:
    """The error terms of the model, each a probability.

    Attributes:
        reading: one reading says the opposite.
        restart_missed: a board that should restart did not.
        restart_by_chance: it restarted for another reason.
    """

    reading: float = 0.02
    restart_missed: float = 0.05
    restart_by_chance: float = 0.002

    def __post_init__(self) -> None:
        if not all(0 < p < 0.5 for p in (self.reading, self.restart_missed, self.restart_by_chance)):
            raise ValueError("Each error term lies between 0 and 0.5: with none at all one odd reading would decide.")


DEFAULT_NOISE = Noise()


def outcomes(expectation: Expectation, held: Held, readings: int, noise: Noise) -> tuple[float, ...]:
    """The probability of 0, 1, ... n positive readings, and last of a restart."""
    return _outcomes(expectation.sign, expectation.sometimes, held, readings, noise)


@cache
def _outcomes(sign: Sign, sometimes: Sign | None, held: Held, readings: int, noise: Noise) -> tuple[float, ...]:
    first = _plain(sign, held, readings, noise)
    if sometimes is None:
        return first
    second = _plain(sometimes, held, readings, noise)
    if Sign.RESTART in {sign, sometimes}:
        return tuple(0.6 * a + 0.4 * b for a, b in zip(first, second, strict=True))
    half = (_share(sign, held, noise) + _share(sometimes, held, noise)) / 2
    mixed = _counted(_binomial(half, readings), noise)
    return tuple(0.4 * a + 0.2 * b + 0.4 * c for a, b, c in zip(first, second, mixed, strict=True))


def _plain(sign: Sign, held: Held, readings: int, noise: Noise) -> tuple[float, ...]:
    if sign is Sign.RESTART:
        return (*[noise.restart_missed / (readings + 1)] * (readings + 1), 1 - noise.restart_missed)
    if sign is Sign.FLOATING and held is Held.WANDERS:
        return _counted(_arcsine(readings), noise)
    return _counted(_binomial(_share(sign, held, noise), readings), noise)


def _share(sign: Sign, held: Held, noise: Noise) -> float:
    """The share of positive readings."""
    if sign is Sign.FLOATING:
        return {Held.WANDERS: 0.5, Held.HIGH: 1 - noise.reading, Held.LOW: noise.reading}[held]
    return 1 - noise.reading if sign is Sign.POSITIVE else noise.reading


def _counted(counts: list[float], noise: Noise) -> tuple[float, ...]:
    return (*((1 - noise.restart_by_chance) * p for p in counts), noise.restart_by_chance)


def _binomial(share: float, readings: int) -> list[float]:
    return [comb(readings, k) * share**k * (1 - share) ** (readings - k) for k in range(readings + 1)]


def _arcsine(readings: int) -> list[float]:
    whole = log_beta(0.5, 0.5)
    return [comb(readings, k) * exp(log_beta(k + 0.5, readings - k + 0.5) - whole) for k in range(readings + 1)]
