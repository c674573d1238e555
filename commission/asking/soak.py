"""The request for a soak: hours of reading with nobody there, and what it is answered by."""

import math
from dataclasses import dataclass

from commission.evidence.soaked import SoakStretch
from commission.judge.nuisance import RateBound, rate_bounds


@dataclass(frozen=True)
class Soak:
    """Read the switch for hours; only questions are sent, and nobody is needed.

    Attributes:
        seconds: the exposure wanted; it takes at most twice as long.
        asks_card: whether the printer says what its card does, so that a print that begins is noticed.
        beside_print: a print from the card is going to begin: from the start one question a second at most.
        gentle: ten questions a second at most, after a change too.
        follows: number of the run whose soak is taken up; empty for none.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    switch: str
    seconds: float
    asks_card: bool = True
    beside_print: bool = False
    gentle: bool = False
    follows: str = ""


@dataclass(frozen=True)
class SoakTaken:
    """What came of a soak.

    Attributes:
        stretches: in the order of time.
        seconds: how long it took.
        stopped: whether the operator ended it before its time.
    """

    stretches: tuple[SoakStretch, ...]
    seconds: float
    stopped: bool = False

    @property
    def exposure_s(self) -> float:
        """Watched in all, whatever the condition; bounds are never drawn from it."""
        return math.fsum(stretch.exposure_s for stretch in self.stretches)

    @property
    def bounds(self) -> tuple[RateBound, ...]:
        """What it shows, each condition for itself."""
        return rate_bounds(stretch.exposed for stretch in self.stretches)
