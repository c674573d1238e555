"""What of a watch was really watched: only known readings count, and only the time between two that stand close.

A query that brought no reading of the switch saw nothing, and neither did the time around it. So every bound comes from
here: from known readings and from the exposure between them, never from the time that went by. The limits (half a
second, 19 of 21) are this project's choice.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from commission import units
from commission.judge.stability import Sample, glitch_sentence, rate_sentence, shortest_glitch_s, unwanted_changes
from commission.judge.wording import counted
from commission.vocabulary import Reading

GAP_LIMIT_S = 0.5
"""The time between two known readings that are further apart was not watched."""
PRINT_GAP_LIMIT_S = 1.5
"""The same beside a print, where at most one question a second is asked: it shows changes that last for a second."""
READ_SHARE = Fraction(19, 21)
"""The share of a dwell's readings that must be known; rounded up to whole readings."""
LONGEST = 2
"""A watch whose exposure is not reached goes on, but takes at most so many times its planned length."""
_ROUNDING_S = 1e-6


@dataclass(frozen=True)
class Watched:
    """A watch as it counts.

    Attributes:
        readings: those that are known.
        planned_s: the exposure that was planned, in seconds.
        exposure_s: time between known readings that stand at most half a second apart, in seconds.
        changes: times that a known reading differs from the known one before it, however long before.
        largest_gap_s: the longest time between two readings that counts as watched; 0 where none does.
        unread: queries that brought no reading of the switch.
        shortest_glitch_s: the shortest that was seen with 95 %; None where that was not worked out.
    """

    readings: int
    planned_s: float
    exposure_s: float
    changes: int
    largest_gap_s: float
    unread: int
    shortest_glitch_s: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.changes <= max(0, self.readings - 1) or not self.exposure_s >= 0 or self.unread < 0:
            raise ValueError(
                f"A watch of {self.readings} readings and {self.exposure_s} s cannot hold {self.changes} changes."
            )

    @property
    def complete(self) -> bool:
        """Whether what was planned was watched; a watch that was planned to take no time watched nothing."""
        return reached(self.exposure_s, self.planned_s)

    def sentences(self, confidence: float = 0.95) -> tuple[str, ...]:
        """What it says for a person, with its bounds; where too little was watched, that first."""
        if not self.exposure_s > 0:
            changed = f" {counted(self.changes, 'unwanted change')} all the same." if self.changes else ""
            return (f"Nothing was watched: {self._understood}.{changed}",)
        said = [rate_sentence(self.changes, self.exposure_s, confidence), *self._glitch]
        return tuple(said if self.complete else [self._short, *said])

    @property
    def per_s(self) -> float:
        """Known readings in a second of exposure; 0 without any."""
        return self.readings / self.exposure_s if self.exposure_s > 0 else 0.0

    @property
    def _glitch(self) -> tuple[str, ...]:
        if self.shortest_glitch_s is None:
            return ()
        return (glitch_sentence(self.per_s, self.shortest_glitch_s, self.largest_gap_s),)

    @property
    def _short(self) -> str:
        seen = f"Only {units.seconds(self.exposure_s)} of {units.seconds(self.planned_s)} were watched"
        return f"{seen}: {self._understood}. Time without readings does not count."

    @property
    def _understood(self) -> str:
        return f"{self.readings} of {counted(self.readings + self.unread, 'reading')} could be understood"


class Exposure:
    """The exposure of a watch that is under way, reading by reading.

    Args:
        limit_s: the time between two known readings that are further apart was not watched.

    Attributes:
        seconds: watched so far.
        known: readings that were known so far.
        gaps_s: the times between two of them that count.
    """

    def __init__(self, limit_s: float = GAP_LIMIT_S) -> None:
        self.seconds = 0.0
        self.known = 0
        self.gaps_s: list[float] = []
        self._limit_s = limit_s
        self._last_s: float | None = None

    def add(self, sample: Sample) -> None:
        """Take the next one, known or not."""
        if sample.reading is Reading.UNKNOWN:
            return
        if self._last_s is not None and _counts(sample.at_s - self._last_s, self._limit_s):
            self.gaps_s.append(sample.at_s - self._last_s)
            self.seconds += self.gaps_s[-1]
        self._last_s = sample.at_s
        self.known += 1


def reached(exposure_s: float, planned_s: float) -> bool:
    """Whether the planned exposure is there; one of no length never is."""
    return 0 < planned_s <= exposure_s + _ROUNDING_S


def exposure_s(samples: Sequence[Sample]) -> float:
    """Time between neighbouring known readings that are at most half a second apart; seconds."""
    return math.fsum(_watched_gaps(samples))


def watched_gap_s(samples: Sequence[Sample]) -> float:
    """The longest time between two readings that counts as watched; 0 where none does; seconds."""
    return max(_watched_gaps(samples), default=0.0)


def watched(samples: Sequence[Sample], planned_s: float) -> Watched:
    """The watch as it counts.

    Args:
        samples: every query in the order of time; one that brought nothing is unknown.
        planned_s: how long it was to be watched.
    """
    readings = [sample.reading for sample in samples]
    known = len(readings) - readings.count(Reading.UNKNOWN)
    gaps = tuple(_watched_gaps(samples))
    return Watched(
        readings=known,
        planned_s=planned_s,
        exposure_s=math.fsum(gaps),
        changes=unwanted_changes(readings),
        largest_gap_s=watched_gap_s(samples),
        unread=len(readings) - known,
        shortest_glitch_s=shortest_glitch_s(gaps) if sum(gaps) > 0 else None,
    )


def needed_readings(taken: int) -> int:
    """How many readings of a dwell of that length must be known: 19 of 21, the same share of any other, rounded up."""
    return math.ceil(READ_SHARE * taken)


def is_read(readings: Sequence[Reading]) -> bool:
    """Whether enough of a dwell is known; a dwell without readings is not."""
    known = len(readings) - readings.count(Reading.UNKNOWN)
    return known > 0 and known >= needed_readings(len(readings))


def _watched_gaps(samples: Sequence[Sample]) -> Iterator[float]:
    known = [sample.at_s for sample in samples if sample.reading is not Reading.UNKNOWN]
    gaps = (after - before for before, after in pairwise(known))
    return filter(_counts, gaps)


def _counts(gap_s: float, limit_s: float = GAP_LIMIT_S) -> bool:
    return 0 <= gap_s <= limit_s + _ROUNDING_S
