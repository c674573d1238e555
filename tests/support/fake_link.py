"""A link whose far end is a function, on a clock that moves only while somebody waits."""

from collections import deque
from collections.abc import Callable

from commission.link.base import LinkLost
from tests.support.fake_time import FakeClock

Answers = Callable[[str], "bytes | None"]
LINE_S = 0.01


class FakeLink:
    """Answers every line sent with what the function says, one answer after the other, each `line_s` on the wire.

    Steer it by the function (None: no answer at all), by `say` (bytes that come by themselves) and by `lose` (the next
    call finds the pipe gone). `sent` holds every line; `speeds` every speed that was set; `closed` says whether it was
    let go.
    """

    def __init__(self, answers: Answers, clock: FakeClock, name: str = "fake", *, line_s: float = LINE_S) -> None:
        self.name = name
        self.sent: list[str] = []
        self.speeds: list[int] = []
        self.opened = 0
        self.lost = False
        self.closed = False
        self._answers = answers
        self._line_s = line_s
        self._free_s = 0.0
        self._clock = clock
        self._coming: deque[tuple[float, bytes]] = deque()

    def say(self, data: bytes, after_s: float = 0.0) -> None:
        """Let bytes come by themselves."""
        self._coming.append((self._clock.monotonic() + after_s, data))

    def lose(self) -> None:
        """Pull the plug."""
        self.lost = True

    async def open(self, speed_baud: int) -> None:
        """Remember the speed."""
        self.opened += 1
        self.lost = self.closed = False
        self.speeds.append(speed_baud)

    async def set_speed(self, speed_baud: int) -> None:
        """Remember the speed."""
        self.speeds.append(speed_baud)

    async def send(self, data: bytes) -> None:
        """Take one or more lines and think of the answers."""
        self._check()
        for line in data.decode("ascii").splitlines():
            self.sent.append(line)
            answer = self._answers(line)
            if answer is not None:
                self._free_s = max(self._free_s, self._clock.monotonic()) + self._line_s
                self._coming.append((self._free_s, answer))

    async def receive(self, timeout_s: float) -> bytes:
        """What comes within that time; the clock moves to the moment it comes, or by the whole time."""
        self._check()
        until_s = self._clock.monotonic() + timeout_s
        if self._coming and self._coming[0][0] <= until_s:
            at_s, data = self._coming.popleft()
            self._clock.elapsed_s = max(self._clock.elapsed_s, at_s)
            return data
        await self._clock.sleep(timeout_s)
        return b""

    async def close(self) -> None:
        """Remember that it was let go."""
        self.closed = True

    def _check(self) -> None:
        if self.lost:
            raise LinkLost(f"The port {self.name} is gone.", "Plug it in again.")
