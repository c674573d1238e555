"""What is due when, and why; notes, consent and the calendar file."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from commission.evidence.findings.meeting import Consent, NextCheck
from commission.evidence.runs import Note
from commission.files.kinds import CALENDAR_MAKER
from commission.records.book import Book
from commission.records.consent import consent_on_record
from commission.records.due import IN_DOUBT, Due, Standing, due_list, due_of
from commission.records.due_calendar import calendar_text
from commission.records.notes import CONSENT_WITHDRAWN, NUISANCE, REMARK, TRIGGERS, add_note, notes
from commission.records.purposes import FULL_CHECK
from commission.records.union import join
from tests.records.books import Workshop

FIRST_DAY = date(2031, 3, 14)


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """A workshop whose printer bench-3 was installed and passed on 14 March 2031."""
    workshop = Workshop(tmp_path)
    workshop.whole_run("bench-3/2031-03-14/1")
    return workshop


def due_on(workshop: Workshop, day: date) -> Due:
    """How bench-3 stands on that day."""
    return next(due for due in due_list(workshop.book, day) if due.tag == "bench-3")


def test_the_usual_intervals_hold_without_an_agreement(workshop: Workshop) -> None:
    """A brief check is due after 30 days and a full one after 182; common practice, no source."""
    found = due_on(workshop, FIRST_DAY)

    assert (Standing.IN_DATE, "brief check", date(2031, 4, 13)) == (found.standing, found.what, found.on)
    assert date(2031, 9, 12) == found.full_on


def test_the_agreed_dates_come_first(workshop: Workshop) -> None:
    """What the owner agreed to is what is due."""
    workshop.begin("bench-3/2031-03-14/2", "full check")
    workshop.find("bench-3/2031-03-14/2", NextCheck, brief_due="2031-03-21", full_due="2031-05-01")
    workshop.end("bench-3/2031-03-14/2")
    found = due_on(workshop, FIRST_DAY)

    assert (Standing.SOON, date(2031, 3, 21), date(2031, 5, 1)) == (found.standing, found.on, found.full_on)


def test_a_missed_date_is_overdue(workshop: Workshop) -> None:
    """After the day the printer is overdue, and once the full check is missed too that one is what comes next."""
    assert (Standing.OVERDUE, "brief check") == (
        due_on(workshop, date(2031, 4, 20)).standing,
        due_on(workshop, date(2031, 4, 20)).what,
    )
    assert "since 7 days" == due_on(workshop, date(2031, 4, 20)).because
    assert FULL_CHECK == due_on(workshop, date(2031, 12, 1)).what


def test_a_brief_check_moves_only_its_own_date(workshop: Workshop) -> None:
    """A brief check a month later leaves the date of the full check where it was."""
    workshop.days_pass(28)
    workshop.whole_run("bench-3/2031-04-11/1", "brief check")
    found = due_on(workshop, date(2031, 4, 11))

    assert (date(2031, 5, 11), date(2031, 9, 12)) == (found.brief_on, found.full_on)


@pytest.mark.parametrize("what", TRIGGERS)
def test_some_notes_make_it_due_at_once(workshop: Workshop, what: str) -> None:
    """Each of them calls for a check, and the next check answers it."""
    add_note(workshop.book, "bench-3", what, "seen this morning")
    found = due_on(workshop, FIRST_DAY)

    assert (Standing.AT_ONCE, FULL_CHECK) == (found.standing, found.what)
    assert TRIGGERS[what] in found.because
    workshop.whole_run("bench-3/2031-03-14/2", "full check")
    assert Standing.IN_DATE is due_on(workshop, FIRST_DAY).standing


def test_what_calls_for_a_full_check_is_not_settled_by_a_brief_one(workshop: Workshop) -> None:
    """After a nuisance trip the printer stays due at once until a full check was completed."""
    add_note(workshop.book, "bench-3", NUISANCE, "It paused with filament in.")
    workshop.whole_run("bench-3/2031-03-14/2", "brief check")
    after_brief = due_on(workshop, FIRST_DAY).standing
    workshop.whole_run("bench-3/2031-03-14/3", "full check")

    assert (Standing.AT_ONCE, Standing.IN_DATE) == (after_brief, due_on(workshop, FIRST_DAY).standing)


def test_a_remark_changes_no_date(workshop: Workshop) -> None:
    """A plain remark is kept and makes nothing due."""
    written = add_note(workshop.book, "bench-3", REMARK, " dusty ")

    (note,) = notes(workshop.book.records(Note), "bench-3")
    assert (written.sequence, "dusty") == (note.sequence, note.entry.text)
    assert Standing.IN_DATE is due_on(workshop, FIRST_DAY).standing


def test_a_failed_check_is_due_at_once(workshop: Workshop) -> None:
    """After a fail nothing is in date, even when the failed check was the unattended one."""
    workshop.whole_run("bench-3/2031-03-14/2", "condition check", verdict="fail")

    assert Standing.AT_ONCE is due_on(workshop, FIRST_DAY).standing


def test_an_unattended_check_moves_no_date(workshop: Workshop) -> None:
    """What needs no hands does not stand for what does."""
    workshop.days_pass(20)
    workshop.whole_run("bench-3/2031-04-03/1", "condition check")

    assert date(2031, 4, 13) == due_on(workshop, date(2031, 4, 3)).on


def test_the_most_urgent_comes_first(workshop: Workshop) -> None:
    """Printers are listed by urgency: due at once, overdue, soon, in date."""
    workshop.whole_run("bench-4/2031-03-14/1", tag="bench-4", verdict="fail")
    workshop.days_pass(40)
    workshop.whole_run("bench-5/2031-04-23/1", tag="bench-5")

    dues = due_list(workshop.book, date(2031, 4, 23))

    assert ["bench-4", "bench-3", "bench-5"] == [due.tag for due in dues]
    assert [Standing.AT_ONCE, Standing.OVERDUE, Standing.IN_DATE] == [due.standing for due in dues]


@pytest.mark.parametrize(("what", "text"), [("gossip", "x"), (REMARK, "  ")])
def test_a_note_that_says_nothing_is_refused(workshop: Workshop, what: str, text: str) -> None:
    """An unknown kind and an empty text are refused, and nothing is written."""
    before = list(workshop.book.rows())

    with pytest.raises(ValueError, match="note"):
        add_note(workshop.book, "bench-3", what, text)
    assert before == list(workshop.book.rows())


def test_consent_is_what_was_said_last(workshop: Workshop) -> None:
    """Without a word there is no consent; granted it holds until it is refused or withdrawn, for one printer only."""
    said = []
    said.append(consent_on_record(workshop.book, "bench-3").granted)
    workshop.find("bench-3/2031-03-14/1", Consent, granted=True, by="R. Okafor")
    said.append(consent_on_record(workshop.book, "bench-3").granted)
    said.append(consent_on_record(workshop.book, "bench-4").granted)
    add_note(workshop.book, "bench-3", CONSENT_WITHDRAWN, "people print at night now")
    said.append(consent_on_record(workshop.book, "bench-3").granted)
    workshop.find("bench-3/2031-03-14/1", Consent, granted=True, by="R. Okafor")
    said.append(consent_on_record(workshop.book, "bench-3").granted)
    workshop.find("bench-3/2031-03-14/1", Consent, granted=False, by="R. Okafor")
    said.append(consent_on_record(workshop.book, "bench-3").granted)

    assert [False, True, False, False, True, False] == said


def test_the_calendar_file_is_read_back_by_the_library(workshop: Workshop) -> None:
    """One all-day event a printer, on the day it is due, with a reminder three days before (RFC 5545)."""
    data = calendar_text(due_list(workshop.book, FIRST_DAY), datetime(2031, 3, 14, 9, 0, tzinfo=UTC))
    events = Calendar.from_ical(data).walk("VEVENT")

    assert [date(2031, 4, 13)] == [event.decoded("dtstart") for event in events]
    assert [date(2031, 4, 14)] == [event.decoded("dtend") for event in events]  # not part of it: RFC 5545, 3.6.1
    assert ["bench-3: brief check of the filament sensor"] == [str(event["summary"]) for event in events]
    told = str(events[0]["description"]).split("\n")
    assert "Brief check by 2031-04-13, full check by 2031-09-12." == told[1], told
    assert "Run: commission check bench-3 --port PORT" == told[2]
    (reminder,) = events[0].walk("VALARM")
    assert timedelta(days=-3) == reminder.decoded("trigger")
    assert "bench-3: brief check in 3 days" == str(reminder["description"])


def test_the_calendar_file_keeps_to_the_form() -> None:
    """Lines end in CR LF and have at most 75 octets, whatever a tag is called (RFC 5545, 3.1)."""
    due = Due("bänk-3, " + "long " * 20, Standing.OVERDUE, "brief check", FIRST_DAY, "since 3; days", None, None, None)
    data = calendar_text([due], datetime(2031, 3, 14, 9, 0, tzinfo=UTC))

    assert data.endswith(b"\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert 75 >= max(len(line) for line in data.split(b"\r\n"))
    assert due.tag in str(Calendar.from_ical(data).walk("VEVENT")[0]["summary"])


def test_a_printer_keeps_its_event(workshop: Workshop) -> None:
    """A later file has the same identifier for the same printer, so that the event moves."""
    now = datetime(2031, 3, 14, 9, 0, tzinfo=UTC)
    before = Calendar.from_ical(calendar_text(due_list(workshop.book, FIRST_DAY), now)).walk("VEVENT")[0]
    add_note(workshop.book, "bench-3", NUISANCE, "at night")
    after = Calendar.from_ical(calendar_text(due_list(workshop.book, FIRST_DAY), now)).walk("VEVENT")[0]

    assert str(before["uid"]) == str(after["uid"])
    assert before.decoded("dtstart") != after.decoded("dtstart")


def test_one_printer_is_asked_for_by_its_tag(workshop: Workshop) -> None:
    """It stands as in the list; of one that the book does not know nothing is said."""
    assert due_on(workshop, FIRST_DAY) == due_of(workshop.book, "bench-3", FIRST_DAY)
    assert due_of(workshop.book, "bench-4", FIRST_DAY) is None


@pytest.mark.parametrize(
    ("today", "standing", "what", "because"),
    [
        (date(2031, 5, 23), Standing.IN_DATE, "brief check", "in 8 days"),
        (date(2031, 5, 24), Standing.SOON, "brief check", "in 7 days"),
        (date(2031, 5, 31), Standing.SOON, "brief check", "in 0 days"),
        (date(2031, 6, 1), Standing.OVERDUE, "brief check", "since 1 days"),
        (date(2031, 6, 10), Standing.OVERDUE, "brief check", "since 10 days"),
        (date(2031, 6, 11), Standing.OVERDUE, "full check", "since 11 days"),
    ],
)
def test_each_day_has_its_standing(
    workshop: Workshop, today: date, standing: Standing, what: str, because: str
) -> None:
    """A week before it is due soon, behind the day it is overdue; a missed full check includes the brief one."""
    agreed(workshop, "2031-05-31", "2031-06-10")
    found = due_on(workshop, today)

    assert (standing, what, because) == (found.standing, found.what, found.because)


def agreed(workshop: Workshop, brief: str, full: str) -> None:
    """A full check in which these days were agreed."""
    workshop.begin("bench-3/2031-03-14/2", "full check")
    workshop.find("bench-3/2031-03-14/2", NextCheck, brief_due=brief, full_due=full)
    workshop.end("bench-3/2031-03-14/2")


def test_of_two_checks_on_a_day_the_full_one_is_due(workshop: Workshop) -> None:
    """It includes the brief one."""
    agreed(workshop, "2031-05-31", "2031-05-31")

    assert "full check" == due_on(workshop, FIRST_DAY).what


def test_a_check_that_was_not_judged_is_due_at_once(workshop: Workshop) -> None:
    """What came of it is not known; the next one says it."""
    workshop.whole_run("bench-3/2031-03-14/2", "brief check", verdict="not judged")
    found = due_on(workshop, FIRST_DAY)

    assert (Standing.AT_ONCE, "full check") == (found.standing, found.what)
    assert "its last brief check (2031-03-14) was not judged" == found.because


def test_a_note_counts_until_a_full_check(tmp_path: Path) -> None:
    """The first entry of a book may be one, and no brief check answers it."""
    workshop = Workshop(tmp_path)
    add_note(workshop.book, "bench-3", NUISANCE, "It paused with filament in.")
    workshop.whole_run("bench-3/2031-03-14/1", "brief check")

    assert TRIGGERS[NUISANCE] in due_on(workshop, FIRST_DAY).because


@pytest.mark.parametrize(
    ("purpose", "verdict", "outcome", "doubt"),
    [
        ("full check", "pass", "complete", True),
        ("condition check", "fail", "complete", True),
        ("condition check", "pass", "complete", False),
        ("condition check", "fail", "stopped by the operator", False),
        ("full check", "fail", "stopped by the operator", False),
    ],
)
def test_the_last_test_is_in_doubt_between_two_clocks(
    tmp_path: Path, purpose: str, verdict: str, outcome: str, *, doubt: bool
) -> None:
    """A completed check with hands, or a failure, at a bench whose clock is not known may have been the later one."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
    here, other = (Workshop(tmp_path / name) for name in ("one", "other"))
    here.whole_run("bench-3/2031-03-14/1")
    other.begin("bench-3/2031-03-14/2", purpose)
    other.end("bench-3/2031-03-14/2", verdict, outcome)
    join(here.book, other.book)
    with Book(here.book.path, here.clock, reads_only=True, clocks={}) as book:
        (found,) = due_list(book, FIRST_DAY)

    assert doubt == found.because.endswith(f"; {IN_DOUBT}")
    assert IN_DOUBT not in due_on(here, FIRST_DAY).because


def test_a_calendar_says_what_the_form_asks_for(workshop: Workshop) -> None:
    """Version and maker of the file, its time, a day that blocks nobody, a reminder that shows (RFC 5545, 3.6)."""
    now = datetime(2031, 3, 14, 9, 0, tzinfo=UTC)
    calendar = Calendar.from_ical(calendar_text(due_list(workshop.book, FIRST_DAY), now))
    (event,) = calendar.walk("VEVENT")
    (reminder,) = event.walk("VALARM")

    assert ("2.0", CALENDAR_MAKER) == (str(calendar["version"]), str(calendar["prodid"]))
    assert (now, "TRANSPARENT") == (event.decoded("dtstamp"), str(event["transp"]))
    assert "DISPLAY" == str(reminder["action"])


def test_a_printer_without_days_has_none_in_its_event() -> None:
    """What was never tested has no day for the checks that follow."""
    due = Due("bench-3", Standing.AT_ONCE, FULL_CHECK, FIRST_DAY, "no check", None, None, None)
    with_days = replace(due, brief_on=FIRST_DAY, full_on=FIRST_DAY)
    now = datetime(2031, 3, 14, 9, 0, tzinfo=UTC)
    told = [
        Calendar.from_ical(calendar_text([each], now)).walk("VEVENT")[0]["description"] for each in (due, with_days)
    ]

    assert "Due at once: no check.\nRun: commission check bench-3 --port PORT --full" == str(told[0])
    assert 3 == len(str(told[1]).splitlines())
