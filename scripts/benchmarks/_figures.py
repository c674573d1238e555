"""One figure of a benchmark beside the baseline that was measured in the same run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """What was measured, and against what.

    Attributes:
        what: in words.
        value: the figure.
        unit: of it and of its baseline.
        baseline: what it is compared with, in words.
        against: the baseline's figure of the same run.
    """

    what: str
    value: float
    unit: str
    baseline: str
    against: float

    @property
    def ratio(self) -> float:
        """The figure as a multiple of its baseline; not a number where that is 0."""
        return self.value / self.against if self.against else math.nan


@dataclass(frozen=True)
class Size:
    """How much is measured; the quick one takes under two minutes for everything on a quiet machine."""

    readings: int
    watch_s: float
    starts: int
    edges: int
    entries: int
    reading_count: int
    runs: tuple[int, ...]
    hands: int
    printers: int


WHOLE = Size(1_500, 20.0, 10, 200, 2_000, 100_000, (100, 1_000, 10_000), 500, 100)
QUICK = Size(300, 4.0, 3, 40, 300, 100_000, (100, 1_000), 60, 20)
TINY = Size(20, 1.0, 1, 4, 10, 200, (10,), 3, 2)
"""For the suite: whether every part still runs, and says what it says."""


def quantile(values: Sequence[float], share: float) -> float:
    """The value that this share of them does not exceed (nearest rank); not a number for none."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)] if ordered else math.nan
