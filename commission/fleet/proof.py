"""Which printer is behind which port, by its own marks against the record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from commission.fleet.roster import Listed
from commission.link.discover import FoundPort, identify
from commission.link.identity import PortIdentity, compare
from commission.procedure.meeting.identity import Match, PrinterMarks, likeness


class Proof(Enum):
    """What is known of the printer behind a port."""

    PROVEN = "proven"
    ANOTHER = "another printer"
    NOT_PROVEN = "not proven"
    NO_PORT = "no such port"
    NO_RECORD = "nothing on record"


@dataclass(frozen=True)
class Proven:
    """One printer of the roster: what is known of its port, and why."""

    listed: Listed
    proof: Proof
    why: str


Known = Mapping[str, PrinterMarks]
"""The marks on record, by tag."""


def looked_at(listed: Listed, ports: Sequence[FoundPort], known: Known) -> Proven:
    """What the port itself tells, without being opened: only a serial number of its own proves anything."""
    if not listed.port:
        return Proven(listed, Proof.NO_PORT, "the roster names no port")
    here = identify(listed.port, ports)
    is_device = "://" not in listed.port
    if is_device and here.path == listed.port and not here.usb_id and not _present(listed.port, ports):
        return Proven(listed, Proof.NO_PORT, f"there is no {listed.port} now")
    stranger = _whose(PrinterMarks(here), listed.tag, known)
    if stranger:
        return Proven(listed, Proof.ANOTHER, f"its serial number is that of {stranger}")
    before = known.get(listed.tag)
    if before is None:
        return Proven(listed, Proof.NO_RECORD, "no run has met this printer yet")
    return _by_port(listed, before.port, here)


def _present(address: str, ports: Sequence[FoundPort]) -> bool:
    return any(address in (port.device, port.stable_link, port.place_link) for port in ports)


def _by_port(listed: Listed, before: PortIdentity, here: PortIdentity) -> Proven:
    found = compare(before, here)
    if found.same and here.own_serial:
        return Proven(listed, Proof.PROVEN, found.reason)
    if found.same is False and before.usb_id and here.usb_id:
        return Proven(listed, Proof.ANOTHER, found.reason)
    return Proven(listed, Proof.NOT_PROVEN, f"{found.reason}; the port was not opened")


def answered(listed: Listed, now: PrinterMarks, known: Known) -> Proven:
    """What the printer itself says, asked who it is."""
    stranger = _whose(now, listed.tag, known)
    if stranger:
        return Proven(listed, Proof.ANOTHER, f"it is the printer on record as {stranger}")
    before = known.get(listed.tag)
    if before is None:
        return Proven(
            listed, Proof.NO_RECORD, f"it announces {now.machine or 'no machine'}, {now.firmware or 'no name'}"
        )
    found = likeness(before, now)
    proof = {Match.SAME: Proof.PROVEN, Match.DIFFERENT: Proof.ANOTHER}.get(found.match, Proof.NOT_PROVEN)
    return Proven(listed, proof, " ".join(found.reasons).rstrip("."))


def _whose(now: PrinterMarks, tag: str, known: Known) -> str:
    """Another printer of the record that surely is the one here; empty where none is."""
    if _same(known.get(tag), now):
        return ""
    return next((other for other, marks in known.items() if other != tag and _same(marks, now)), "")


def _same(before: PrinterMarks | None, now: PrinterMarks) -> bool:
    return before is not None and likeness(before, now).match is Match.SAME
