"""The due dates as an iCalendar file (RFC 5545), to be read by any calendar program."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from hashlib import sha256

from icalendar import Alarm, Calendar, Event

from commission.command_lines import CHECK, FULL_CHECK, line
from commission.files.kinds import CALENDAR_MAKER
from commission.records.due import Due, Standing

REMIND_DAYS_BEFORE = 3


def calendar_text(dues: Iterable[Due], now: datetime) -> bytes:
    """One all-day event a printer, on the day its next check is due, with a reminder three days before.

    The same printer keeps the same UID, so that a newer file moves the event instead of adding another.

    Args:
        dues: how each printer stands.
        now: written as the time the file was made.
    """
    calendar = Calendar()
    calendar.add("prodid", CALENDAR_MAKER)
    calendar.add("version", "2.0")
    for due in dues:
        calendar.add_component(_event(due, now))
    return bytes(calendar.to_ical())


def _event(due: Due, now: datetime) -> Event:
    event = Event()
    event.add("uid", f"{sha256(due.tag.encode()).hexdigest()[:24]}@commission.invalid")
    event.add("dtstamp", now)
    event.add("dtstart", due.on)
    event.add("dtend", due.on + timedelta(days=1))
    event.add("summary", f"{due.tag}: {due.what} of the filament sensor")
    event.add("description", _description(due))
    event.add("transp", "TRANSPARENT")
    if due.standing is Standing.IN_DATE:
        event.add_component(_reminder(due))
    return event


def _description(due: Due) -> str:
    said = [f"{due.standing.value.capitalize()}: {due.because}."]
    if due.full_on:
        said.append(f"Brief check by {due.brief_on}, full check by {due.full_on}.")
    command = FULL_CHECK if due.what == "full check" else CHECK
    said.append(f"Run: {line(command, due.tag, '')}")
    return "\n".join(said)


def _reminder(due: Due) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", timedelta(days=-REMIND_DAYS_BEFORE))
    alarm.add("description", f"{due.tag}: {due.what} in {REMIND_DAYS_BEFORE} days")
    return alarm
