"""A whole command in simulated time, against a simulated printer whose time passes only as it is told to (`--stepped`).

    python tests/support/stepped_time.py HOST:PORT install bench-3 ...

carries out the command of the tool that follows. Nothing of the tool is replaced: it gets another clock, another event
loop and its own links in a wrapper, by the door it has for that (`main(obj=Surroundings(...))`). Process, port, bytes,
book, signals and the hands of its script are real ones; only a deed at the bench is done by a shell, not by Python.

Whenever the tool has nothing to do but wait, its loop does not sleep: it has the printer let that time pass, or less if
the printer says something before, and both go on from there. Work that takes real time (a thread, a process of the
hands, a port being opened) is waited for with both clocks standing still. So a run takes as long as its work, what
comes of it does not depend on how busy the machine is, and no time limit of the tool is met by a slow machine.

Each word with the printer wakes two processes. Where it said that nothing will happen at it for a while, the tool goes
on by itself, and the printer comes after before it gets a byte, before a process begins, and before long.
"""

import asyncio
import json
import re
import selectors
import shutil
import socket
import sys
import time
from collections.abc import Awaitable, Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.cli import main
from commission.cli.surroundings import Surroundings
from commission.link.base import Link, LinkLost
from commission.link.port import ResetLines, make_link
from tests.support.patience import PATIENCE_S

LAUNCHER = Path(__file__)
KILLED = '["{python}", "-c", "import os, signal; os.kill(os.getppid(), signal.SIGKILL)"]'
"""What a script says to have hands kill the very process they work for, at that moment."""
BYTES_PER_S = 1_920
"""What a wire at 19200 baud carries: without it a watch that reads as fast as it goes would take no time at all.

At 115200 it would be read six times as often, which takes six times the work and shows nothing more here. How fast
watches are is measured by the benchmarks, on paced wires.
"""
_ACKNOWLEDGED = re.compile(rb"^ok\b[^\n]*\n", re.MULTILINE)
"""Where an answer of most families ends."""
_UNDER_WAY_S = 0.001
_LEAST_S = 1e-6
"""A loop waits at least this long: after an hour, less than 5e-13 s would not move the printer on."""
_MOST_AHEAD_S = 0.25
"""So far behind may the printer be of a tool that is killed."""
_NO_PORT = -1
_BENCH = (sys.executable, "-m", "fake_printer.bench")
_ASKS = ("state", "received", "units")
_SHELL = shutil.which("bash") if sys.platform == "linux" else None
_DEED = """\
exec 3<>"/dev/tcp/${1%:*}/${1##*:}" || exit 2
shift
printf '%s\\n' "$*" >&3
read -r kind said <&3
printf '%s\\n' "$said"
[ "$kind" = ok ]
"""
"""What `fake_printer.bench` does with one deed."""
_T = TypeVar("_T")


def stepped(control: str, *words: str) -> list[str]:
    """The command line that carries out a command in the simulated time of the printer with this control socket."""
    return [sys.executable, str(LAUNCHER), control, *words]


class FakeTime:
    """Simulated time, shared with one simulated printer.

    Args:
        control: HOST:PORT of the printer's control socket.
        began: the wall time at the printer's start; the present one if left out.

    Attributes:
        now_s: the present moment, in seconds from the start of the process.
        sent_bytes, heard_bytes: what the tool has sent and got since it opened the port; less than none without one.
    """

    def __init__(self, control: str, began: datetime | None = None) -> None:
        host, _, port = control.rpartition(":")
        self.now_s = 0.0
        self.sent_bytes = self.heard_bytes = _NO_PORT
        self._said_bytes = 0
        self._quiet_s = self._ahead_s = 0.0
        self._began = began or datetime.now(UTC).astimezone()
        self._real_work = 0
        self._children: list[asyncio.SubprocessTransport] = []
        self._connection = socket.create_connection((host, int(port)), timeout=PATIENCE_S)
        self._bench = self._connection.makefile("rw", encoding="utf-8", newline="\n")
        # a run before this one, on the same printer, lies in the past
        self._began += timedelta(seconds=self._ask("state")["time_s"])

    @property
    def stands_still(self) -> bool:
        """Whether something goes on that takes real time, or bytes from the printer are still under way."""
        self._children = [each for each in self._children if each.get_returncode() is None]
        under_way = 0 <= self.heard_bytes < self._said_bytes
        return self._real_work > 0 or bool(self._children) or under_way

    def wall(self) -> datetime:
        """The wall time: when the process began, and what has passed since."""
        return self._began + timedelta(seconds=self.now_s)

    def wait_for_child(self, child: asyncio.SubprocessTransport) -> None:
        """Stand still until this process has ended."""
        self._children.append(child)

    @contextmanager
    def real_work(self) -> Iterator[None]:
        """Stand still for the length of a `with` block, with the printer at the same moment."""
        self.catch_up()
        self._real_work += 1
        try:
            yield
        finally:
            self._real_work -= 1

    def wait_for(self, future: "asyncio.Future[Any]") -> None:
        """Stand still until this is done."""
        self._real_work += 1
        future.add_done_callback(self._done)

    def _done(self, _: object) -> None:
        self._real_work -= 1

    def port_opened(self) -> None:
        """From here on every byte counts."""
        self.sent_bytes = self.heard_bytes = self._said_bytes = 0

    def port_gone(self) -> None:
        """What is under way will never come."""
        self.sent_bytes = self.heard_bytes = _NO_PORT

    def pass_time(self, seconds: float) -> bool:
        """Let so much time pass, or less if the printer says something before; false where it was not even asked."""
        seconds = max(seconds, _LEAST_S)
        if self._ahead_s + seconds < min(self._quiet_s, _MOST_AHEAD_S):
            self._ahead_s += seconds
            self.now_s += seconds
            return False
        self.catch_up()
        end_s = time.monotonic() + PATIENCE_S
        counts = f" {self.sent_bytes} {self.heard_bytes}" if self.heard_bytes >= 0 else ""
        while True:
            answer = self._ask(f"pass {seconds!r}{counts}")
            self.now_s += answer["passed_s"]
            self._said_bytes, self._quiet_s = answer["said_bytes"], answer["quiet_s"]
            if answer["passed_s"] > 0 or self._said_bytes > self.heard_bytes:
                return True
            if time.monotonic() > end_s:
                raise AssertionError(f"the simulated printer never got what was sent to it: {answer}")
            time.sleep(_UNDER_WAY_S)

    def catch_up(self) -> None:
        """Have the printer come to the moment that the tool has come to by itself; what happens next is not known."""
        if self._ahead_s > 0:
            self._ask(f"pass {self._ahead_s!r}")
        self._quiet_s = self._ahead_s = 0.0

    def close(self) -> None:
        """Let go of the bench, and of the printer at the same moment; one that has ended has no time left."""
        with suppress(OSError, ValueError):
            self.catch_up()
        with suppress(OSError):
            self._bench.close()
        self._connection.close()

    def _ask(self, line: str) -> Mapping[str, Any]:
        self._bench.write(line + "\n")
        self._bench.flush()
        answer: Mapping[str, Any] = json.loads(self._bench.readline())
        return answer


class FakeClock:
    """The tool's clock on simulated time."""

    def __init__(self, fake_time: FakeTime) -> None:
        self._time = fake_time

    def monotonic(self) -> float:
        """Seconds from the start of the process."""
        return self._time.now_s

    def now(self) -> datetime:
        """The wall time."""
        return self._time.wall()

    async def sleep(self, seconds: float) -> None:
        """Wait that long, in the loop's time, which is the simulated one."""
        await asyncio.sleep(seconds)


class SteppedSelector(selectors.DefaultSelector):
    """Has time pass where an event loop would sleep."""

    def __init__(self, fake_time: FakeTime) -> None:
        super().__init__()
        self._time = fake_time

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """What is ready. Where nothing is, time passes at once; where work goes on, it is waited for."""
        ready = super().select(0)
        if ready or (timeout is not None and timeout <= 0):
            return ready
        if timeout is None or self._time.stands_still:
            return super().select(None)
        return super().select(0) if self._time.pass_time(timeout) else ready


class SteppedLoop(asyncio.SelectorEventLoop):
    """An event loop in simulated time."""

    def __init__(self, fake_time: FakeTime) -> None:
        self._fake_time = fake_time
        super().__init__(SteppedSelector(fake_time))

    def time(self) -> float:
        """The simulated moment."""
        return self._fake_time.now_s

    def run_in_executor(  # type: ignore[override]  # the arguments are handed on as they come
        self, executor: Any, func: Callable[..., _T], *args: Any
    ) -> "asyncio.Future[_T]":
        """As usual, with time standing still until it is done."""
        future = super().run_in_executor(executor, func, *args)
        self._fake_time.wait_for(future)
        return future

    async def subprocess_exec(self, *args: Any, **options: Any) -> Any:
        """As usual, with time standing still until the process has ended."""
        made, *words = args
        with self._fake_time.real_work():
            transport, protocol = await super().subprocess_exec(made, *quick(words), **options)
        self._fake_time.wait_for_child(transport)
        return transport, protocol


def quick(words: Sequence[str]) -> Sequence[str]:
    """A deed at the bench as a process that starts in a tenth of the time; anything else as it is."""
    plain = all(word.replace("-", "").replace(".", "").isalnum() for word in words[4:])
    if _SHELL is None or (*words[:3],) != _BENCH or len(words) < 5 or not plain or words[-1] in _ASKS:
        return words
    return (_SHELL, "-c", _DEED, _SHELL, *words[3:])


class SteppedLink:
    """One of the tool's own links, with every byte counted; what takes real time is done while time stands still."""

    def __init__(self, link: Link, fake_time: FakeTime) -> None:
        self.name = link.name
        self._link = link
        self._time = fake_time
        self._got = bytearray()
        self._news = asyncio.Event()
        self._lost: LinkLost | None = None
        self._listening: asyncio.Task[None] | None = None

    async def open(self, speed_baud: int) -> None:
        """Open the port, and listen from then on."""
        await self._still(self._link.open(speed_baud))
        self._got.clear()
        self._lost = None
        self._time.port_opened()
        self._listening = asyncio.create_task(self._listen())

    async def set_speed(self, speed_baud: int) -> None:
        """Change the speed of the open port."""
        await self._still(self._link.set_speed(speed_baud))

    async def send(self, data: bytes) -> None:
        """Hand the bytes over."""
        await self._still(self._link.send(data))
        self._time.sent_bytes += len(data)

    async def receive(self, timeout_s: float) -> bytes:
        """What has come, waiting in simulated time."""
        if not self._got and self._lost is None:
            self._news.clear()
            with suppress(TimeoutError):
                async with asyncio.timeout(max(0.0, timeout_s)):
                    await self._news.wait()
        if self._lost is not None and not self._got:
            raise self._lost
        acknowledged = _ACKNOWLEDGED.search(self._got)  # one answer after the other, each in its own time
        end = acknowledged.end() if acknowledged else len(self._got)
        await asyncio.sleep(end / BYTES_PER_S)
        data = bytes(self._got[:end])
        del self._got[:end]
        return data

    async def close(self) -> None:
        """Let go of the port."""
        if self._listening is not None:
            self._listening.cancel()
            await asyncio.wait({self._listening})
            self._listening = None
        self._time.port_gone()
        await self._still(self._link.close())

    async def _listen(self) -> None:
        try:
            while True:
                data = await self._link.receive(PATIENCE_S)
                self._time.heard_bytes += len(data)
                self._got += data
                self._news.set()
        except LinkLost as lost:
            self._lost = lost
            self._time.port_gone()
            self._news.set()

    async def _still(self, work: Awaitable[None]) -> None:
        with self._time.real_work():
            await work


@contextmanager
def fake_time_of(control: str, made: Callable[[str], FakeTime] = FakeTime) -> Iterator[FakeTime]:
    """The time of the printer with this control socket, for the length of a `with` block."""
    fake_time = made(control)
    try:
        yield fake_time
    finally:
        fake_time.close()


@contextmanager
def stepped_surroundings(control: str, made: Callable[[str], FakeTime] = FakeTime) -> Iterator[Surroundings]:
    """What a run in simulated time finds around it; for one command that is carried out in this process."""
    with fake_time_of(control, made) as fake_time:
        yield _surroundings(fake_time)


def _surroundings(fake_time: FakeTime) -> Surroundings:

    def stepped_link(address: str, *, reset: ResetLines) -> Link:
        return SteppedLink(make_link(address, reset=reset), fake_time)

    return Surroundings(FakeClock(fake_time), stepped_link, lambda: SteppedLoop(fake_time))


if __name__ == "__main__":
    with stepped_surroundings(sys.argv[1]) as simulated:
        main(args=sys.argv[2:], prog_name="commission", obj=simulated)
