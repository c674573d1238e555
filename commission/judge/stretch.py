"""The changes of a sensor of movement in one pass, and what they tell of the filament for one change.

What n changes over a length L tell is exact and needs no model of chance: between the first and the last change lie
n - 1 whole stretches, and before the first and after the last there is less than one each. So one stretch is longer
than L / (n + 1) and not longer than L / (n - 1). That the marks are measured to a few tenths widens it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from statistics import median

from commission.vocabulary import Reading

TOO_FAST = 2.0
"""With fewer readings than this from one change to the next a change may have been missed."""


@dataclass(frozen=True)
class Counted:
    """The changes of one pass.

    Attributes:
        changes: how often the reading changed.
        longest_gap_s: from one change to the next, the longest, in seconds; None with fewer than two.
        usual_gap_s: their median.
        shortest_gap_s: the shortest of them.
        reading_gap_s: the longest time between two known readings, from the first change to behind the last one.
    """

    changes: int
    longest_gap_s: float | None
    usual_gap_s: float | None
    shortest_gap_s: float | None
    reading_gap_s: float

    @property
    def too_fast(self) -> bool:
        """Whether changes came nearly as fast as readings, so that some may not have been seen."""
        return self.shortest_gap_s is not None and self.shortest_gap_s < TOO_FAST * self.reading_gap_s


def count(samples: Sequence[tuple[float, Reading]]) -> Counted:
    """Count the changes in readings, each with its moment in seconds; unknown ones are passed over."""
    known = [(at_s, reading) for at_s, reading in samples if reading is not Reading.UNKNOWN]
    moments = [later for (_, before), (later, after) in pairwise(known) if before is not after]
    gaps_s = [after - before for before, after in pairwise(moments)]
    first_s, last_s = (moments[0], moments[-1]) if moments else (-inf, inf)
    moved = [(before, after) for (before, _), (after, _) in pairwise(known) if after >= first_s and before <= last_s]
    read_s = [after - before for before, after in moved]
    return Counted(
        changes=len(moments),
        longest_gap_s=max(gaps_s, default=None),
        usual_gap_s=median(gaps_s) if gaps_s else None,
        shortest_gap_s=min(gaps_s, default=None),
        reading_gap_s=max(read_s, default=0.0),
    )


@dataclass(frozen=True)
class Stretch:
    """Filament for one change lies between these, in millimetres; `most_mm` is None where nothing bounds it."""

    least_mm: float
    most_mm: float | None

    @property
    def words(self) -> str:
        """It in words."""
        most = "more" if self.most_mm is None else f"{self.most_mm:.2f} mm"
        return f"{self.least_mm:.2f} mm to {most}"

    def holds(self, length_mm: float) -> bool:
        """Whether this length lies in it."""
        return self.least_mm <= length_mm and (self.most_mm is None or length_mm <= self.most_mm)


def stretch_of(changes: int, length_mm: float, error_mm: float) -> Stretch:
    """What that many changes over a length measured to within `error_mm` tell of the filament for one change."""
    most = (length_mm + error_mm) / (changes - 1) if changes > 1 else None
    return Stretch((length_mm - error_mm) / (changes + 1), most)


def together(stretches: Sequence[Stretch]) -> Stretch | None:
    """What all passes allow; None where they contradict each other, or there is none."""
    if not stretches:
        return None
    least = max(each.least_mm for each in stretches)
    bounds = [each.most_mm for each in stretches if each.most_mm is not None]
    most = min(bounds, default=None)
    return None if most is not None and most < least else Stretch(least, most)
