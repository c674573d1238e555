"""What a roster is completed with from the book, what is proposed for a port, and what proves a printer."""

from pathlib import Path

import pytest

from commission.evidence.entry import About
from commission.evidence.findings.loop import FailSafeFound
from commission.evidence.findings.meeting import PrinterMarks as MarksFound
from commission.evidence.runs import Opened
from commission.fleet.known import OnRecord, completed, on_record, proposed
from commission.fleet.proof import Proof, answered, looked_at
from commission.fleet.roster import Listed
from commission.link.discover import FoundPort
from commission.link.identity import PortIdentity
from commission.procedure.meeting.identity import PrinterMarks
from commission.vocabulary import FailSafe
from tests.records.books import Workshop
from tests.support.made import begun, ended

RUN = "bench-3/2031-03-14/1"
OWN = PortIdentity("ffff:0001", "EX-4711", "1-2", "/dev/ttyEX0")
OTHER = PortIdentity("ffff:0001", "EX-4712", "1-3", "/dev/ttyEX1")
NAMELESS = PortIdentity("ffff:0002", "", "1-4", "/dev/ttyEX2")


def port(identity: PortIdentity, link: str = "") -> FoundPort:
    """A port that is present now."""
    return FoundPort(
        identity.path,
        product="Example bridge",
        serial_number=identity.serial_number,
        location=identity.location,
        usb_id=identity.usb_id,
        stable_link=link,
    )


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """A book with one run of bench-3."""
    workshop = Workshop(tmp_path)
    about = About(source="switch_line")
    workshop.book.append(RUN, begun(RUN, site="second bench", port="/dev/ttyEX0"))
    workshop.book.append(RUN, Opened(port="/dev/ttyEX0", speed_baud=250000), about)
    workshop.find(RUN, MarksFound, port=OWN, uuid="", firmware="ExampleFW", machine="Bench", tag="bench-3")
    workshop.find(RUN, FailSafeFound, fail_safe=FailSafe.SAFE)
    workshop.book.append(RUN, ended())
    return workshop


def test_the_book_fills_what_the_roster_leaves_open(workshop: Workshop) -> None:
    """What the roster says stands; a printer that it leaves out is put behind the others."""
    known = on_record(workshop.book)
    whole = Listed("bench-3", "second bench", "/dev/ttyEX0", 250000, "switch_line", "fail-safe")

    assert [whole] == completed([], known)
    own = Listed("bench-3", place="third bench", speed=9600)
    (filled,) = completed([own], known)
    assert ("third bench", 9600, "/dev/ttyEX0") == (filled.place, filled.speed, filled.port)


def test_a_port_on_record_is_proposed_by_its_name(workshop: Workshop) -> None:
    """Its serial number tells who it is; an unknown port gets a plain name, and a listed one is left out."""
    known = on_record(workshop.book)
    ports = [port(OWN, "/dev/serial/by-id/ex-4711"), port(NAMELESS), port(OTHER)]

    assert [("bench-3", "/dev/serial/by-id/ex-4711"), ("printer-1", "/dev/ttyEX2")] == [
        (each.tag, each.port) for each in proposed(ports, [Listed("bench-4", port="/dev/ttyEX1")], known)
    ]
    assert ["printer-1", "printer-2"] == [each.tag for each in proposed(ports[1:], [], {})]


@pytest.mark.parametrize(
    ("address", "proof"),
    [
        ("/dev/ttyEX0", Proof.PROVEN),
        ("/dev/ttyEX1", Proof.ANOTHER),
        ("/dev/ttyEX2", Proof.ANOTHER),
        ("/dev/ttyEX9", Proof.NO_PORT),
        ("socket://bench-3:9000", Proof.NOT_PROVEN),
        ("", Proof.NO_PORT),
    ],
)
def test_only_a_serial_number_of_its_own_proves_a_port(workshop: Workshop, address: str, proof: Proof) -> None:
    """Nothing is opened: another device is another printer, a network address proves nothing."""
    known = {tag: each.marks for tag, each in on_record(workshop.book).items() if each.marks}
    ports = [port(OWN), port(OTHER), port(NAMELESS)]

    assert proof is looked_at(Listed("bench-3", port=address), ports, known).proof


def test_a_port_of_another_printer_is_named() -> None:
    """Two cables swapped at the table are told by name, seen or asked."""
    known = {"bench-3": PrinterMarks(OWN, "u-3"), "bench-4": PrinterMarks(OTHER, "u-4")}
    listed = Listed("bench-3", port="/dev/ttyEX1")
    seen = looked_at(listed, [port(OWN), port(OTHER)], known)
    said = answered(listed, PrinterMarks(NAMELESS, "u-4"), known)

    assert (Proof.ANOTHER, "its serial number is that of bench-4") == (seen.proof, seen.why)
    assert (Proof.ANOTHER, "it is the printer on record as bench-4") == (said.proof, said.why)
    assert Proof.PROVEN is answered(listed, PrinterMarks(NAMELESS, "u-3"), known).proof


def test_a_printer_without_a_record_is_proven_by_nothing() -> None:
    """What it announces is told, so that it can be listed."""
    found = answered(Listed("bench-9", port="/dev/ttyEX2"), PrinterMarks(NAMELESS, "", "ExampleFW", "Bench"), {})

    assert (Proof.NO_RECORD, "it announces Bench, ExampleFW") == (found.proof, found.why)
    assert OnRecord(Listed("a")).marks is None
