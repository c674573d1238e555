"""What the time is, and deadlines that know what remains."""

import time
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """A source of time. Rooms that wait or date something are handed one; none reads the time by itself."""

    def monotonic(self) -> float:
        """Seconds that only grow, from an arbitrary start."""
        ...

    def now(self) -> datetime:
        """The wall time, with its zone."""
        ...

    async def sleep(self, seconds: float) -> None:
        """Wait that long."""
        ...


class SystemClock:
    """The machine's own clock, in the local zone."""

    def monotonic(self) -> float:
        """Seconds that only grow, from an arbitrary start."""
        return time.monotonic()

    def now(self) -> datetime:
        """The wall time, with the local zone's offset."""
        return datetime.now(UTC).astimezone()

    async def sleep(self, seconds: float) -> None:
        """Wait that long."""
        import asyncio  # only here: much of the command line needs the time and never waits

        await asyncio.sleep(seconds)


def remaining_s(clock: Clock, at_s: float) -> float:
    """Seconds until that moment; never below zero, and zero for less than a microsecond: too little to wait for."""
    left_s = at_s - clock.monotonic()
    return left_s if left_s > 1e-6 else 0.0


@dataclass(frozen=True)
class Deadline:
    """A moment by which something must have happened.

    Attributes:
        clock: where the time comes from.
        at_s: the moment, in the clock's monotonic seconds.
    """

    clock: Clock
    at_s: float

    @classmethod
    def after(cls, clock: Clock, seconds: float) -> "Deadline":
        """The deadline that many seconds from now."""
        return cls(clock, clock.monotonic() + seconds)

    @property
    def remaining_s(self) -> float:
        """Seconds left, as `remaining_s` counts them."""
        return remaining_s(self.clock, self.at_s)

    @property
    def passed(self) -> bool:
        """Whether no time is left."""
        return self.remaining_s == 0.0
