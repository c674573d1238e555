"""The ports of this machine, and finding one again after it vanished.

Text that comes from the device (description, manufacturer, product, serial number) is handed on as it came: whoever
shows it makes it safe to show. Nothing here opens a port, because opening one can restart a printer.
"""

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from pathlib import Path

from commission.link.address import Kind, parse_address
from commission.link.identity import PortIdentity, Sameness, compare

__all__ = [
    "Ambiguous",
    "FoundPort",
    "PortIdentity",
    "Sameness",
    "compare",
    "find_again",
    "found_ports",
    "identify",
    "in_use",
    "ports_about",
]

BY_SERIAL = Path("/dev/serial/by-id")
BY_PLACE = Path("/dev/serial/by-path")


@dataclass(frozen=True)
class RawPort:
    """One port as the serial library lists it; None or `n/a` where it knows nothing."""

    device: str
    description: str | None = None
    vid: int | None = None
    pid: int | None = None
    serial_number: str | None = None
    location: str | None = None
    manufacturer: str | None = None
    product: str | None = None


@dataclass(frozen=True)
class FoundPort:
    """A port present now. Empty text where the system knows nothing.

    Attributes:
        device: the name to open it by today.
        description: what the system calls it.
        manufacturer: as the device announces it.
        product: as the device announces it.
        serial_number: as the device announces it.
        location: the place in the USB tree.
        usb_id: vendor and product in hexadecimal; empty for a port that is not on USB.
        stable_link: a name that follows the device by its serial number, where there is one.
        place_link: a name that belongs to the USB place, whatever is plugged in there.
    """

    device: str
    description: str = ""
    manufacturer: str = ""
    product: str = ""
    serial_number: str = ""
    location: str = ""
    usb_id: str = ""
    stable_link: str = ""
    place_link: str = ""

    def __post_init__(self) -> None:
        if not self.device:
            raise ValueError("a found port needs its device name")

    @property
    def identity(self) -> PortIdentity:
        """By what it can be followed."""
        return PortIdentity(self.usb_id, self.serial_number, self.location, self.device)


@dataclass(frozen=True)
class Ambiguous:
    """More than one port may be the one that was looked for, or one may be and may not: a person has to say.

    Attributes:
        candidates: the ports in question, each with the reason why it could be the one.
    """

    candidates: tuple[tuple[FoundPort, str], ...]


def found_ports(
    *,
    everything: bool = False,
    listing: Callable[[], Iterable[RawPort]] | None = None,
    by_serial: Path = BY_SERIAL,
    by_place: Path = BY_PLACE,
) -> list[FoundPort]:
    """The ports present now, in the order of their names.

    Args:
        everything: also ports without a USB id: built-in ones, and those the kernel invents where none is built in.
        listing: where the raw list comes from; the serial library unless given.
        by_serial: the folder of links named after serial numbers, on systems that keep one.
        by_place: the folder of links named after USB places.
    """
    raw_ports = _listed() if listing is None else listing()
    stable, placed = _links(by_serial), _links(by_place)
    ports = [_found(raw, stable, placed) for raw in raw_ports if everything or raw.vid is not None]
    return sorted(ports, key=lambda port: _natural(port.device))


def _listed() -> Iterable[RawPort]:
    from commission.link.port import listed  # the libraries load only when ports are really listed

    names = [field.name for field in fields(RawPort)]
    return [RawPort(**{name: getattr(info, name) for name in names}) for info in listed()]


def _found(raw: RawPort, stable: dict[str, str], placed: dict[str, str]) -> FoundPort:
    serial_number = _known(raw.serial_number)
    real = os.path.realpath(raw.device)
    link = stable.get(real, "")
    return FoundPort(
        device=raw.device,
        description=_known(raw.description),
        manufacturer=_known(raw.manufacturer),
        product=_known(raw.product),
        serial_number=serial_number,
        location=_known(raw.location),
        usb_id="" if raw.vid is None else f"{raw.vid:04x}:{raw.pid or 0:04x}",
        # two boards without a serial number share one such link, and it points at whichever came last
        stable_link=link if serial_number and serial_number in Path(link).name else "",
        place_link=placed.get(real, ""),
    )


def _known(text: str | None) -> str:
    return "" if text is None or text == "n/a" else text


def _links(folder: Path) -> dict[str, str]:
    """Each link of a folder by what it points at; empty where the system keeps no such folder."""
    if not folder.is_dir():
        return {}
    return {os.path.realpath(link): str(link) for link in sorted(folder.iterdir())}


def _natural(device: str) -> tuple[tuple[int, int | str], ...]:
    """A key that puts ttyUSB10 behind ttyUSB9."""
    pieces: list[tuple[int, int | str]] = []
    rest = device
    while rest:
        digits = rest[0].isdecimal()
        length = next((i for i, sign in enumerate(rest) if sign.isdecimal() != digits), len(rest))
        pieces.append((0, int(rest[:length])) if digits else (1, rest[:length]))
        rest = rest[length:]
    return tuple(pieces)


def identify(address: str, ports: Sequence[FoundPort]) -> PortIdentity:
    """By what the port at this address can be followed.

    Args:
        address: as the operator wrote it; a link such as those in /dev/serial is followed.
        ports: the ports present now.

    Raises:
        PortUnusable: the address has none of the known forms.
    """
    if parse_address(address).kind is Kind.DEVICE:
        real = os.path.realpath(address)
        for port in ports:
            if address == port.device or real == os.path.realpath(port.device):
                return port.identity
    return PortIdentity("", "", "", address)


def ports_about(address: str) -> list[FoundPort]:
    """The ports present now, where the address is one of this machine's; a port on the network has no neighbours here.

    Raises:
        PortUnusable: the address has none of the known forms.
    """
    return found_ports() if parse_address(address).kind is Kind.DEVICE else []


def find_again(identity: PortIdentity, ports: Sequence[FoundPort]) -> FoundPort | Ambiguous | None:
    """The port with that identity among those present now.

    Returns:
        The port when exactly one is certain; None when none can be it; Ambiguous when a person has to say.
    """
    judged = [(port, compare(identity, port.identity)) for port in ports]
    certain = [(port, verdict.reason) for port, verdict in judged if verdict.same]
    if len(certain) == 1:
        return certain[0][0]
    candidates = certain or [(port, verdict.reason) for port, verdict in judged if verdict.same is None]
    return Ambiguous(tuple(candidates)) if candidates else None


def in_use(device: str, *, processes: Path = Path("/proc")) -> bool | None:
    """Whether a program on this machine has the device open, seen without opening it.

    Args:
        device: its name.
        processes: the folder in which the system shows what each process has open.

    Returns:
        True or False; None when the system does not show it, or not for the programs of other users.
    """
    if not (processes / "self").exists():
        return None
    real = os.path.realpath(device)
    hidden = False
    for folder in processes.iterdir():
        if folder.name.isdecimal():
            opened = _opened_by(folder)
            hidden |= opened is None
            if opened is not None and real in opened:
                return True
    return None if hidden else False


def _opened_by(process: Path) -> set[str] | None:
    """What one process has open; None when this user may not see it, empty when it has just ended."""
    opened = set()
    try:
        for handle in (process / "fd").iterdir():
            try:
                opened.add(str(handle.readlink()))
            except FileNotFoundError:  # closed in the meantime
                continue
    except FileNotFoundError:
        return set()
    except PermissionError:
        return None
    return opened
