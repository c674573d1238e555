"""Real ports: from an address to a Link. Only here and in `quiet_ports` are pyserial and its asyncio companion known.

A device is opened by ourselves, in a thread, and only then handed to the asyncio companion, whose own way of opening
would hold the loop. Network ports go without the library where they can: its client for plain ports blocks.
"""

import asyncio
import contextlib
import errno
import os
import sys
import time
from collections.abc import Callable
from enum import Enum
from functools import partial
from typing import TYPE_CHECKING

from serial.tools import list_ports

from commission.link.address import Kind, parse_address
from commission.link.base import Link
from commission.link.device import DeviceLink, QuietPort
from commission.link.network import SocketLink
from commission.link.quiet_ports import DevicePort, SharedPort, claim
from commission.link.streaming import SEND_LIMIT_S, Endpoint, Report
from commission.link.threaded import ThreadLink
from commission.link.troubles import TROUBLES, opening_error

if TYPE_CHECKING:
    from serial.tools.list_ports_common import ListPortInfo

# In the order in which a silent printer is tried: the two usual ones first, then the rarer ones seen on boards.
SPEEDS_BAUD = (115200, 250000, 230400, 500000, 1000000, 57600, 38400, 19200, 9600)

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
    address: str,
    *,
    reset: ResetLines = ResetLines.AS_IS,
    on_event: Callable[[str], None] | None = None,
    send_limit_s: float = SEND_LIMIT_S,
) -> Link:
    """A link to that address, not yet open.

    Args:
        address: a device name, socket://HOST:PORT or rfc2217://HOST:PORT[?OPTION].
        reset: what to do with the control lines on opening.
        on_event: told in one sentence what happens to the port: opened, speed changed, lost, closed.
        send_limit_s: how long a far end may take no bytes before the link counts as lost.

    Raises:
        PortUnusable: the address has none of these forms.
    """
    where = parse_address(address)
    report: Report = on_event or _unheard
    if where.kind is Kind.SOCKET:
        if reset is not ResetLines.AS_IS:
            report(f"{address} has no control lines; whether the board restarts is up to the far end")
        return SocketLink(where, report, send_limit_s=send_limit_s)
    if where.kind is Kind.RFC2217:
        return ThreadLink(address, partial(open_shared, address, reset), report, send_limit_s=send_limit_s)
    if os.name == "posix":
        return DeviceLink(address, PosixDevice(address, reset), report, send_limit_s=send_limit_s)
    return ThreadLink(address, partial(open_device, address, reset), report, send_limit_s=send_limit_s)


def listed() -> "list[ListPortInfo]":
    """Every serial port the system knows, as pyserial lists them."""
    return list(list_ports.comports())


def usb_devices() -> list[str]:
    """The USB serial ports present now."""
    return [found.device for found in listed() if found.vid is not None]


def require_present(address: str) -> None:
    """Refuse a device that is not there, before a person is asked anything; other addresses show it when opened.

    Raises:
        PortMissing: there is no such device; the advice names those present.
        PortUnusable: the address has none of the known forms.
    """
    where = parse_address(address)
    if where.kind is Kind.DEVICE and os.name == "posix" and not os.path.lexists(address):
        raise opening_error(address, FileNotFoundError(errno.ENOENT, "absent"), ports_now=usb_devices())


class PosixDevice:
    """One device for the event loop: how it is opened and attached."""

    def __init__(self, path: str, reset: ResetLines) -> None:
        self._path = path
        self._reset = reset

    def open(self, speed_baud: int) -> QuietPort:
        """Open for this process alone; blocks."""
        return open_device(self._path, self._reset, speed_baud)

    async def attach(self, port: QuietPort, endpoint: Endpoint) -> asyncio.Transport:
        """Give the open port to the running event loop."""
        from serial_asyncio import connection_for_serial  # network ports do without it

        transport: asyncio.Transport
        transport, _ = await connection_for_serial(asyncio.get_running_loop(), lambda: endpoint, port)
        return transport

    def present(self) -> list[str]:
        """The USB serial ports present now."""
        return usb_devices()


def open_device(path: str, reset: ResetLines, speed_baud: int) -> DevicePort:
    """Open a device for this process alone; blocks.

    Raises:
        OSError, ValueError, termios.error: as the library puts it.
    """
    port = DevicePort(path)
    port.set_speed(speed_baud)
    _hold(port, reset)
    port.open()
    if not is_pseudo_terminal(path):  # there a claim outlives a killed process while the other side stays open
        claim(port.fileno())
    if sys.platform == "linux":
        with contextlib.suppress(*TROUBLES):  # only some drivers know it; without it replies come up to 16 ms later
            port.set_low_latency_mode(True)
    _pulse(port, reset)
    return port


def open_shared(url: str, reset: ResetLines, speed_baud: int) -> SharedPort:
    """Open a port shared over the network; blocks for 0.3 to 0.6 s.

    Raises:
        OSError, ValueError: as the library puts it.
    """
    port = SharedPort(url)
    port.baudrate = speed_baud
    _hold(port, reset)
    port.open()
    _pulse(port, reset)
    return port


def _hold(port: "DevicePort | SharedPort", reset: ResetLines) -> None:
    if reset is ResetLines.HOLD_LOW:
        port.dtr = False
        port.rts = False


def _pulse(port: "DevicePort | SharedPort", reset: ResetLines) -> None:
    if reset is not ResetLines.PULSE:
        return
    try:
        port.dtr = False
        time.sleep(PULSE_S)
        port.dtr = True
    except TROUBLES:
        port.notes.append(f"{port.port} has no control lines: no restart pulse was given")
    else:
        port.notes.append(f"restart pulse given on {port.port}")


def is_pseudo_terminal(path: str) -> bool:
    """Whether the path leads to a pseudo-terminal of Linux."""
    return os.path.realpath(path).startswith("/dev/pts/")


def _unheard(_: str) -> None:
    """Nobody asked to be told."""
