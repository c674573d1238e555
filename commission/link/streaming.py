"""A link over an asyncio transport: what the serial device and the plain network port have in common.

Order of events: open → transport and endpoint exist; bytes go from the endpoint into the inbox; the endpoint learns of
the loss once, whatever caused it, and tells everyone who waits. Closing gives unsent bytes a short grace, then aborts:
a transport's own close waits for a stalled far end without limit.
"""

import asyncio
import contextlib
from collections.abc import Callable

from commission.link.base import PortBusy
from commission.link.inbox import Inbox, never_opened
from commission.link.troubles import Loss, closed, loss_of, stalled

SEND_LIMIT_S = (
    10.0  # a command is below 100 bytes and leaves within 0.1 s even at 9600 baud: this long is stuck, not slow
)
CLOSE_GRACE_S = 0.25  # what was handed over just before (a make-safe command) still leaves: 2.8 kB at 115200 baud
CLOSE_LIMIT_S = 2.0  # after this the port is left to its thread; nobody waits for a driver that does not return

Report = Callable[[str], None]


class Endpoint(asyncio.Protocol):
    """Our end of a transport.

    Attributes:
        asked: whether anything was sent.
    """

    def __init__(self, name: str, report: Report) -> None:
        self.asked = False
        self.inbox = Inbox()
        self.gone = asyncio.Event()
        self.on_gone: Callable[[], asyncio.Future[None]] | None = None
        self.let_go: asyncio.Future[None] | None = None
        self._name = name
        self._report = report
        self._writable = asyncio.Event()
        self._writable.set()
        self._transport: asyncio.Transport | None = None
        self._aborted = False

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Take note of the transport; the first thing asyncio does."""
        assert isinstance(transport, asyncio.Transport)  # noqa: S101 - narrows the type; no other kind is ever made here
        self._transport = transport

    def data_received(self, data: bytes) -> None:
        """Keep the bytes, and let the wire wait when far too many lie unread."""
        self.inbox.put(data)
        if self.inbox.full and self._transport is not None and not self._transport.is_closing():
            self._transport.pause_reading()

    def connection_lost(self, exc: Exception | None) -> None:
        """Tell everyone who waits that the pipe is gone."""
        self._lose(exc)
        self._writable.set()
        # at once, not when somebody closes: a device that is still held open comes back under another name
        self.let_go = self.on_gone() if self.on_gone is not None else None
        self.gone.set()

    def write_failed(self, cause: BaseException) -> None:
        """Take a failed write as the loss; the transport is ended in the next turn, when it has finished this one."""
        self._lose(cause)
        asyncio.get_running_loop().call_soon(self.abort)

    def _lose(self, cause: BaseException | None) -> None:
        if not self.inbox.lost:
            self._report(f"connection to {self._name} lost")
        self.inbox.end(self.loss(cause))

    def loss(self, cause: BaseException | None) -> Loss:
        """What the end of the pipe is to whoever uses it."""
        return loss_of(self._name, cause)

    def pause_writing(self) -> None:
        """Bytes lie unsent."""
        self._writable.clear()

    def resume_writing(self) -> None:
        """All bytes have been handed to the system."""
        self._writable.set()

    async def take(self, timeout_s: float) -> bytes:
        """What has come; reading goes on as soon as there is room."""
        data = await self.inbox.take(timeout_s)
        if self._transport is not None and not self._transport.is_closing():
            self._transport.resume_reading()
        return data

    async def flushed(self, limit_s: float) -> bool:
        """Wait until all bytes were handed over or the pipe is gone; False when the limit passed before that."""
        if not self._writable.is_set():
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(limit_s):
                    await self._writable.wait()
        return self._writable.is_set()

    def abort(self, loss: Loss | None = None) -> None:
        """End the connection now and once: the serial transport fails when it is ended a second time."""
        if loss is not None:
            self.inbox.end(loss)
        transport = self._transport
        if transport is None or self._aborted or self.gone.is_set():
            return
        # closing with an empty buffer means that the transport is already on its way to connection_lost
        if not transport.is_closing() or transport.get_write_buffer_size():
            self._aborted = True
            transport.abort()


class StreamLink:
    """A Link over a transport. Kinds of it say how to connect and how to change the speed."""

    def __init__(self, name: str, report: Report, *, send_limit_s: float = SEND_LIMIT_S) -> None:
        self._name = name
        self._report = report
        self._send_limit_s = send_limit_s
        self._endpoint: Endpoint | None = None
        self._transport: asyncio.Transport | None = None

    @property
    def name(self) -> str:
        """The port as the operator wrote it."""
        return self._name

    async def open(self, speed_baud: int) -> None:
        """Open the pipe for this process alone; see Link."""
        if self._endpoint is not None:
            raise PortBusy(f"This link to {self._name} is already open.", "Close it before opening it again.")
        endpoint = self._end()
        transport = await self._connect(endpoint, speed_baud)
        endpoint.connection_made(transport)  # the serial transport says so one turn later: too late for a quick close
        # "handed over" is to mean that the system has the bytes, not that they lie in a buffer of ours
        transport.set_write_buffer_limits(high=0)
        self._endpoint, self._transport = endpoint, transport
        self._report(f"opened {self._name} at {speed_baud} baud; opening may have restarted the board")

    async def send(self, data: bytes) -> None:
        """Hand the bytes over; see Link."""
        endpoint, transport = self._opened()
        endpoint.inbox.check()
        endpoint.asked = True
        self._write(transport, data)
        if not await endpoint.flushed(self._send_limit_s):
            endpoint.abort(stalled(self._name, self._send_limit_s))
        endpoint.inbox.check()

    async def receive(self, timeout_s: float) -> bytes:
        """All bytes that have come; see Link."""
        endpoint, _ = self._opened()
        return await endpoint.take(timeout_s)

    async def close(self) -> None:
        """Let go of the pipe; see Link."""
        endpoint, self._endpoint, self._transport = self._endpoint, None, None
        if endpoint is None:
            return
        await endpoint.flushed(CLOSE_GRACE_S)
        endpoint.abort(closed(self._name))
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(CLOSE_LIMIT_S):
                await endpoint.gone.wait()
                if endpoint.let_go is not None:
                    await endpoint.let_go
        self._report(f"closed {self._name}")

    def _write(self, transport: asyncio.Transport, data: bytes) -> None:
        """Write what can be written at once; the transport keeps the rest."""
        transport.write(data)

    def _end(self) -> Endpoint:
        """Our end of a connection that is going to be made."""
        return Endpoint(self._name, self._report)

    def _opened(self) -> tuple[Endpoint, asyncio.Transport]:
        if self._endpoint is None or self._transport is None:
            raise never_opened(self._name)
        return self._endpoint, self._transport

    async def _connect(self, endpoint: Endpoint, speed_baud: int) -> asyncio.Transport:
        """Open what lies below.

        Raises:
            LinkError: it could not be opened; already the link's own error.
        """
        raise NotImplementedError
