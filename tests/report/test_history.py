"""What a report says of the time around its run: notes on the printer, and the trends of its checks."""

import json
from pathlib import Path

import jsonschema
import pytest

import commission.report
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.records.chain import link_row
from commission.records.notes import NUISANCE, add_note, add_wiring
from commission.report.record import read_run
from commission.report.write import FORMATS, draw
from tests.records.books import Workshop

SCHEMA = json.loads((Path(commission.report.__file__).parent / "report.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())
FIRST, SECOND, THIRD = (f"bench-3/2031-03-14/{count}" for count in (1, 2, 3))


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """Two runs of one printer, half a year apart, with a nuisance trip noted between them."""
    made = Workshop(tmp_path)
    made.whole_run(FIRST)
    made.days_pass(90)
    add_note(made.book, "bench-3", NUISANCE, "Paused with filament in.", person="R. Okafor")
    add_note(made.book, "bench-9", NUISANCE, "Another printer.")
    made.days_pass(90)
    made.whole_run(SECOND, "brief check")
    return made


def unreadable(workshop: Workshop, number: str) -> None:
    """An entry of the run that no version of the tool has written."""
    (rows,) = workshop.book.chains()
    at = workshop.clock.now().isoformat()
    text = '{"entry":{"kind":"trial","presence":"sideways"},"format":2}'
    strange = link_row(rows[-1], run=number, kind="trial", at=at, elapsed_us=0, payload=text)
    workshop.book.receive([*rows, strange])


def drawn(workshop: Workshop, number: str, form: str, *, full: bool = False) -> str:
    """The report of a run."""
    return draw(read_run(workshop.book, number), form, full=full)


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_notes_of_this_printer_are_printed(form: str, workshop: Workshop) -> None:
    """A note made before the run ended is in its report with its kind and its author; another printer's is not."""
    said = drawn(workshop, SECOND, form)

    assert "Paused with filament in." in said
    assert "the printer paused although filament was there" in said
    assert "Another printer." not in said
    assert "Paused with filament in." not in drawn(workshop, FIRST, form)


@pytest.fixture(name="declared")
def _declared(tmp_path: Path) -> Workshop:
    """A run, then a wiring that was declared without one, then a check that declares none; then another declaration."""
    made, answers = Workshop(tmp_path), {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up"}

    def declare(person: str, pull: str) -> None:
        wiring = wiring_found(assessed(answers | {"pull": pull}), on="2031-06-12", by=person)
        add_wiring(made.book, "bench-3", wiring, "Predicted: direct, fails safe.")

    made.whole_run(FIRST)
    made.days_pass(90)
    declare("R. Okafor", "up")
    made.whole_run(SECOND, "brief check")
    declare("Ada", "none")
    return made


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_a_wiring_without_a_run_names_its_source(form: str, declared: Workshop) -> None:
    """The sheet of a check shows the declaration before it, says whose it is, and names no run for it."""
    said = " ".join(drawn(declared, SECOND, form).split())

    assert "Declared on 2031-06-12 by R. Okafor, without a run." in said
    assert "the wiring, declared without a run" in said
    assert ["Ada" in said, "bench-3/notes" in said] == [False, False]
    assert "without a run" not in drawn(declared, FIRST, form)


def test_the_json_holds_the_declared_wiring(declared: Workshop) -> None:
    """The note has it as values, valid under the published schema; any other note has none."""
    add_note(declared.book, "bench-3", NUISANCE, "Paused with filament in.")
    declared.whole_run(THIRD, "brief check")
    report = json.loads(drawn(declared, THIRD, "json"))

    assert [("wiring-declared", True), ("wiring-declared", None), ("nuisance-trip", "none")] == [
        (note["kind"], note["wiring"]["assessment"]["fail_safe"] if note["wiring"] else "none")
        for note in report["notes"]
    ]
    assert [] == [error.message for error in VALIDATOR.iter_errors(report)]


def test_trends_are_drawn_from_the_second_check_on(workshop: Workshop) -> None:
    """One run makes no trend; two make a row, in the full page a picture, and the same in characters."""
    assert "Over the checks of this printer" not in drawn(workshop, FIRST, "html")
    assert "| Mean settle time (ms) | 200 | 2031-03-14: " in drawn(workshop, SECOND, "markdown")
    assert "Mean settle time over 2 checks, limit" in drawn(workshop, SECOND, "html", full=True)
    assert "Mean settle time (limit" in drawn(workshop, SECOND, "markdown", full=True)


def test_the_json_holds_the_same_notes_and_trends(workshop: Workshop) -> None:
    """What the page prints and draws stands in the JSON as values, valid under the published schema."""
    first, second = (json.loads(drawn(workshop, number, "json")) for number in (FIRST, SECOND))
    page = drawn(workshop, SECOND, "markdown", full=True)

    assert ([], []) == (first["notes"], first["trends"])
    assert [("nuisance-trip", "R. Okafor", "Paused with filament in.")] == [
        (note["kind"], note["person"], note["text"]) for note in second["notes"]
    ]
    settle = next(trend for trend in second["trends"] if trend["title"] == "Mean settle time")
    assert ["2031-03-14", "2031-09-10"] == [each["check"] for each in settle["checks"]]
    for each in settle["checks"]:
        assert f"{each['check']}: {each['value']:.0f} ms" in page
    for report in (first, second):
        assert [] == [error.message for error in VALIDATOR.iter_errors(report)]


def test_trends_that_cannot_be_worked_out_are_said_in_the_json_too(workshop: Workshop) -> None:
    """A reason stands where the trends would be."""
    unreadable(workshop, SECOND)
    report = json.loads(drawn(workshop, SECOND, "json"))

    assert [] == report["trends"]
    assert "cannot all be read" in report["no_trend"]


@pytest.mark.parametrize("form", FORMATS)
def test_a_later_check_or_note_leaves_an_older_report_as_it_was(form: str, workshop: Workshop) -> None:
    """Trends and notes end with the run: its report is the same to the byte after another run."""
    before = [drawn(workshop, number, form) for number in (FIRST, SECOND)]
    workshop.days_pass(90)
    add_note(workshop.book, "bench-3", NUISANCE, "Once more.")
    workshop.whole_run(THIRD, "check")

    assert before == [drawn(workshop, number, form) for number in (FIRST, SECOND)]


def test_runs_that_cannot_be_read_take_the_trend_and_say_so(workshop: Workshop) -> None:
    """An entry of an unknown form leaves the report whole and the trend out, with the way to find it."""
    unreadable(workshop, SECOND)

    said = drawn(workshop, SECOND, "markdown")

    assert "Not drawn: The entries of the printer's runs cannot all be read" in said
    assert "## Verdict" in said


def test_a_check_is_titled_as_one(workshop: Workshop) -> None:
    """The report of a periodic check says so in its title."""
    assert "\n# Periodic test report: filament-presence sensor\n" in drawn(workshop, SECOND, "markdown")
