"""Stand-ins for what a desk stands on: time, a terminal's screen, a text stream that can be lost."""

import asyncio
import io
from collections.abc import Callable
from datetime import UTC, datetime

import pyte
from prompt_toolkit.data_structures import Size
from prompt_toolkit.output.vt100 import Vt100_Output


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


class FakeOut(io.StringIO):
    """A stream that says it is a terminal. Set `lost` and it takes nothing any more, as after a hang-up."""

    lost = False

    def isatty(self) -> bool:
        """Yes, always."""
        return True

    def write(self, text: str) -> int:
        """Keep the text, or fail as a terminal does that is gone."""
        if self.lost:
            raise OSError(5, "Input/output error")
        return super().write(text)


class FakeTerminal(FakeOut):
    """A terminal emulator behind a stream: `screen` is what a person sees, `written` what was sent."""

    encoding = "utf-8"

    def __init__(self, columns: int = 80, rows: int = 24) -> None:
        super().__init__()
        self._emulated = pyte.Screen(columns, rows)
        self._stream = pyte.Stream(self._emulated)
        self.output = Vt100_Output(
            self, lambda: Size(rows=rows, columns=columns), term="xterm", enable_cpr=True, enable_bell=True
        )

    def write(self, text: str) -> int:
        """Draw it; as a terminal driver does, a line feed also returns to the first column."""
        self._stream.feed(text.replace("\n", "\r\n"))
        return super().write(text)

    @property
    def written(self) -> str:
        """All bytes sent, as text."""
        return self.getvalue()

    @property
    def screen(self) -> str:
        """The screen without blank ends."""
        return "\n".join(line.rstrip() for line in self._emulated.display).rstrip()


async def until(condition: Callable[[], bool]) -> None:
    """Let the loop run until the condition holds; gives up after about four seconds."""
    for _ in range(800):
        if condition():
            return
        await asyncio.sleep(0.005)
    raise AssertionError("It did not happen")
