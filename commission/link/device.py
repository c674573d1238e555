"""A link over a serial device that the event loop can wait for. Opening and attaching are handed in by `port`."""

import asyncio
import contextlib
import sys
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path
from typing import Protocol

from commission.link.base import LinkError
from commission.link.blocking import in_thread
from commission.link.streaming import SEND_LIMIT_S, Endpoint, Report, StreamLink
from commission.link.troubles import TROUBLES, opening_error, speed_error


class QuietPort(Protocol):
    """An open device whose failed writes are told to a listener and which is closed by let_go only."""

    notes: list[str]
    on_write_failed: Callable[[BaseException], None] | None

    def set_speed(self, speed_baud: int) -> None:
        """Change the speed; may block for some milliseconds."""
        ...

    def write(self, data: bytes) -> int | None:
        """Hand over what the system takes at once; returns how many bytes. BlockingIOError where it takes none."""
        ...

    def let_go(self) -> None:
        """Close the file; any thread, any number of times, never raises."""
        ...


class Device(Protocol):
    """How `port` opens one device; every call may fail with one of TROUBLES."""

    def open(self, speed_baud: int) -> QuietPort:
        """Open for this process alone; may block."""
        ...

    def attach(self, port: QuietPort, endpoint: Endpoint) -> Awaitable[asyncio.Transport]:
        """Give the open port to the event loop."""
        ...

    def present(self) -> Sequence[str]:
        """Devices that could be meant, for the advice when this one is missing."""
        ...


class DeviceLink(StreamLink):
    """A Link over a serial device."""

    def __init__(self, name: str, device: Device, report: Report, *, send_limit_s: float = SEND_LIMIT_S) -> None:
        super().__init__(name, report, send_limit_s=send_limit_s)
        self._device = device
        self._port: QuietPort | None = None

    async def set_speed(self, speed_baud: int) -> None:
        """Change the speed of the open pipe; see Link."""
        endpoint, _ = self._opened()
        endpoint.inbox.check()
        port = self._port
        assert port is not None  # noqa: S101 - set whenever the link is open
        try:
            await in_thread(lambda: port.set_speed(speed_baud))
        except TROUBLES as error:
            endpoint.inbox.check()
            raise speed_error(self._name, speed_baud, error) from error
        self._report(f"speed of {self._name} set to {speed_baud} baud")

    def _write(self, transport: asyncio.Transport, data: bytes) -> None:
        """Without the transport where the system takes it all: that waits two turns of the loop for every write."""
        port, taken = self._port, 0
        if port is not None and not transport.get_write_buffer_size() and not transport.is_closing():
            with contextlib.suppress(BlockingIOError, InterruptedError):
                taken = port.write(data) or 0
        if taken < len(data):
            transport.write(data[taken:])

    async def _connect(self, endpoint: Endpoint, speed_baud: int) -> asyncio.Transport:
        try:
            port = await in_thread(lambda: self._device.open(speed_baud), abandoned=lambda late: late.let_go())
        except TROUBLES as error:
            raise self._opening_error(error, speed_baud) from error
        port.on_write_failed = endpoint.write_failed
        try:
            transport = await self._device.attach(port, endpoint)
        except TROUBLES as error:
            port.let_go()
            raise self._opening_error(error, speed_baud) from error
        endpoint.on_gone = lambda: in_thread(port.let_go)
        self._port = port
        for note in port.notes:
            self._report(note)
        return transport

    def _opening_error(self, cause: Exception, speed_baud: int) -> LinkError:
        present, group = self._device.present(), _group_of(self._name)
        return opening_error(self._name, cause, speed_baud=speed_baud, ports_now=present, group=group)


def _group_of(path: str) -> str:
    """The group that may open the device; empty when the system does not say."""
    if sys.platform != "win32":  # there no group stands behind a port
        with contextlib.suppress(OSError, KeyError):
            return Path(path).group()
    return ""
