"""Whether it is the printer that carries the tag: asked before anything else."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from commission.asking.request import Ask, Release, Request
from commission.asking.response import Interrupted, InterruptionKind
from commission.dialect.commands import Effect, show_message
from commission.dialect.framing import RawLine
from commission.dialect.identity import _COMMON_UUID, Identity
from commission.dialect.replies import classify
from commission.evidence.findings import meeting
from commission.jobs.install import install_run
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identity import (
    Match,
    PrinterMarks,
    Surroundings,
    judge,
    left_on_here,
    likeness,
    prove,
    same_printer,
    twin_sentences,
)
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.settings.record import Sheet
from commission.session import End, Exchange
from tests.support.on_record import marks_on_record
from tests.support.scripted_phase import ScriptedPhase

CHIP = "fffe:0001"
WITH_SERIAL = PortIdentity("fffe:0002", "SN-0001", "1-2", "/dev/ttyUSB0")
NO_SERIAL = PortIdentity(CHIP, "", "1-3", "/dev/ttyUSB1")
SOCKET = PortIdentity("", "", "", "socket://127.0.0.1:7000")
FIRMWARE, MACHINE = "ExampleFW 102.1", "Bench"
OWN_UUID = "0f8e4d2c-1111-4222-8333-944455566677"


def marks(port: PortIdentity, uuid: str = "", firmware: str = FIRMWARE, machine: str = MACHINE) -> PrinterMarks:
    """The marks of an invented printer."""
    return PrinterMarks(port, uuid, firmware, machine)


def on_record(port: PortIdentity, uuid: str = "") -> meeting.PrinterMarks:
    """The finding that holds the marks of an invented printer."""
    return marks_on_record(marks(port, uuid))


def at(port: PortIdentity, **changed: str) -> PortIdentity:
    """The port with something changed."""
    return PortIdentity(**(vars(port) | changed))


@pytest.mark.parametrize(
    ("before", "now", "match"),
    [
        (marks(WITH_SERIAL), marks(at(WITH_SERIAL, path="/dev/ttyUSB7", location="1-4")), Match.SAME),
        (marks(WITH_SERIAL), marks(at(WITH_SERIAL, serial_number="B2")), Match.DIFFERENT),
        (marks(WITH_SERIAL), marks(WITH_SERIAL, firmware="ExampleFW 3"), Match.SAME),
        (marks(NO_SERIAL), marks(at(NO_SERIAL, path="/dev/ttyUSB9")), Match.SAME_PLACE),
        (marks(NO_SERIAL), marks(NO_SERIAL, machine="Other"), Match.UNCLEAR),
        (marks(NO_SERIAL), marks(at(NO_SERIAL, location="1-4")), Match.UNCLEAR),
        (marks(NO_SERIAL), marks(WITH_SERIAL), Match.DIFFERENT),
        (marks(NO_SERIAL, OWN_UUID), marks(at(NO_SERIAL, location="1-4"), OWN_UUID), Match.SAME),
        (marks(NO_SERIAL, OWN_UUID), marks(NO_SERIAL, OWN_UUID.replace("0f", "1f")), Match.DIFFERENT),
        (marks(SOCKET), marks(SOCKET), Match.SAME_PLACE),
        (marks(SOCKET), marks(at(SOCKET, path="socket://127.0.0.1:7001")), Match.UNCLEAR),
        (marks(SOCKET, OWN_UUID), marks(at(SOCKET, path="socket://127.0.0.1:7001"), OWN_UUID), Match.SAME),
    ],
)
def test_marks_are_compared_in_the_order_of_trust(before: PrinterMarks, now: PrinterMarks, match: Match) -> None:
    """Serial number or unique number first, then place with machine and firmware; an address alone is unclear."""
    assert match is likeness(before, now).match


def test_a_common_unique_number_is_no_mark() -> None:
    """The number that many builds share is not taken for one of the printer's own."""
    assert "" == PrinterMarks.of(SOCKET, Identity(uuid=f"{_COMMON_UUID}-0000-4000-8000-000000000000")).uuid
    assert OWN_UUID == PrinterMarks.of(SOCKET, Identity(uuid=OWN_UUID)).uuid


def test_the_first_run_has_nothing_to_compare_with() -> None:
    """Without a record nothing is asked, and that is said."""
    played = ScriptedPhase().play(same_printer(Surroundings("bench-3", SOCKET), Identity(firmware_name=FIRMWARE)))

    assert Match.FIRST is played.result.match
    assert [] == played.asked
    assert Match.FIRST.value == played.findings[meeting.PrinterMarks].match


def test_the_same_printer_is_not_asked_about() -> None:
    """A known serial number needs no question; another firmware on it is said."""
    phase = ScriptedPhase(recalled=[on_record(WITH_SERIAL)])
    played = phase.play(same_printer(Surroundings("bench-3", WITH_SERIAL), Identity(firmware_name="ExampleFW 3")))

    assert [] == played.asked
    assert played.result.firmware_changed
    assert "Its firmware is another than on record." in played.findings[meeting.PrinterMarks].sentences


def test_a_swapped_printer_ends_the_run_before_anything_is_sent() -> None:
    """Where the serial number differs and the operator says no, nothing was asked of the printer, and no mark kept."""
    sent: list[Request] = []
    phase = ScriptedPhase({"identity.same": False}, [on_record(WITH_SERIAL)], other=sent.append)

    with pytest.raises(Interrupted) as broken:
        phase.play(same_printer(Surroundings("bench-3", at(WITH_SERIAL, serial_number="B2")), Identity()))
    assert InterruptionKind.OTHER_PRINTER is broken.value.interruption.kind
    assert "choose the port of bench-3" in broken.value.interruption.detail
    assert [] == [request for request in sent if isinstance(request, Ask | Release)]


def test_the_operator_may_know_better() -> None:
    """With a yes the run goes on, and the record says that it looked like another printer."""
    phase = ScriptedPhase(recalled=[on_record(WITH_SERIAL)])
    played = phase.play(same_printer(Surroundings("bench-3", at(WITH_SERIAL, serial_number="B2")), Identity()))

    assert ["identity.same"] == played.asked
    assert Match.DIFFERENT is played.result.match
    assert "another printer" in played.findings[meeting.PrinterMarks].sentences[0]


def test_with_nobody_near_doubt_ends_the_run() -> None:
    """Unattended nothing is asked: what cannot be told is not gone on with."""
    here = Surroundings("bench-3", SOCKET, attended=False)
    phase = ScriptedPhase(recalled=[on_record(at(SOCKET, path="socket://127.0.0.1:1"))])

    with pytest.raises(Interrupted, match="nobody is there"):
        phase.play(same_printer(here, Identity(firmware_name=FIRMWARE, machine=MACHINE)))


def test_a_neighbour_is_called_by_its_name() -> None:
    """A printer whose marks are on record under another tag is named."""
    here = Surroundings("bench-3", WITH_SERIAL, others={"bench-4": marks(WITH_SERIAL)})
    found = judge(here, None, marks(WITH_SERIAL))

    assert Match.DIFFERENT is found.match
    assert "bench-4" in found.reasons[0]


def test_twins_are_told_apart_by_their_place() -> None:
    """Two boards without serial numbers in two known places are told apart, with the warning not to swap the plugs."""
    here = Surroundings("bench-3", NO_SERIAL, (at(NO_SERIAL, location="1-4", path="/dev/ttyUSB2"),))

    assert "told apart only by its USB place, 1-3" in " ".join(twin_sentences(here))


@pytest.mark.parametrize("places", [("", "1-4"), ("1-3", ""), ("1-3", "1-3")])
def test_twins_without_a_place_cannot_be_told_apart(places: tuple[str, str]) -> None:
    """Where the system names no place, the tool says that it cannot tell, and how to make sure."""
    here, there = (at(NO_SERIAL, location=place) for place in places)

    assert "Nothing tells them apart" in " ".join(twin_sentences(Surroundings("bench-3", here, (there,))))


def test_marks_survive_the_record() -> None:
    """What a run found of the printer gives the next run the same marks."""
    for port, uuid in ((WITH_SERIAL, OWN_UUID), (NO_SERIAL, ""), (SOCKET, "")):
        announced = Identity(firmware_name=FIRMWARE, machine=MACHINE, uuid=uuid or None)
        played = ScriptedPhase().play(same_printer(Surroundings("bench-3", port), announced))

        assert marks(port, uuid) == PrinterMarks.on_record(played.findings[meeting.PrinterMarks])


class FakeDisplay:
    """A printer with a display: keeps what it is sent, releases included. `grant` is the operator's answer."""

    def __init__(self, *, grant: bool = True) -> None:
        self.grant = grant
        self.sent: list[str] = []
        self.released: list[Release] = []

    def __call__(self, request: Request) -> object:
        """Answer a request."""
        if isinstance(request, Release):
            self.released.append(request)
            return self.grant
        if isinstance(request, Ask):
            assert "identity.prove" == request.release
            self.sent.append(request.command.text)
            return Exchange(request.command, (), (), End.ACKNOWLEDGED, 0.0, 0.1)
        return None


def test_the_tag_is_shown_under_a_release_that_moves_nothing() -> None:
    """One command to the display goes out, under a release for nothing but the host side."""
    display = FakeDisplay()
    played = ScriptedPhase({"identity.proved": "yes"}, other=display).play(prove("bench-3"))

    assert [show_message("bench-3").text] == display.sent
    assert [frozenset({Effect.HOST})] == [release.effects for release in display.released]
    assert played.findings[meeting.TagShown].seen is True


def test_without_the_release_nothing_is_shown() -> None:
    """A no sends nothing and leaves the printer unproved."""
    display = FakeDisplay(grant=False)
    played = ScriptedPhase(other=display).play(prove("bench-3"))

    assert [] == display.sent
    assert played.findings[meeting.TagShown].seen is None


def test_the_wrong_display_ends_the_run() -> None:
    """When another machine shows the tag, the run ends there."""
    with pytest.raises(Interrupted, match="does not show bench-3"):
        ScriptedPhase({"identity.proved": "no"}, other=FakeDisplay()).play(prove("bench-3"))


def answering(sent: list[str]) -> Callable[[Request], object]:
    """A printer that says who it is, and nothing else; what is sent is written down."""

    def respond(request: Request) -> object:
        if not isinstance(request, Ask):
            return None
        sent.append(request.command.text)
        lines = (f"FIRMWARE_NAME:{FIRMWARE} MACHINE_TYPE:{MACHINE} UUID:{OWN_UUID.replace('0f', '1f')}", "ok")
        replies = tuple(classify(RawLine.of(line)) for line in lines)
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.1)

    return respond


def test_a_repair_by_a_reflash_first_asks_whose_printer_it_is() -> None:
    """A run that begins with a reflash keeps no settings and opens no hold point at another printer than on record."""
    sent: list[str] = []
    background = Background(Surroundings("bench-3", SOCKET), Calendar(date(2031, 3, 14), date(2031, 3, 14)))
    phase = ScriptedPhase({"identity.same": False}, [on_record(SOCKET, OWN_UUID)], other=answering(sent))
    steps = install_run(
        Plan(seed=1, cycles=6), "R. Okafor", background, Sheet("bench-3", "2031-03-14"), Advice.INVERT_LOGIC
    )

    with pytest.raises(Interrupted) as broken:
        phase.play(steps)
    assert InterruptionKind.OTHER_PRINTER is broken.value.interruption.kind
    assert {"M115"} == set(sent)


@pytest.mark.parametrize(
    ("before", "asked"),
    [(marks(SOCKET, OWN_UUID.replace("0f", "1f")), False), (marks(SOCKET, OWN_UUID), True), (None, True)],
)
def test_what_a_broken_off_run_left_on_is_put_back_at_its_own_printer_only(
    before: PrinterMarks | None, *, asked: bool
) -> None:
    """A printer known by its unique number is not asked about; another one, or one without a record, is."""
    now = Identity(firmware_name=FIRMWARE, machine=MACHINE, uuid=OWN_UUID.replace("0f", "1f"))
    here = Surroundings("bench-3", SOCKET)
    recalled = [] if before is None else [marks_on_record(before)]
    played = ScriptedPhase({"identity.same": True}, recalled_here=recalled).play(left_on_here(here, now))

    assert asked is ("identity.same" in played.asked)
    with_nobody = ScriptedPhase(recalled_here=recalled)
    if asked:
        with pytest.raises(Interrupted, match="nobody is there"):
            with_nobody.play(left_on_here(replace(here, attended=False), now))
