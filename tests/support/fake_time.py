"""A clock that only moves when somebody waits on it."""

import asyncio
from datetime import UTC, datetime, timedelta

START = datetime(2031, 3, 14, 9, 26, 53, tzinfo=UTC)


class FakeClock:
    """Time stands still until `sleep` is called, or a fake link waits. Begins at 9:26:53 UTC on 14 March 2031."""

    def __init__(self) -> None:
        self.elapsed_s = 0.0

    def monotonic(self) -> float:
        """Seconds since the clock was made."""
        return self.elapsed_s

    def now(self) -> datetime:
        """The start plus what has passed."""
        return START + timedelta(seconds=self.elapsed_s)

    async def sleep(self, seconds: float) -> None:
        """Let that much time pass at once; others get their turn."""
        self.elapsed_s += max(0.0, seconds)
        await asyncio.sleep(0)
