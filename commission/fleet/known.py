"""What the book has of each printer that a roster can say: marks, place, port, speed, source and wiring."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.evidence.findings import meeting
from commission.evidence.findings.loop import FailSafeFound
from commission.evidence.found import Established
from commission.evidence.measured import Trial
from commission.evidence.runs import Opened, RunStarted
from commission.fleet.roster import Listed
from commission.link.discover import FoundPort
from commission.procedure.meeting.identity import PrinterMarks
from commission.records.book import Book
from commission.records.history import Run, deciding_runs
from commission.vocabulary import FailSafe, Outcome


@dataclass(frozen=True)
class OnRecord:
    """One printer of the book.

    Attributes:
        listed: as a roster would list it.
        marks: by which it can be known again; None where no run came so far.
    """

    listed: Listed
    marks: PrinterMarks | None = None


def on_record(book: Book) -> dict[str, OnRecord]:
    """Every printer of the book, in alphabetical order.

    Raises:
        BookError: an entry that is needed cannot be read.
    """
    printers = deciding_runs(book)
    found = {tag: OnRecord(_of_newest_run(book, tag, done)) for tag, done in printers.items()}
    for tag, record in book.newest_findings([kind.name() for kind in (meeting.PrinterMarks, FailSafeFound)]):
        if not isinstance(record.entry, Established) or tag not in found:
            continue
        known = found[tag]
        match record.entry.finding:
            case meeting.PrinterMarks() as marks:
                known = replace(known, marks=PrinterMarks.on_record(marks))
            case FailSafeFound(fail_safe=wiring) if wiring is not FailSafe.NOT_TESTED:
                known = replace(known, listed=replace(known.listed, wiring=wiring.value))
        found[tag] = known
    return found


def _of_newest_run(book: Book, tag: str, done: Sequence[Run]) -> Listed:
    """Place, port, speed and source of the newest run that came to its end, else of the newest."""
    complete = [run for run in done if run.outcome is Outcome.COMPLETE]
    listed = Listed(tag)
    for record in book.records(RunStarted, Opened, Trial, run=(complete or list(done))[-1].number):
        match record.entry:
            case RunStarted(site=site, port=port):
                listed = replace(listed, place=site, port=port)
            case Opened(port=port, speed_baud=speed):
                listed = replace(listed, port=port, speed=speed)
        if record.about.source:
            listed = replace(listed, source=record.about.source)
    return listed


def completed(roster: Sequence[Listed], known: dict[str, OnRecord]) -> list[Listed]:
    """The roster with what the book knows where the roster says nothing, and the printers it leaves out behind it."""
    found = [_filled(each, known.get(each.tag)) for each in roster]
    tags, ports = {each.tag for each in roster}, {each.port for each in found}
    left_out = [each.listed for tag, each in known.items() if tag not in tags]
    return [*found, *(replace(each, port="") if each.port in ports else each for each in left_out)]


def _filled(listed: Listed, known: OnRecord | None) -> Listed:
    if known is None:
        return listed
    missing = {key: value for key, value in vars(known.listed).items() if value and not getattr(listed, key)}
    return replace(listed, **missing)


def proposed(ports: Sequence[FoundPort], roster: Sequence[Listed], known: dict[str, OnRecord]) -> list[Listed]:
    """A printer for each port that the roster lacks; by the record's name where the port tells who it is."""
    taken = {each.port for each in roster}
    used = {each.tag for each in roster} | set(known)
    found: list[Listed] = []
    for port in ports:
        if taken & {port.device, port.stable_link, port.place_link}:
            continue
        tag = _known_as(port, known, {each.tag for each in (*roster, *found)})
        if not tag:
            tag = next(name for number in range(1, len(used) + 2) if (name := f"printer-{number}") not in used)
        used.add(tag)
        name = port.stable_link if port.identity.own_serial and port.stable_link else port.place_link
        found.append(Listed(tag, port=name or port.device, notes=_what(port)))
    return found


def _known_as(port: FoundPort, known: dict[str, OnRecord], listed: set[str]) -> str:
    """The printer whose serial number the port has; empty where none is sure."""
    serial = port.identity.own_serial
    sure = [
        tag
        for tag, each in known.items()
        if serial and each.marks and each.marks.port.own_serial == serial and each.marks.port.usb_id == port.usb_id
    ]
    return sure[0] if len(sure) == 1 and sure[0] not in listed else ""


def _what(port: FoundPort) -> str:
    said = " ".join(part for part in (port.product or port.description, port.manufacturer) if part)
    return "".join(sign for sign in said if sign.isprintable())[:100]
