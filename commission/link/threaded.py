"""A link over a port that can only be used by blocking calls, read by a thread of its own.

Needed for RFC 2217, whose client has no file to wait on, and for the device names of Windows, whose event loop cannot
wait for them.
"""

import asyncio
import contextlib
import threading
from collections.abc import Callable
from typing import Protocol

from commission.link.base import PortBusy
from commission.link.blocking import in_thread
from commission.link.inbox import Inbox, never_opened
from commission.link.streaming import SEND_LIMIT_S, Report
from commission.link.troubles import TROUBLES, Loss, closed, loss_of, opening_error, speed_error, stalled

STUCK_S = 1.5  # a reading thread looks up every tenth of a second; the RFC 2217 client takes 0.3 to 0.5 s to close
CLOSE_LIMIT_S = 3.0  # the RFC 2217 client alone takes 0.3 to 0.5 s


class BlockingPort(Protocol):
    """An open port whose every call may block and fails with one of TROUBLES."""

    notes: list[str]

    def receive(self) -> bytes:
        """Whatever has come, waiting a fraction of a second at most; empty when nothing came."""
        ...

    def send(self, data: bytes) -> None:
        """Send all of it."""
        ...

    def set_speed(self, speed_baud: int) -> None:
        """Change the speed."""
        ...

    def let_go(self) -> None:
        """Close; may be called from another thread while a receive is waiting. Never raises."""
        ...


Opener = Callable[[int], BlockingPort]


class _Reader:
    """The thread that reads one open port into an inbox until it is told to stop or the port fails."""

    def __init__(self, name: str, port: BlockingPort, report: Report) -> None:
        self.inbox = Inbox()
        self.port = port
        self._name = name
        self._report = report
        self._loop = asyncio.get_running_loop()
        self._stopped = threading.Event()
        self._room = threading.Event()
        self._room.set()
        self._thread = threading.Thread(target=self._run, name="commission-link-reader", daemon=True)
        self._thread.start()

    async def take(self, timeout_s: float) -> bytes:
        data = await self.inbox.take(timeout_s)
        self._room.set()
        return data

    def stop(self, loss: Loss) -> None:
        """Let the thread end and tell everyone who waits."""
        self.inbox.end(loss)
        self._stopped.set()
        self._room.set()

    def finish(self) -> None:
        """Wait for the thread, which closes the port; blocks. Over a stuck one's head it is closed here."""
        self._thread.join(STUCK_S)
        self.port.let_go()

    def _run(self) -> None:
        cause: Exception | None = None
        try:
            while not self._stopped.is_set():
                self._room.wait()
                if data := self.port.receive():
                    self._tell(self._put, data)
        except TROUBLES as error:
            cause = error
        finally:  # whatever ended it, nobody may wait on for bytes that cannot come
            self._tell(self._lose, cause)
            self.port.let_go()

    def _put(self, data: bytes) -> None:
        self.inbox.put(data)
        if self.inbox.full:
            self._room.clear()

    def _lose(self, cause: Exception | None) -> None:
        if not self.inbox.lost:
            self._report(f"connection to {self._name} lost")
        self.inbox.end(loss_of(self._name, cause))

    def _tell(self, call: Callable[..., None], argument: object) -> None:
        try:
            self._loop.call_soon_threadsafe(call, argument)
        except RuntimeError:  # the loop has ended without closing the link: there is nobody left to tell
            self._stopped.set()


class ThreadLink:
    """A Link over a blocking port."""

    def __init__(
        self,
        name: str,
        opener: Opener,
        report: Report,
        *,
        send_limit_s: float = SEND_LIMIT_S,
    ) -> None:
        self._name = name
        self._opener = opener
        self._report = report
        self._send_limit_s = send_limit_s
        self._reader: _Reader | None = None
        self._one_at_a_time = threading.Lock()

    @property
    def name(self) -> str:
        """The port as the operator wrote it."""
        return self._name

    async def open(self, speed_baud: int) -> None:
        """Open the pipe for this process alone; see Link."""
        if self._reader is not None:
            raise PortBusy(f"This link to {self._name} is already open.", "Close it before opening it again.")
        try:
            port = await in_thread(lambda: self._opener(speed_baud), abandoned=lambda late: late.let_go())
        except TROUBLES as error:
            raise opening_error(self._name, error, speed_baud=speed_baud) from error
        self._reader = _Reader(self._name, port, self._report)
        for note in port.notes:
            self._report(note)
        self._report(f"opened {self._name} at {speed_baud} baud; opening may have restarted the board")

    async def set_speed(self, speed_baud: int) -> None:
        """Change the speed of the open pipe; see Link."""
        reader = self._opened()
        reader.inbox.check()
        try:
            await in_thread(lambda: reader.port.set_speed(speed_baud))
        except TROUBLES as error:
            reader.inbox.check()
            raise speed_error(self._name, speed_baud, error) from error
        self._report(f"speed of {self._name} set to {speed_baud} baud")

    async def send(self, data: bytes) -> None:
        """Hand the bytes over; see Link."""
        reader = self._opened()
        reader.inbox.check()
        try:
            async with asyncio.timeout(self._send_limit_s):
                await in_thread(lambda: self._send(reader.port, data))
        except TimeoutError:
            reader.stop(stalled(self._name, self._send_limit_s))
        except TROUBLES as error:
            reader.stop(loss_of(self._name, error))
        reader.inbox.check()

    async def receive(self, timeout_s: float) -> bytes:
        """All bytes that have come; see Link."""
        return await self._opened().take(timeout_s)

    async def close(self) -> None:
        """Let go of the pipe; see Link."""
        reader, self._reader = self._reader, None
        if reader is None:
            return
        reader.stop(closed(self._name))
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(CLOSE_LIMIT_S):
                await in_thread(reader.finish)
        self._report(f"closed {self._name}")

    def _opened(self) -> _Reader:
        if self._reader is None:
            raise never_opened(self._name)
        return self._reader

    def _send(self, port: BlockingPort, data: bytes) -> None:
        # a send that was given up may still be in its thread: the next one waits for it, so that bytes never mix
        with self._one_at_a_time:
            port.send(data)
