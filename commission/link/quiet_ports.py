"""pyserial's two kinds of port, with their habits set right so that nothing above has to know of them.

* A failed write would be reported to the loop's exception handler as well: here it only ends the connection.
* Ending a connection waits for the output to drain and closes the file on the loop, which a stuck board can hold up
  for half a minute: here neither happens on the loop.
* The network client loses what had come before the loss, its reading thread may die with a trace on the screen, and its
  socket may stay open.

Every call may fail with one of `troubles.TROUBLES`.
"""

import contextlib
import os
import queue
import socket
import sys
import threading
import time
from collections.abc import Callable
from functools import partial

import serial
import serial.rfc2217

from commission.link.streaming import CLOSE_GRACE_S, SEND_LIMIT_S
from commission.link.troubles import TROUBLES

if sys.platform != "win32":
    import fcntl
    import termios

READ_WAIT_S = 0.1  # a blocking read looks this often whether it should end; bytes end it at once


class DevicePort(serial.Serial):
    """A serial device that fails and closes quietly."""

    def __init__(self, path: str) -> None:
        super().__init__(None, timeout=READ_WAIT_S, write_timeout=SEND_LIMIT_S, exclusive=True)
        self.port = path
        self.notes: list[str] = []
        self.on_write_failed: Callable[[BaseException], None] | None = None
        self._closing = threading.Lock()

    def write(self, data: bytes) -> int | None:  # type: ignore[override]  # only bytes are ever written here
        """Write; with `on_write_failed` set, a failure is told there and all bytes count as written."""
        if self.on_write_failed is None:
            return super().write(data)
        try:
            # not the library's own: it would try again without end, and hold the loop, should the system take nothing
            return os.write(self.fileno(), data)
        except (BlockingIOError, InterruptedError):
            raise  # the transport tries again when there is room
        except TROUBLES as error:
            self.on_write_failed(error)
            return len(data)

    def read(self, size: int = 1) -> bytes:
        """Read what has come; where nothing is waited for, by one call of the system in place of the library's two.

        A read of nothing is no proof that the port is gone: the library's own then tells that from a port at rest.

        Raises:
            serial.SerialException: the port is gone.
        """
        if self.timeout != 0:
            return super().read(size)
        try:
            data = os.read(self.fileno(), size)
        except (BlockingIOError, InterruptedError):
            return b""
        except OSError as error:
            raise serial.SerialException(f"read failed: {error}") from error
        return data or super().read(size)

    def flush(self) -> None:
        """Wait for nothing: closing has given the output its time already."""

    def close(self) -> None:
        """Leave the file open: the companion closes on the loop, where a driver may hold it up; see let_go."""

    def let_go(self) -> None:
        """Close the file. May be called from any thread and more than once; never raises."""
        with contextlib.suppress(*TROUBLES):
            self.cancel_write()
        with self._closing:
            for step in (partial(_drain, self), partial(_unclaim, self), super().close):
                with contextlib.suppress(*TROUBLES):  # each fails on a port that is gone; the file goes back even so
                    step()

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
    _socket: socket.socket | None

    def __init__(self, url: str) -> None:
        super().__init__(None, timeout=READ_WAIT_S)
        self.port = url
        self.notes: list[str] = []
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

    def close(self) -> None:
        """Close for certain: the library leaves the socket open when the far end has gone first."""
        kept = self._socket
        super().close()
        if kept is not None:
            kept.close()

    def let_go(self) -> None:
        """Close. May be called from any thread and more than once; never raises."""
        with self._once, contextlib.suppress(*TROUBLES):
            if self.is_open:
                self.close()


def claim(handle: int, *, held: bool = True) -> None:
    """Shut out programs that ask for no lock, where the system can; the lock of pyserial is only advisory."""
    if sys.platform != "win32":
        with contextlib.suppress(OSError):
            fcntl.ioctl(handle, termios.TIOCEXCL if held else termios.TIOCNXCL)


def _unclaim(port: DevicePort) -> None:
    claim(port.fileno(), held=False)


def _drain(port: DevicePort) -> None:
    """Give what was handed over the time to leave, then drop the rest: closing would wait for a stuck board."""
    end_s = time.monotonic() + CLOSE_GRACE_S
    while port.out_waiting and time.monotonic() < end_s:
        time.sleep(0.005)
    if port.out_waiting:
        port.reset_output_buffer()
