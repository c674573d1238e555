"""Phase: is this the printer that carries this tag? Asked before anything else is, and before anything is written.

The owner's tag is the name; what tells one printer from another is the serial number of its USB device, a unique number
of its own in the firmware's answer, or at the least the place where it is plugged in. The firmware itself is a state:
the job changes it. A name like a port's, or a network address, is dealt out anew and proves nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from commission.asking.message import Tell, Weight
from commission.asking.phase import Phase, carried_out
from commission.asking.request import Choose, Confirm, Option, Release
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, ask, choose, confirm, establish, recall, release
from commission.dialect.commands import Effect, show_message
from commission.dialect.identity import Identity
from commission.evidence.findings import meeting
from commission.link.identity import PortIdentity, compare

SAME_PRINTER = Phase("same_printer", "Which printer this is", "which printer it is")
PROVE = "identity.prove"


@dataclass(frozen=True)
class PrinterMarks:
    """By what a printer can be known again.

    Attributes:
        port: of the USB device or the network address.
        uuid: the firmware's unique number; empty where there is none, or one that many printers share.
        firmware: as announced, with its version; a state, no mark of the machine.
        machine: as announced.
    """

    port: PortIdentity
    uuid: str = ""
    firmware: str = ""
    machine: str = ""

    @classmethod
    def of(cls, port: PortIdentity, identity: Identity | None) -> "PrinterMarks":
        """The marks of the printer that answered on this port."""
        if identity is None:
            return cls(port)
        own = "" if identity.common_uuid else identity.uuid or ""
        return cls(port, own, identity.firmware_name or "", identity.machine or "")

    @classmethod
    def on_record(cls, found: meeting.PrinterMarks) -> "PrinterMarks":
        """The marks as the record holds them."""
        return cls(found.port, found.uuid, found.firmware, found.machine)


@dataclass(frozen=True)
class Surroundings:
    """What was known before the port was opened.

    Attributes:
        tag: the owner's name for the printer.
        port: by what the port can be followed.
        twins: other ports present that nothing but their place tells from this one.
        others: the newest marks of the book's other printers, by tag.
        attended: somebody is there to say whether it is the printer, where that cannot be told.
        source: the source by which the operator wants the sensor read; empty for none named beforehand.
    """

    tag: str
    port: PortIdentity
    twins: tuple[PortIdentity, ...] = ()
    others: Mapping[str, PrinterMarks] | None = None
    attended: bool = True
    source: str = ""


class Match(Enum):
    """What comparing marks came to."""

    FIRST = "no earlier record to compare with"
    SAME = "the same printer"
    SAME_PLACE = "the same as far as its place or address tells"
    UNCLEAR = "cannot be told"
    DIFFERENT = "another printer"


@dataclass(frozen=True)
class Likeness:
    """Whether two sets of marks are one printer, with the reasons as sentences."""

    match: Match
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class SamePrinter:
    """What the phase came to: the printer's marks, how they compare, and whether its firmware is another."""

    marks: PrinterMarks
    match: Match
    firmware_changed: bool = False


def likeness(before: PrinterMarks, now: PrinterMarks) -> Likeness:
    """Compare the marks of a printer with those on record.

    The order of trust: a unique number or a serial number of its own; then the USB place with the same machine and
    firmware; an address alone decides nothing.
    """
    port = compare(before.port, now.port)
    by_serial = bool(before.port.own_serial and now.port.own_serial)
    if before.uuid and now.uuid and not (by_serial and port.same is not None):
        if before.uuid == now.uuid:
            return Likeness(Match.SAME, ("It announces the same unique number as on record.",))
        return Likeness(Match.DIFFERENT, ("It announces another unique number than on record.",))
    said = f"By its port: {port.reason}."
    if by_serial and port.same is not None:
        return Likeness(Match.SAME if port.same else Match.DIFFERENT, (said,))
    if port.same is False and before.port.usb_id and now.port.usb_id:
        return Likeness(Match.DIFFERENT, (said,))
    if port.same and (before.machine, before.firmware) == (now.machine, now.firmware):
        return Likeness(Match.SAME_PLACE, (said, "Another printer of the same kind in its place would look the same."))
    return Likeness(Match.UNCLEAR, (said, *_announced_otherwise(before, now)))


def _announced_otherwise(before: PrinterMarks, now: PrinterMarks) -> tuple[str, ...]:
    pairs = (("machine", before.machine, now.machine), ("firmware", before.firmware, now.firmware))
    return tuple(
        f"The {what} announced on record: {old or 'none'}; now: {new or 'none'}."
        for what, old, new in pairs
        if old != new
    )


def judge(surroundings: Surroundings, before: PrinterMarks | None, now: PrinterMarks) -> Likeness:
    """Compare with the tag's own record, and with the records of the others."""
    found = Likeness(Match.FIRST, ()) if before is None else likeness(before, now)
    for tag, marks in (surroundings.others or {}).items():
        if found.match is not Match.SAME and likeness(marks, now).match is Match.SAME:
            return Likeness(Match.DIFFERENT, (f"By its marks it is the printer on record as {tag}.",))
    return found


def same_printer(
    surroundings: Surroundings, identity: Identity | None, before: PrinterMarks | None = None
) -> Steps[SamePrinter]:
    """Compare the printer with the tag's last record and ask where it differs or cannot be told.

    Args:
        surroundings: what was known before the port was opened.
        identity: what the printer announces now.
        before: the marks to compare with, where they are known; else those of the tag's earlier runs.

    Raises:
        Interrupted: the operator says that it is another printer.
    """
    phase = SAME_PRINTER.titled(f"Which printer this is: {surroundings.tag}")
    return (yield from carried_out(phase, _compared(surroundings, identity, before)))


def _compared(surroundings: Surroundings, identity: Identity | None, before: PrinterMarks | None) -> Steps[SamePrinter]:
    if before is None:
        earlier = yield from recall(meeting.PrinterMarks, earlier=True)
        before = None if earlier is None else PrinterMarks.on_record(earlier)
    now = PrinterMarks.of(surroundings.port, identity)
    found = judge(surroundings, before, now)
    twins = twin_sentences(surroundings)
    if found.match in (Match.DIFFERENT, Match.UNCLEAR):
        yield from _confirmed(surroundings, found, twins)
    elif twins:
        yield Tell(twins, heading="Boards of the same kind", weight=Weight.CAUTION)
    changed = before is not None and before.firmware != now.firmware
    state = ("Its firmware is another than on record.",) if changed else ()
    yield from establish(
        meeting.PrinterMarks(
            sentences=(f"{surroundings.tag}: {found.match.value}.", *found.reasons, *twins, *state),
            port=now.port,
            uuid=now.uuid,
            firmware=now.firmware,
            machine=now.machine,
            match=found.match.value,
            tag=surroundings.tag,
            firmware_changed=changed,
        )
    )
    return SamePrinter(now, found.match, firmware_changed=changed)


def same_as_in_run(surroundings: Surroundings, same: SamePrinter, before: PrinterMarks) -> Steps[Match]:
    """Compare with the marks that the run itself met before it was broken off; what differs is asked, but once.

    Args:
        surroundings: what was known before the port was opened.
        same: how the printer compares with earlier runs, which was asked about already.
        before: the marks of the run.

    Raises:
        Interrupted: the operator says that it is another printer.
    """
    doubts = (Match.DIFFERENT, Match.UNCLEAR)
    found = judge(surroundings, before, same.marks)
    if found.match in doubts and same.match not in doubts:
        yield from _confirmed(surroundings, found, twin_sentences(surroundings))
    return found.match


def left_on_here(surroundings: Surroundings, identity: Identity | None) -> Steps[None]:
    """Is this the printer that a broken-off run left with something switched on? Asked before anything is put back.

    Raises:
        Interrupted: the operator says that it is another printer, or nobody is there and it cannot be told.
    """
    marks = (yield from recall(meeting.PrinterMarks)) or (yield from recall(meeting.PrinterMarks, earlier=True))
    before = None if marks is None else PrinterMarks.on_record(marks)
    found = judge(surroundings, before, PrinterMarks.of(surroundings.port, identity))
    if found.match is Match.FIRST:
        found = Likeness(Match.UNCLEAR, ("Nothing on record tells which printer that was.",))
    if found.match not in (Match.SAME, Match.SAME_PLACE):
        left_on = f"An earlier run of {surroundings.tag} was broken off with something switched on or changed."
        yield from _confirmed(surroundings, found, (left_on, *twin_sentences(surroundings)))


def _confirmed(surroundings: Surroundings, found: Likeness, twins: Sequence[str]) -> Steps[None]:
    tag = surroundings.tag
    if not surroundings.attended:
        raise _other(f"It may not be {tag}, and nobody is there to look: {' '.join((*found.reasons, *twins))}")
    differs = found.match is Match.DIFFERENT
    heading = f"This looks like another printer than {tag}." if differs else f"Whether this is {tag} cannot be told."
    lines = (heading, *found.reasons, *twins, "Look at the machine: nothing but a question was sent to it so far.")
    question = f"Is the printer in front of you really {tag} (for example with a new board or in another socket)?"
    if not (yield from confirm(Confirm("identity.same", question, lines, weight=Weight.DANGER))):
        raise _other(f"It is not {tag}. Nothing was changed on it; choose the port of {tag} and start again.")


def _other(detail: str) -> Interrupted:
    return Interrupted(Interruption(InterruptionKind.OTHER_PRINTER, detail))


def twin_sentences(surroundings: Surroundings) -> tuple[str, ...]:
    """What tells the port from others of the same kind present now, or that nothing does; empty without others."""
    if not surroundings.twins:
        return ()
    here = surroundings.port.location
    told_apart = bool(here) and all(twin.location and twin.location != here for twin in surroundings.twins)
    count = len(surroundings.twins)
    same_kind = f"{count} other board{'' if count == 1 else 's'} of the same kind, without a serial number, plugged in."
    if told_apart:
        return (same_kind, f"This one is told apart only by its USB place, {here}: do not swap the plugs.")
    return (same_kind, "Nothing tells them apart: make sure by the display (--prove), or unplug the others.")


def prove(tag: str) -> Steps[None]:
    """Show the tag on the printer's own display and have the operator look; nothing moves.

    Raises:
        Interrupted: another machine shows it, or this one does not.
    """
    lines = (f"The text {tag!r} goes to the printer's display and stays there until something replaces it.",)
    effects = frozenset({Effect.HOST})
    if not (yield from release(Release(PROVE, "show the tag on the printer's display", lines, effects))):
        yield from establish(
            meeting.TagShown(sentences=("The tag was not shown on the display.",), shown=False, seen=None)
        )
        return
    yield from ask(show_message(tag), release=PROVE)
    options = (
        Option("yes", f"yes, it shows {tag}"),
        Option("no", "no, another machine shows it, or this one shows nothing", "the run ends"),
        Option("none", "the printer has no display", "it stays unproved"),
    )
    answer = yield from choose(Choose("identity.proved", "Does the printer in front of you show it?", options))
    if answer == "no":
        raise _other(f"The printer in front of you does not show {tag}: the port belongs to another one.")
    seen = answer == "yes"
    said = "The printer showed its tag on its display." if seen else "The printer has no display to prove itself by."
    yield from establish(meeting.TagShown(sentences=(said,), shown=True, seen=seen))
