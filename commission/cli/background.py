"""Gathers what the book and the computer know of a printer before its port is opened."""

from dataclasses import replace
from datetime import date

from commission.asking.request import Confirm
from commission.desk.base import Desk
from commission.evidence.findings import meeting
from commission.evidence.findings.settings import SettingsAtCheck, SettingsReported
from commission.evidence.found import Established
from commission.judge.plan import Plan
from commission.link.discover import FoundPort, identify, ports_about
from commission.link.identity import PortIdentity
from commission.procedure.meeting.background import Background, Continuation, SeriesOnRecord
from commission.procedure.meeting.identity import PrinterMarks, Surroundings
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.several_sources import ALL_SENSORS, BETWEEN
from commission.procedure.meeting.unsafe import OnRecord, RaisedBefore
from commission.procedure.settings.record import SNAPSHOTS
from commission.procedure.settings.reflash import REFLASH
from commission.records.book import Book, BookError
from commission.records.checks import check_records
from commission.records.continuation import BrokenOff, broken_off
from commission.records.due import due_of
from commission.records.hidden_failures import hidden_failures
from commission.records.open_items import unsafe_by_phase
from commission.records.purposes import INSTALL
from commission.records.series import all_series
from commission.records.several import sensors_on_record
from commission.records.unsettled import left_standing
from commission.vocabulary import Outcome, Verdict

SETTINGS: tuple[type[SettingsReported], ...] = (*SNAPSHOTS, SettingsAtCheck)
"""The findings that hold a whole settings report, be it of a check."""
PASSED = (Verdict.PASS, Verdict.CONDITIONAL)


def background_of(
    book: Book,
    tag: str,
    port: str,
    today: date,
    *,
    prove: bool = False,
    broken: BrokenOff | None = None,
    attended: bool = True,
    purpose: str = INSTALL,
    source: str = "",
) -> Background:
    """Everything a run begins with.

    Args:
        book: the record book.
        tag: the owner's name for the printer.
        port: as the operator named it.
        today: the day of the run.
        prove: show the tag on the printer's display first.
        broken: the run to take up again.
        attended: somebody is there to say whether it is the printer.
        purpose: what the run is for.
        source: how the operator wants the sensor read; empty for nothing named beforehand.
    """
    sensors = sensors_on_record(book, tag)
    in_part = bool(sensors) and bool(source) and source != ALL_SENSORS and BETWEEN not in source
    return Background(
        surroundings=replace(surroundings_of(book, tag, port, ports_about(port), attended=attended), source=source),
        calendar=calendar_of(book, tag, today),
        continuation=None if broken is None else _continuation(book, broken),
        series=series_of(book, tag, broken),
        on_record=standing_beside(book, tag, purpose, broken, in_part=in_part),
        prove=prove,
        sensors=sensors,
    )


def standing_beside(
    book: Book, tag: str, purpose: str, broken: BrokenOff | None = None, *, in_part: bool = False
) -> OnRecord:
    """What earlier runs found wrong and a run of that purpose leaves standing, by what it comes to."""
    taken_up = "" if broken is None else broken.number
    passed, conditional = (
        tuple(each.sentence for each in left_standing(book, tag, purpose, verdict, taken_up, in_part=in_part))
        for verdict in (Verdict.PASS, Verdict.CONDITIONAL)
    )
    return OnRecord(passed, conditional)


def series_of(book: Book, tag: str, broken: BrokenOff | None = None) -> SeriesOnRecord:
    """The printer's series of trials: that of the run which is taken up, or the one that a new run goes on with."""
    series = all_series(book, tag)
    sensors = series.sensors(tag)
    if broken is None:
        return SeriesOnRecord(series.next_run(tag), by_sensor={each: series.next_run(tag, each) for each in sensors})
    series.settle(broken.number)
    at_start = {name: series.at_start_of(broken.number, name) for name in broken.done}
    return SeriesOnRecord(series.of(tag), at_start, {each: series.of(tag, each) for each in sensors})


def surroundings_of(book: Book, tag: str, port: str, ports: list[FoundPort], *, attended: bool = True) -> Surroundings:
    """The port and its neighbours, and the marks of the book's other printers."""
    here = identify(port, ports)
    every = book.once("marks", lambda: _marks_on_record(book))
    others = {other: marks for other, marks in every.items() if other != tag}
    return Surroundings(tag, here, twins_of(here, ports), others, attended=attended)


def _marks_on_record(book: Book) -> dict[str, PrinterMarks]:
    """The newest marks of every printer."""
    found: dict[str, PrinterMarks] = {}
    for tag, record in book.newest_findings([meeting.PrinterMarks.name()]):
        told = record.entry
        if isinstance(told, Established) and isinstance(told.finding, meeting.PrinterMarks):
            found[tag] = PrinterMarks.on_record(told.finding)
    return found


def twins_of(here: PortIdentity, ports: list[FoundPort]) -> tuple[PortIdentity, ...]:
    """Other ports with the same chip, where this one has no serial number of its own."""
    if not here.usb_id or here.own_serial:
        return ()
    others = (port.identity for port in ports if port.device != here.path)
    return tuple(other for other in others if other.usb_id == here.usb_id and not other.own_serial)


def calendar_of(book: Book, tag: str, today: date, *, full: bool = True) -> Calendar:
    """Since when the printer is protected, how often that failed unnoticed, and what is due already."""
    sensors = sensors_on_record(book, tag)
    every = check_records(book, tag, sensors[0] if sensors else "")
    records = [record for record in every if record.run.outcome is Outcome.COMPLETE]
    passed = [record.day for record in records if record.run.verdict in PASSED and record.measured.trials]
    due = due_of(book, tag, today)
    return Calendar(
        today=today,
        first_day=min([*passed, today]),
        hidden_failures=hidden_failures(book, records),
        full=full,
        full_due=None if due is None else due.full_on,
    )


async def offered(desk: Desk, book: Book, tag: str, purpose: str) -> BrokenOff | None:
    """The broken-off run, if there is one and the operator takes it up again."""
    broken = broken_off(book, tag, purpose)
    if broken is None:
        return None
    lines = (
        f"Broken off {broken.last_at[:16].replace('T', ' ')}: {broken.why.rstrip('.')}.",
        f"Done: {', '.join(broken.done).replace('_', ' ')}.",
        "Taken up again, what is done stays done unless something has made it void. With no, a new run begins, and the "
        "broken-off one stays in the book as it is.",
    )
    question = f"The run {broken.number} did not come to its end. Take it up again?"
    return broken if await desk.confirm(Confirm("install.resume", question, lines)) else None


def plan_of(broken: BrokenOff) -> Plan:
    """The plan as it was fixed when the run began; it is not fixed anew because the run was broken off.

    Raises:
        BookError: the run was begun without one, so that it cannot be taken up with trials.
    """
    if broken.started.plan is None:
        raise BookError(f"The run {broken.number} holds no plan of its trials. Answer no to taking it up again.")
    return broken.started.plan


def _continuation(book: Book, broken: BrokenOff) -> Continuation:
    newest = broken.newest(*SETTINGS)
    raised = (RaisedBefore(phase, item.text, item.settled_by) for phase, item in unsafe_by_phase(book, broken.number))
    # what the run itself changed after its last report cannot be told from what somebody else changed
    comparable = newest is not None and newest[0] > broken.last_change
    return Continuation(
        run=broken.number,
        broken_off_at=broken.last_at,
        why=broken.why,
        done=broken.done,
        marks=_marks(broken),
        settings_digest=newest[1].digest if newest is not None and comparable else "",
        unsafe=tuple(raised),
    )


def _marks(broken: BrokenOff) -> PrinterMarks | None:
    """The printer's marks as the run left them: a firmware that it put on the board itself is no change since."""
    found, flashed = broken.newest(meeting.PrinterMarks), broken.newest(meeting.IdentityAfterReflash)
    if found is None:
        return None
    marks = PrinterMarks.on_record(found[1])
    if flashed is None or flashed[0] < found[0] or REFLASH.name not in broken.done:
        return marks
    return replace(marks, firmware=flashed[1].firmware_name or "")


__all__ = ["background_of", "calendar_of", "offered", "plan_of", "surroundings_of", "twins_of"]
