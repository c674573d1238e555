"""Real ports: from an address to a Link. The only file that knows pyserial and its asyncio companion.

The port is opened by ourselves, in a thread, and only then handed to the asyncio companion: its own way of opening
would hold the loop. Four habits of the libraries are set right in the two port classes below, so that nothing above
has to know of them:

* a failed write would be reported to the loop's exception handler as well: here it only ends the connection;
* ending a connection waits for the output to drain and closes the file on the loop, which a stuck board can hold up
  for half a minute: here neither happens on the loop;
* the network client loses what had come before the loss, and its reading thread may die with a trace on the screen;
* a port closed while it is read fails with a TypeError.
"""

import asyncio
import contextlib
import os
import queue
import threading
import time
from collections.abc import Callable
from enum import Enum
from typing import TYPE_CHECKING

import serial
import serial.rfc2217
from serial.tools import list_ports

from commission.link.address import Address, Kind, parse_address
from commission.link.base import Link
from commission.link.device import DeviceLink, QuietPort
from commission.link.network import SocketLink
from commission.link.streaming import SEND_LIMIT_S, Endpoint, Report
from commission.link.threaded import ThreadLink

if TYPE_CHECKING:
    from serial.tools.list_ports_common import ListPortInfo

if os.name == "posix":
    import fcntl
    import termios

    _SYSTEM_TROUBLES: tuple[type[Exception], ...] = (termios.error,)
else:
    _SYSTEM_TROUBLES = ()

# What the libraries raise for a port that fails; serial.SerialException is an OSError. TypeError and AttributeError are
# what a port closed by another thread fails with.
TROUBLES: tuple[type[Exception], ...] = (
    OSError,
    ValueError,
    OverflowError,
    NotImplementedError,
    TypeError,
    AttributeError,
    *_SYSTEM_TROUBLES,
)

# In the order in which a silent printer is tried: the two usual ones first, then the rarer ones seen on boards.
SPEEDS_BAUD = (115200, 250000, 230400, 500000, 1000000, 57600, 38400, 19200, 9600)

READ_WAIT_S = 0.1  # a blocking read looks this often whether it should end; bytes end it at once
PULSE_S = 0.1  # a bridge board's reset capacitor needs a few milliseconds; the slowest network client 50 ms a line


class ResetLines(Enum):
    """What opening does with the control lines that restart boards behind a USB bridge.

    The system raises both lines while opening, before any program can say otherwise, so HOLD_LOW shortens the pulse
    but cannot promise that the board does not restart.
    """

    AS_IS = "as it is"
    HOLD_LOW = "held low"
    PULSE = "pulsed once"


def make_link(
    address: str, *, reset: ResetLines = ResetLines.AS_IS, on_event: Callable[[str], None] | None = None
) -> Link:
    """A link to that address, not yet open.

    Args:
        address: a device name, socket://HOST:PORT or rfc2217://HOST:PORT[?OPTION].
        reset: what to do with the control lines on opening.
        on_event: told in one sentence what happens to the port: opened, speed changed, lost, closed.

    Raises:
        PortUnusable: the address has none of these forms.
    """
    where = parse_address(address)
    report: Report = on_event or _unheard
    if where.kind is Kind.SOCKET:
        if reset is not ResetLines.AS_IS:
            report(f"{address} has no control lines; whether the board restarts is up to the far end")
        return SocketLink(where, report)
    if where.kind is Kind.RFC2217:
        return ThreadLink(address, lambda speed: open_shared(where, speed, reset, report), report, troubles=TROUBLES)
    if os.name == "posix":
        return DeviceLink(address, PosixDevice(address, reset, report), report)
    return ThreadLink(address, lambda speed: open_device(address, speed, reset, report), report, troubles=TROUBLES)


def listed() -> "list[ListPortInfo]":
    """Every serial port the system knows, as pyserial lists them."""
    return list(list_ports.comports())


class DevicePort(serial.Serial):
    """A serial device that fails and closes quietly."""

    def __init__(self, path: str) -> None:
        super().__init__(None, timeout=READ_WAIT_S, write_timeout=SEND_LIMIT_S, exclusive=True)
        self.port = path
        self.on_write_failed: Callable[[BaseException], None] | None = None
        self._closing = threading.Lock()

    def write(self, data: bytes) -> int | None:  # type: ignore[override]  # only bytes are ever written here
        """Write; with `on_write_failed` set, a failure is told there and all bytes count as written."""
        if self.on_write_failed is None:
            return super().write(data)
        try:
            return super().write(data)
        except BlockingIOError:
            raise
        except TROUBLES as error:
            self.on_write_failed(error)
            return len(data)

    def flush(self) -> None:
        """Wait for nothing: closing has given the output its time already."""

    def close(self) -> None:
        """Leave the file open: the companion closes on the loop, where a driver may hold it up; see let_go."""

    def let_go(self) -> None:
        """Close the file. May be called from any thread and more than once; never raises."""
        with self._closing, contextlib.suppress(*TROUBLES):
            self.cancel_read()
            self.cancel_write()
        with self._closing, contextlib.suppress(*TROUBLES):
            _release(self)
            super().close()

    def receive(self) -> bytes:
        """Whatever has come, waiting READ_WAIT_S at most."""
        return self.read(self.in_waiting or 1)

    def send(self, data: bytes) -> None:
        """Write all of it, blocking."""
        self.write(data)

    def set_speed(self, speed_baud: int) -> None:
        """Change the speed of the open file."""
        if not 0 < speed_baud < 2**31:  # zero would hang up the line instead
            raise ValueError(f"no such speed: {speed_baud}")
        with self._closing:
            self.baudrate = speed_baud


class SharedPort(serial.rfc2217.Serial):
    """A serial port shared over the network that gives all it has before it fails."""

    _read_buffer: "queue.Queue[bytes | None]"
    _thread: threading.Thread | None

    def __init__(self, url: str) -> None:
        super().__init__(None, timeout=READ_WAIT_S)
        self.port = url
        self._once = threading.Lock()

    def _telnet_read_loop(self) -> None:
        """Read until the connection ends; the end is marked in the buffer instead of shown as a trace."""
        with contextlib.suppress(*TROUBLES):
            super()._telnet_read_loop()  # type: ignore[misc]  # private in the library, which names it in no stub
        self._read_buffer.put(None)

    def receive(self) -> bytes:
        """Whatever has come, waiting READ_WAIT_S at most.

        Raises:
            serial.SerialException: the connection has ended and nothing is left.
        """
        taken = bytearray()
        with contextlib.suppress(queue.Empty):
            piece = self._read_buffer.get(timeout=READ_WAIT_S)
            while piece is not None:
                taken += piece
                piece = self._read_buffer.get_nowait()
            self._read_buffer.put(None)  # the mark stays for the next call
            if not taken:
                raise serial.SerialException("the far end has ended the connection")
        return bytes(taken)

    def send(self, data: bytes) -> None:
        """Send all of it, blocking."""
        self.write(data)

    def set_speed(self, speed_baud: int) -> None:
        """Have the far end change its speed; takes 0.1 to 0.15 s."""
        self.baudrate = speed_baud

    def let_go(self) -> None:
        """Close. May be called from any thread and more than once; never raises."""
        with self._once, contextlib.suppress(*TROUBLES):
            if self.is_open:
                self.close()


class PosixDevice:
    """One device for the event loop: how it is opened and attached."""

    troubles = TROUBLES

    def __init__(self, path: str, reset: ResetLines, report: Report) -> None:
        self._path = path
        self._reset = reset
        self._report = report

    def open(self, speed_baud: int) -> QuietPort:
        """Open for this process alone; blocks."""
        return open_device(self._path, speed_baud, self._reset, self._report)

    async def attach(self, port: QuietPort, endpoint: Endpoint) -> asyncio.Transport:
        """Give the open port to the running event loop."""
        from serial_asyncio import connection_for_serial  # network ports do without it

        transport: asyncio.Transport
        transport, _ = await connection_for_serial(asyncio.get_running_loop(), lambda: endpoint, port)
        return transport

    def present(self) -> list[str]:
        """The USB serial ports present now."""
        return [found.device for found in listed() if found.vid is not None]


def open_device(path: str, speed_baud: int, reset: ResetLines, report: Report) -> DevicePort:
    """Open a device for this process alone; blocks.

    Raises:
        OSError, ValueError, termios.error: as the library puts it.
    """
    port = DevicePort(path)
    port.set_speed(speed_baud)
    _hold(port, reset)
    port.open()
    _claim(port)
    with contextlib.suppress(*TROUBLES):  # only some drivers know it; without it replies come up to 16 ms later
        port.set_low_latency_mode(True)
    _pulse(port, reset, report)
    return port


def open_shared(address: Address, speed_baud: int, reset: ResetLines, report: Report) -> SharedPort:
    """Open a port shared over the network; blocks for 0.3 to 0.6 s.

    Raises:
        OSError, ValueError: as the library puts it.
    """
    port = SharedPort(address.text)
    port.baudrate = speed_baud
    _hold(port, reset)
    port.open()
    _pulse(port, reset, report)
    return port


def _hold(port: "DevicePort | SharedPort", reset: ResetLines) -> None:
    if reset is ResetLines.HOLD_LOW:
        port.dtr = False
        port.rts = False


def _pulse(port: "DevicePort | SharedPort", reset: ResetLines, report: Report) -> None:
    if reset is not ResetLines.PULSE:
        return
    try:
        port.dtr = False
        time.sleep(PULSE_S)
        port.dtr = True
    except TROUBLES:
        report(f"{port.port} has no control lines: no restart pulse was given")
    else:
        report(f"restart pulse given on {port.port}")


def _claim(port: DevicePort) -> None:
    """Shut out programs that ask for no lock, where the system can; the lock of pyserial is only advisory.

    Not on a pseudo-terminal: there the claim would outlive a killed process for as long as the other side is open.
    """
    if os.name == "posix" and not os.path.realpath(port.port or "").startswith("/dev/pts/"):
        with contextlib.suppress(OSError):
            fcntl.ioctl(port.fileno(), termios.TIOCEXCL)


def _release(port: DevicePort) -> None:
    if os.name == "posix" and port.is_open:
        with contextlib.suppress(*TROUBLES):
            termios.tcflush(port.fileno(), termios.TCOFLUSH)  # or closing would wait for a stuck board to read it
        with contextlib.suppress(OSError):
            fcntl.ioctl(port.fileno(), termios.TIOCNXCL)


def _unheard(_: str) -> None:
    """Nobody asked to be told."""
