"""What an operator may write for a port, taken apart without touching it."""

from dataclasses import dataclass
from enum import Enum
from urllib.parse import SplitResult, parse_qsl, urlsplit

from commission.command_lines import PORTS
from commission.link.base import PortUnusable

FORMS = (
    "Write a device name such as /dev/ttyUSB0 or COM3, socket://HOST:PORT for a plain network port, "
    f"or rfc2217://HOST:PORT for a serial port shared over the network; `{PORTS}` lists the devices."
)
# What pyserial's network client understands after the question mark; `logging` is left out because it would write to
# the screen past the desk.
RFC2217_OPTIONS = frozenset({"ign_set_control", "poll_modem", "timeout"})


class Kind(Enum):
    """By what means a port is reached."""

    DEVICE = "device"
    SOCKET = "socket"
    RFC2217 = "rfc2217"


@dataclass(frozen=True)
class Address:
    """Where a port is.

    Attributes:
        text: as the operator wrote it.
        kind: by what means it is reached.
        host: the far machine; empty for a device.
        tcp_port: its port number; 0 for a device.
    """

    text: str
    kind: Kind
    host: str = ""
    tcp_port: int = 0


def parse_address(text: str) -> Address:
    """Take an address apart.

    Raises:
        PortUnusable: it has none of the forms; the advice lists them.
    """
    if not text.strip() or not text.isprintable():
        raise _unreadable(text, "is empty or holds characters that no port name has")
    if "://" not in text:
        return Address(text, Kind.DEVICE)
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise _unreadable(text, "has no port number from 1 to 65535") from error
    return _network_address(text, parts, port)


def _network_address(text: str, parts: SplitResult, port: int | None) -> Address:
    if parts.scheme not in {Kind.SOCKET.value, Kind.RFC2217.value}:
        raise _unreadable(text, f"begins with {parts.scheme}://, which is no way to reach a port")
    if not parts.hostname or not port:
        raise _unreadable(text, "needs both a host and a port number from 1 to 65535")
    if parts.username or parts.path.strip("/") or parts.fragment:
        raise _unreadable(text, "holds more than a host and a port number")
    kind = Kind(parts.scheme)
    _check_options(text, kind, parts.query)
    return Address(text, kind, parts.hostname, port)


def _check_options(text: str, kind: Kind, query: str) -> None:
    allowed: frozenset[str] = RFC2217_OPTIONS if kind is Kind.RFC2217 else frozenset()
    for option, value in parse_qsl(query, keep_blank_values=True):
        if option not in allowed:
            known = ", ".join(sorted(allowed)) or "none"
            raise _unreadable(text, f"holds the option {option!r}, which is not known here (known: {known})")
        if option == "timeout" and not _is_seconds(value):
            raise _unreadable(text, "gives a timeout that is not a number of seconds above 0 and up to 60")


def _is_seconds(value: str) -> bool:
    try:
        return 0 < float(value) <= 60
    except ValueError:
        return False


def _unreadable(text: str, why: str) -> PortUnusable:
    return PortUnusable(f"The port address {text!r} {why}.", FORMS)
