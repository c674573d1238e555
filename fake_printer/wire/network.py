"""Ports that are reached over the loopback network: raw bytes, or a serial port server by RFC 2217.

One host at a time, as with a cable; another is turned away. Nothing listens beyond this machine.
"""

import math
import socket
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, cast

from serial import rfc2217

from fake_printer.wire.base import DEAF_HOST_S, QUEUE_LIMIT_BYTES, WireError

LOOPBACK = "127.0.0.1"
_READ_BYTES = 4096
_LAST_PORT = 65535


def listen(port: int) -> socket.socket:
    """A listening loopback socket that never blocks. Many may knock at once: each deed is a visit of its own.

    Args:
        port: its number, or 0 to have one chosen.

    Raises:
        WireError: the port cannot be had.
    """
    if not 0 <= port <= _LAST_PORT:
        raise WireError(f"{port} is no port number. Choose another from 1 to {_LAST_PORT}, or 0 for any.")
    try:
        listener = socket.create_server((LOOPBACK, port), backlog=64)
    except OSError as error:
        raise WireError(f"Port {port} cannot be listened on: {error}. Choose another, or 0 for any.") from error
    listener.settimeout(0)
    return listener


def accept(listener: socket.socket) -> socket.socket | None:
    """A waiting connection, without delay for small packets, or None."""
    try:
        connection, _ = listener.accept()
    except (BlockingIOError, ConnectionAbortedError):
        return None
    connection.settimeout(0)
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return connection


def receive(connection: socket.socket, limit_bytes: int) -> bytes | None:
    """What has come, which may be nothing; None when the other side has gone."""
    try:
        return connection.recv(limit_bytes) or None
    except BlockingIOError:
        return b""
    except OSError:
        return None


def flush(connection: socket.socket, unsent: bytearray) -> bool:
    """Send what the network takes and drop it from `unsent`; False when the other side has gone."""
    try:
        while unsent:
            del unsent[: connection.send(unsent)]
    except BlockingIOError:
        return True
    except OSError:
        return False
    return True


class TcpPort:
    """A raw byte pipe. It has no speed of its own."""

    scheme = "socket://{host}:{port}"

    def __init__(self, port: int) -> None:
        """Choose the port number; 0 has one chosen at the first `plug` and kept from then on."""
        self._port = port
        self._listener: socket.socket | None = None
        self._host: socket.socket | None = None
        self._unsent = bytearray()

    @property
    def link(self) -> str:
        """The address the host opens."""
        return self.scheme.format(host=LOOPBACK, port=self._port)

    @property
    def plugged(self) -> bool:
        """Whether the port exists at present."""
        return self._listener is not None

    @property
    def attached(self) -> bool:
        """Whether a host is connected."""
        return self._host is not None

    @property
    def host_speed_baud(self) -> int | None:
        """None: a raw connection has no speed."""
        return None

    def plug(self) -> None:
        """Begin to listen.

        Raises:
            WireError: the port cannot be had.
        """
        self._listener = listen(self._port)
        self._port = self._listener.getsockname()[1]

    def unplug(self) -> None:
        """Drop the host and listen no more."""
        self._drop_host()
        if self._listener:
            self._listener.close()
            self._listener = None

    close = unplug

    def _drop_host(self) -> None:
        if self._host:
            self._host.close()
            self._host = None
        self._unsent.clear()

    def take_openings(self) -> int:
        """How often a host has connected since last asked: 0 or 1. A second one is turned away."""
        if self._listener is None:
            return 0
        newcomer = accept(self._listener)
        if newcomer is None:
            return 0
        if self._host:
            with suppress(OSError):
                newcomer.shutdown(socket.SHUT_RDWR)
            newcomer.close()
            return 0
        self._host = newcomer
        self._welcome()
        return 1

    def _welcome(self) -> None:
        """What has to be done for a host that has just connected."""

    def read(self, limit_bytes: int) -> bytes:
        """What the host has sent; notices when it has left."""
        if self._host is None or limit_bytes <= 0:
            return b""
        if not flush(self._host, self._unsent):
            self._drop_host()
            return b""
        data = receive(self._host, min(limit_bytes, _READ_BYTES))
        if data is None:
            self._drop_host()
            return b""
        return data

    def write(self, data: bytes) -> None:
        """Hand bytes to the host; without a host they are gone."""
        if self._host is None:
            return
        self._unsent += data[: max(0, QUEUE_LIMIT_BYTES - len(self._unsent))]
        if not flush(self._host, self._unsent):
            self._drop_host()

    @property
    def look_again_s(self) -> float:
        """Soon, while the host does not read; else its files tell everything."""
        return DEAF_HOST_S if self._unsent else math.inf

    def files(self) -> Sequence[socket.socket]:
        """What to sleep on."""
        return [each for each in (self._listener, self._host) if each is not None]


@dataclass
class SerialSettings:
    """The serial port the RFC 2217 server answers for: settings only, the bytes go past it."""

    baudrate: int
    bytesize: int = 8
    parity: str = "N"
    stopbits: float = 1
    xonxoff: bool = False
    rtscts: bool = False
    dtr: bool = True
    rts: bool = True
    break_condition: bool = False
    cts: bool = True
    dsr: bool = True
    ri: bool = False
    cd: bool = True

    def reset_input_buffer(self) -> None:
        """Nothing is kept here."""

    def reset_output_buffer(self) -> None:
        """Nothing is kept here."""


class Rfc2217Port(TcpPort):
    """A serial port server: the host sets the speed over the network."""

    # a machine with much to do may need more than the few seconds in which a host expects its settings confirmed
    scheme = "rfc2217://{host}:{port}?ign_set_control&timeout=60"

    def __init__(self, port: int, speed_baud: int) -> None:
        """Choose the port number, and the speed the far port has before a host sets one."""
        super().__init__(port)
        self._first_speed_baud = speed_baud
        self._settings = SerialSettings(speed_baud)
        self._manager: rfc2217.PortManager | None = None

    @property
    def host_speed_baud(self) -> int | None:
        """The speed the host has set, in bits per second."""
        return self._settings.baudrate

    def _welcome(self) -> None:
        self._settings = SerialSettings(self._first_speed_baud)
        self._manager = rfc2217.PortManager(cast("Any", self._settings), cast("Any", _Raw(self)))

    def read(self, limit_bytes: int) -> bytes:
        """What the host has sent, without what it negotiated."""
        data = super().read(limit_bytes)
        return b"".join(self._manager.filter(data)) if self._manager and data else b""

    def write(self, data: bytes) -> None:
        """Hand bytes to the host, marked so that none is taken for a negotiation."""
        if self._manager:
            self.write_raw(b"".join(self._manager.escape(data)))

    def write_raw(self, data: bytes) -> None:
        """Hand over bytes of the negotiation."""
        super().write(data)


class _Raw:
    """The connection as the negotiation sees it."""

    def __init__(self, port: Rfc2217Port) -> None:
        self._port = port

    def write(self, data: bytes) -> None:
        self._port.write_raw(data)
