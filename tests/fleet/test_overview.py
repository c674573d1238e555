"""The overview: what it says of each printer, in which order, and in every form."""

import csv
import io
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from commission.evidence.findings.loop import FailSafeFound
from commission.evidence.findings.meeting import PrinterMarks, Repair
from commission.evidence.findings.reported import RunoutControlAsFound, RunoutControlNow
from commission.evidence.findings.settings import SettingsAsFound
from commission.evidence.runs import REWIRING
from commission.evidence.talk import Punched
from commission.files.kinds import OVERVIEW, PAGE
from commission.fleet.cells import HEADINGS, Cells, cells_of
from commission.fleet.data import as_json
from commission.fleet.overview import Done, Printer, overview
from commission.fleet.page import as_page
from commission.fleet.roster import Listed
from commission.fleet.table import as_csv, as_text
from commission.records.notes import NUISANCE, add_note
from commission.vocabulary import FailSafe, PunchClass, Verdict
from tests.records.books import Workshop

TODAY = date(2031, 4, 20)


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """Two printers: bench-3 sound and in date, bench-4 with much against it."""
    workshop = Workshop(tmp_path)
    number = "bench-4/2031-03-14/1"
    workshop.begin(number, tag="bench-4")
    workshop.find(number, PrinterMarks, firmware="ExampleFW 1", machine="Bench")
    workshop.find(number, SettingsAsFound)
    workshop.find(number, RunoutControlAsFound, enabled=True)
    workshop.find(number, FailSafeFound, fail_safe=FailSafe.DANGER)
    workshop.book.append(number, Punched(grade=PunchClass.UNSAFE, text="The cable is worn through."))
    workshop.end(number, "fail")
    later = "bench-4/2031-03-14/2"
    workshop.begin(later, "condition check", tag="bench-4")
    workshop.find(later, RunoutControlNow, enabled=False)
    workshop.find(later, Repair)
    workshop.end(later, "fail")
    add_note(workshop.book, "bench-4", REWIRING, "new cable")
    add_note(workshop.book, "bench-4", NUISANCE, "at night")
    workshop.days_pass(30)
    workshop.whole_run("bench-3/2031-04-13/1")
    return workshop


def test_what_is_on_record_of_a_printer_is_told(workshop: Workshop) -> None:
    """The newest finding of each kind, what stands against it, and what was changed since its whole test."""
    first, second = overview(workshop.book, TODAY)

    assert ("bench-4", "ExampleFW 1", "fail-danger", True) == (
        first.tag,
        first.firmware,
        first.wiring,
        first.runout_off,
    )
    assert (1, date(2031, 3, 14)) == (first.nuisances, first.backup_on)
    assert ("repaired 2031-03-14", "rewired 2031-03-14") == first.changed
    assert 3 == len(first.unsafe), "two failed runs of different kinds, and the item"
    assert (Done(date(2031, 3, 14), Verdict.FAIL), Verdict.FAIL) == (first.full, first.verdict)
    assert ("bench-3", (), 0, None, ()) == (
        second.tag,
        second.unsafe,
        second.nuisances,
        second.runout_off,
        second.changed,
    )


def test_a_printer_of_the_roster_without_a_record_comes_first(workshop: Workshop) -> None:
    """Nothing is known of it, so it is due at once; the roster says where the others stand."""
    roster = [Listed("bench-9", "attic"), Listed("bench-3", "cellar")]
    found = overview(workshop.book, TODAY, roster)

    assert ["bench-9", "bench-4", "bench-3"] == [each.tag for each in found]
    assert ["attic", "", "cellar"] == [each.place for each in found]
    assert "nothing is on record" == cells_of(found[0], TODAY).words["because"]


def cells(workshop: Workshop) -> list[Cells]:
    """The overview in words."""
    return [cells_of(each, TODAY) for each in overview(workshop.book, TODAY)]


def test_a_wide_screen_shows_one_line_a_printer(workshop: Workshop) -> None:
    """Columns that are empty for all are left out; what somebody must act upon has a mark."""
    assert as_text(cells(workshop), 400) == [
        "▲ 1 due at once   ● 1 in date",
        "",
        "printer  state          next                       verdict  class A  runout detection  wiring         "
        "full check       nuisance trips  changed since                       settings backup",
        "bench-4  ▲ due at once  full check by 2031-04-20   fail     3 !      OFF !             fail-danger !  "
        "2031-03-14 fail  1 !             repaired 2031-03-14, rewired 2031…  37 days old",
        "bench-3  ● in date      brief check by 2031-05-13  pass     0        not known         not tested     "
        "2031-04-13 pass  0               nothing                             none",
    ]


@pytest.mark.parametrize("columns", [20, 40, 80, 132])
def test_a_narrow_screen_shows_blocks(workshop: Workshop, columns: int) -> None:
    """No line is wider than the screen, and nothing of it is lost."""
    lines = as_text(cells(workshop), columns)

    assert all(len(line) <= max(24, columns) for line in lines[1:])
    assert "runout detection OFF !" in " ".join(" ".join(lines).split())


def test_a_table_file_is_read_back_by_the_library(workshop: Workshop) -> None:
    """Comma-separated values (RFC 4180) with headings; a text like a formula is made harmless."""
    printers = [*cells(workshop), cells_of(Printer("=cmd()", place='a "b", c'), TODAY)]
    rows = list(csv.DictReader(io.StringIO(as_csv(printers))))

    assert ["bench-4", "bench-3", "'=cmd()"] == [row["printer"] for row in rows]
    assert 'a "b", c' == rows[2]["place"]
    assert set(HEADINGS.values()) == set(rows[0])


def test_data_for_machines_has_null_where_nothing_is_known(workshop: Workshop) -> None:
    """Dates are ISO 8601; silence is null and never no."""
    values = json.loads(as_json(overview(workshop.book, TODAY, [Listed("bench-9")]), TODAY))

    nothing, first, second = values["printers"]
    assert (None, None) == (nothing["next_check"], second["runout_detection_off"])
    assert {"on": "2031-03-14", "verdict": "fail"} == first["last_full_check"]
    assert "2031-04-20" == values["on"]


def test_the_page_loads_nothing_and_says_all_in_words(workshop: Workshop) -> None:
    """One file: no address, no script but its own; each state has its word and its shape; its kind is its own."""
    page = as_page(cells(workshop), datetime(2031, 4, 20, 9, 0, tzinfo=UTC))
    text = page.decode()

    assert [] == [each for each in ("<script ", "http://", "https://", "url(", "@import", "src=") if each in text]
    assert 1 == text.count("<script>") == text.count("</script>")
    assert '▲ <span class="value">due at once</span>' in text
    assert '<span class="name">runout detection</span><span>! <span class="value">OFF</span></span>' in text
    assert "drawn 2031-04-20 09:00" in text
    assert OVERVIEW.is_ours(page)
    assert not PAGE.is_ours(page), "a report is never replaced by it"


def test_hostile_texts_are_shown_and_not_obeyed() -> None:
    """A printer may call itself anything: markup, control characters and turned text are made visible."""
    hostile = Printer("<b>&\x1b[2J\u202e", place='"><script>', firmware="</style><img src=x>")
    words = cells_of(hostile, TODAY)
    page = as_page([words], datetime(2031, 4, 20, tzinfo=UTC)).decode()

    assert [] == [each for each in ("<b>", '"><script', "<img", "\x1b", "\u202e") if each in page]
    assert [] == [each for each in ("\x1b", "\u202e") if each in "\n".join([*as_text([words], 80), as_csv([words])])]


def test_no_printer_is_said_in_words() -> None:
    """An empty book gives a sentence, and a whole page."""
    assert ["no printer is on record"] == as_text([], 80)
    assert b"no printer is on record" in as_page([], datetime(2031, 4, 20, tzinfo=UTC))
