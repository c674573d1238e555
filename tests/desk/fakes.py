"""A clock for desks under test."""

import asyncio
from datetime import UTC, datetime


class FakeClock:
    """Time that passes only by sleeping; `slept` keeps what was asked for."""

    def __init__(self) -> None:
        self.slept: list[float] = []

    def monotonic(self) -> float:
        """The sum of all sleeps."""
        return sum(self.slept)

    def now(self) -> datetime:
        """A fixed day."""
        return datetime(2030, 5, 6, 7, 8, tzinfo=UTC)

    async def sleep(self, seconds: float) -> None:
        """Let the others run once, and count the time."""
        self.slept.append(seconds)
        await asyncio.sleep(0)
