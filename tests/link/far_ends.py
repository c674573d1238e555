"""Far ends to try links on: each plays the printer's side of one kind of wire, on this machine only."""

import asyncio
import os
import socket
import tty
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from serial.rfc2217 import PortManager

from tests.support.patience import PATIENCE_S


async def until(condition: Callable[[], bool]) -> None:
    """Wait until the condition holds, PATIENCE_S at most; for what no event tells, such as a thread that ends."""
    for _ in range(int(PATIENCE_S / 0.002)):
        if condition():
            return
        await asyncio.sleep(0.002)


class FarEnd(Protocol):
    """What a test can have the far end do."""

    address: str

    async def start(self) -> None:
        """Be reachable under `address`."""
        ...

    async def hear(self, count: int) -> bytes:
        """The next `count` bytes that arrive."""
        ...

    async def say(self, data: bytes) -> None:
        """Send bytes to the link."""
        ...

    def stall(self) -> None:
        """Take no more bytes, without hanging up."""
        ...

    async def vanish(self) -> None:
        """Be unplugged."""
        ...

    async def stop(self) -> None:
        """Leave nothing behind."""
        ...


class FakePtyFarEnd:
    """The board behind a device name: the master side of a pseudo-terminal. `vanish` closes it: a hang-up."""

    def __init__(self, folder: Path) -> None:
        self.address = str(folder / "board")
        self._master = -1
        self._slave = -1

    async def start(self) -> None:
        """Be reachable under `address`."""
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self._unlink()
        self._link()

    async def hear(self, count: int) -> bytes:
        """The next `count` bytes that arrive."""
        heard = bytearray()
        while len(heard) < count:
            await _ready(self._master, write=False)
            heard += os.read(self._master, count - len(heard))
        return bytes(heard)

    async def say(self, data: bytes) -> None:
        """Send bytes to the link."""
        while data:
            await _ready(self._master, write=True)
            data = data[os.write(self._master, data[:4096]) :]

    def stall(self) -> None:
        """Take no more bytes: this far end reads only when it is made to hear."""

    async def vanish(self) -> None:
        """Be unplugged."""
        for handle in (self._master, self._slave):
            if handle >= 0:
                os.close(handle)
        self._master = self._slave = -1
        self._unlink()

    def _link(self) -> None:
        Path(self.address).symlink_to(os.ttyname(self._slave))

    def _unlink(self) -> None:
        Path(self.address).unlink(missing_ok=True)

    async def stop(self) -> None:
        """Leave nothing behind."""
        await self.vanish()


async def _ready(handle: int, *, write: bool) -> None:
    loop = asyncio.get_running_loop()
    ready = asyncio.Event()
    add, remove = (loop.add_writer, loop.remove_writer) if write else (loop.add_reader, loop.remove_reader)
    add(handle, ready.set)
    try:
        async with asyncio.timeout(PATIENCE_S):
            await ready.wait()
    finally:
        remove(handle)


class FakeSocketFarEnd:
    """The board behind a plain network port, one client at a time."""

    scheme = "socket"

    def __init__(self) -> None:
        self.address = ""
        self._server: asyncio.Server | None = None
        self._heard = asyncio.StreamReader()
        self._writer: asyncio.StreamWriter | None = None
        self._met = asyncio.Event()

    async def start(self) -> None:
        """Be reachable under `address`."""
        listener = socket.socket()
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)  # so that a stall is reached soon
        listener.bind(("127.0.0.1", 0))
        self._server = await asyncio.start_server(self._meet, sock=listener)
        self.address = f"{self.scheme}://127.0.0.1:{self._server.sockets[0].getsockname()[1]}"

    async def _meet(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._writer = writer
        self.greet(writer)
        self._met.set()
        try:
            while data := await reader.read(4096):
                self._heard.feed_data(self.understand(data))
        except OSError:
            pass  # the link ended the connection: what a far end sees when the test closes it
        finally:
            writer.transport.abort()

    def greet(self, writer: asyncio.StreamWriter) -> None:
        """Nothing is said on a plain port before the first byte."""

    def understand(self, data: bytes) -> bytes:
        """What of the arriving bytes is meant for the board."""
        return data

    def wrap(self, data: bytes) -> bytes:
        """The board's bytes as they go over the wire."""
        return data

    async def hear(self, count: int) -> bytes:
        """The next `count` bytes that arrive."""
        async with asyncio.timeout(PATIENCE_S):
            return await self._heard.readexactly(count)

    async def say(self, data: bytes) -> None:
        """Send bytes to the link."""
        async with asyncio.timeout(PATIENCE_S):
            await self._met.wait()
            assert self._writer is not None
            self._writer.write(self.wrap(data))
            await self._writer.drain()

    def stall(self) -> None:
        """Take no more bytes: what was sent stays in the system's buffers."""
        assert self._writer is not None
        self._writer.transport.pause_reading()  # type: ignore[attr-defined]  # the transport of a socket can

    async def vanish(self) -> None:
        """Be unplugged."""
        if self._writer is not None:
            self._writer.transport.abort()
        if self._server is not None:
            self._server.close()

    async def stop(self) -> None:
        """Leave nothing behind."""
        await self.vanish()


class FakeUart:
    """The serial port behind a port server: it takes every setting and has no other end."""

    def __init__(self) -> None:
        self.baudrate = 9600
        self.bytesize = 8
        self.parity = "N"
        self.stopbits = 1
        self.xonxoff = self.rtscts = self.dtr = self.rts = self.break_condition = False
        self.cts = self.dsr = self.cd = True
        self.ri = False
        self.dtr_history: list[bool] = []

    def __setattr__(self, name: str, value: object) -> None:
        if name == "dtr" and "dtr_history" in self.__dict__:
            self.dtr_history.append(bool(value))
        super().__setattr__(name, value)

    def reset_input_buffer(self) -> None:
        """Nothing is ever stored."""

    def reset_output_buffer(self) -> None:
        """Nothing is ever stored."""


class FakeSharedFarEnd(FakeSocketFarEnd):
    """The board behind a port server that speaks RFC 2217; `uart` shows what was asked of its port."""

    scheme = "rfc2217"

    def __init__(self) -> None:
        super().__init__()
        self.uart = FakeUart()
        self._manager: PortManager | None = None

    async def start(self) -> None:
        """Be reachable under `address`; the library may take its time to come to terms on a busy machine."""
        await super().start()
        self.address += "?timeout=60"

    def greet(self, writer: asyncio.StreamWriter) -> None:
        """Begin the negotiation."""
        self._manager = PortManager(self.uart, writer)  # type: ignore[arg-type]  # only write() is used of either

    def understand(self, data: bytes) -> bytes:
        """What of the arriving bytes is meant for the board."""
        assert self._manager is not None
        return b"".join(self._manager.filter(data))

    def wrap(self, data: bytes) -> bytes:
        """The board's bytes as they go over the wire."""
        assert self._manager is not None
        return b"".join(self._manager.escape(data))
