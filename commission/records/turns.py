"""The turns of one chain: the entries by whose times it is put in order among the chains of other benches.

Of 50,000 runs there are 100,000 turns, and of few of them the time is ever asked for. Where the times of a stretch
ascend, and the bench's clock is corrected alike in all of it, each turn has its own time, and that is worked out when
it is asked for.
"""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime
from itertools import islice
from operator import lt

from commission.evidence.entry import moment
from commission.records.bench_clock import BenchClock, Possible

AT_ONCE = 256
"""Turns that are looked at together."""


class Turns:
    """The turns of one chain: numbers of its entries, in order, each with its own time and that by which it is ordered.

    Args:
        clock: of the bench, by which the times are corrected; None where they are not.

    Attributes:
        numbers: of the entries, in the chain.
    """

    def __init__(self, clock: BenchClock | None = None) -> None:
        self.numbers: list[int] = []
        self._clock = clock
        self._moments: list[datetime] = []
        self._times_us: list[int | None] = []  # none: it has its own time, and was not asked for yet
        self._last_us = 1

    def take(self, turns: Sequence[tuple[int, str]]) -> None:
        """Take turns that came since, in order: number and time; those that are known are passed over."""
        last = self.numbers[-1] if self.numbers else 0
        new = [turn for turn in turns if turn[0] > last]
        for begin in range(0, len(new), AT_ONCE):
            some = new[begin : begin + AT_ONCE]
            moments = [moment(at) for _, at in some]
            times = self._own(moments) or self._one_by_one(moments)
            # the times first: another thread may look a number up meanwhile
            self._moments += moments
            self._times_us += times
            self.numbers += [number for number, _ in some]

    def _own(self, moments: Sequence[datetime]) -> list[int | None]:
        """None for each turn, where each has its own time; empty where not."""
        if not all(map(lt, moments, islice(moments, 1, None))):
            return []
        first, last = _own_us(moments[0]), _own_us(moments[-1])
        alike = self._clock is None or self._clock.corrects_alike(first, last)
        if not alike or self._likely(first) <= self._last_us:
            return []
        self._last_us = self._likely(last)
        return [None] * len(moments)

    def _one_by_one(self, moments: Sequence[datetime]) -> list[int | None]:
        """A clock that was set back brings no entry before an earlier one."""
        found: list[int | None] = []
        for each in moments:
            self._last_us = max(self._last_us + 1, self._likely(_own_us(each)))
            found.append(self._last_us)
        return found

    def _likely(self, own_us: int) -> int:
        found = None if self._clock is None else self._clock.possible(own_us)
        return own_us if found is None else found.likely_us

    def at(self, number: int) -> int:
        """The time that orders that entry, in microseconds: of the last turn up to it; 1 before the first."""
        index = bisect_right(self.numbers, number) - 1
        if index < 0:
            return 1
        found = self._times_us[index]
        if found is None:
            found = self._times_us[index] = self._likely(_own_us(self._moments[index]))
        return found

    def possible(self, number: int) -> Possible | None:
        """When its turn can have been; None where the clock is not known."""
        index = bisect_right(self.numbers, number) - 1
        return self._clock.possible(_own_us(self._moments[index])) if self._clock is not None and index >= 0 else None


def _own_us(at: datetime) -> int:
    return round(at.timestamp() * 1e6)
