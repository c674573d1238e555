"""When something was written, by the clock that the benches share: a bench's own time, less what its clock was ahead.

How far it was ahead is known for the moments at which it was held against the shared clock, and between two of them
that agree. Between two that differ somebody set the clock, and nobody knows when: then either may hold, and both are
said. Before the first check the first one holds, behind the last the last.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

SLACK_US = 5_000_000
"""What a person at two benches in turn would not bring about, and a clock may drift between two checks."""


@dataclass(frozen=True)
class Offset:
    """A clock held against the shared one; all in microseconds, times since 1970.

    Attributes:
        at_us: when, by the shared clock.
        ahead_us: so far it was ahead; negative where it was behind.
        within_us: so far that can be off.
    """

    at_us: int
    ahead_us: int
    within_us: int


@dataclass(frozen=True)
class Possible:
    """When it can have been, by the shared clock, and when most likely: microseconds since 1970."""

    earliest_us: int
    latest_us: int
    likely_us: int


class BenchClock:
    """One bench's clock.

    Args:
        offsets: what was found of it, oldest first; not empty.
    """

    def __init__(self, offsets: Sequence[Offset]) -> None:
        self._offsets = tuple(offsets)
        self._edges = sorted(self._edges_of())

    def _edges_of(self) -> Iterator[int]:
        """Times of this clock from which on an offset holds, or holds no longer."""
        for index, offset in enumerate(self._offsets):
            if index:
                yield self._offsets[index - 1].at_us - SLACK_US + offset.ahead_us
            if index + 1 < len(self._offsets):
                yield self._offsets[index + 1].at_us + SLACK_US + offset.ahead_us + 1

    def possible(self, own_us: int) -> Possible | None:
        """When it was, from the time that this clock showed; None where that contradicts what was found of it."""
        found = [
            (own_us - offset.ahead_us, offset.within_us)
            for index, offset in enumerate(self._offsets)
            if self._holds(index, own_us - offset.ahead_us)
        ]
        if not found:
            return None
        earliest, latest = min(at - within for at, within in found), max(at + within for at, within in found)
        # a clock that was found wrong is set right soon: what was found afterwards held for longer
        return Possible(earliest, latest, found[-1][0])

    def corrects_alike(self, first_us: int, last_us: int) -> bool:
        """Whether the same was found of this clock for all times that it showed from the first to the last."""
        return bisect_right(self._edges, first_us) == bisect_right(self._edges, last_us)

    def _holds(self, index: int, at_us: int) -> bool:
        """Whether what was found then can hold at that time: from the check before to the check behind."""
        before = self._offsets[index - 1].at_us - SLACK_US if index else at_us
        behind = self._offsets[index + 1].at_us + SLACK_US if index + 1 < len(self._offsets) else at_us
        return before <= at_us <= behind


def may_be_later(one: Possible | None, other: Possible | None) -> bool:
    """Whether the one can have been after the other, by all that is known of both clocks."""
    return one is None or other is None or one.latest_us + SLACK_US >= other.earliest_us
