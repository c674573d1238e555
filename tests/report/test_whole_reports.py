"""Whole reports, drawn from scripted runs and compared with the ones kept in `golden/`."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

from commission.evidence.runs import RunResumed
from commission.records.book import Book, BookError
from commission.records.notes import CORRECTION, add_note
from commission.report.json_form import schema_text
from commission.report.record import read_run
from commission.report.write import FORMATS, draw, write_reports
from tests.report.golden_files import KEPT, SCHEMA_FILE, drawn, golden
from tests.report.scripted_run import NUMBER, RUNS, complete
from tests.support.made import begun

SCHEMA = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("name", "form", "full"), KEPT)
def test_a_report_is_what_it_was(name: str, form: str, full: bool, tmp_path: Path) -> None:
    """A scripted run gives the report that was looked at and kept, to the byte."""
    assert golden(name, form, full=full).read_text(encoding="utf-8") == drawn(name, form, tmp_path, full=full)


@pytest.mark.parametrize("name", RUNS)
def test_json_keeps_to_its_schema(name: str, tmp_path: Path) -> None:
    """The JSON of every scripted run is valid under the published schema, formats included."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    validator = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())

    assert [] == [error.message for error in validator.iter_errors(json.loads(drawn(name, "json", tmp_path)))]


def test_the_published_schema_is_that_of_the_types() -> None:
    """The file beside the code is what the types give; `python -m tests.report.golden_files` writes it anew."""
    assert schema_text() == SCHEMA_FILE.read_text(encoding="utf-8")


def test_the_schema_can_refuse(tmp_path: Path) -> None:
    """A date that is none, or a fact nobody described, is found by the schema."""
    validator = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())
    report = json.loads(drawn("complete", "json", tmp_path))

    assert not validator.is_valid(report | {"began": "yesterday"})
    assert not validator.is_valid(report | {"mood": "good"})


def test_reports_stand_next_to_each_other_under_safe_names(tmp_path: Path) -> None:
    """A run's files carry its number, with only letters that any file system takes."""
    run = complete(tmp_path)

    written = write_reports(run.book, NUMBER, tmp_path / "reports")

    assert ["bench-3-2031-03-14-1.html", "bench-3-2031-03-14-1.md", "bench-3-2031-03-14-1.json"] == [
        path.name for path in written
    ]
    assert sorted(written) == sorted((tmp_path / "reports").iterdir())


def test_a_report_is_the_same_however_late_it_is_drawn(tmp_path: Path) -> None:
    """What another run writes into the book afterwards leaves the report as it was, to the byte."""
    run = complete(tmp_path)
    before = [draw(read_run(run.book, NUMBER), form) for form in FORMATS]
    run.wait(3600)
    run.book.append("bench-3/2031-03-14/2", begun("bench-3/2031-03-14/2"))

    assert before == [draw(read_run(run.book, NUMBER), form) for form in FORMATS]


@pytest.mark.parametrize("form", FORMATS)
def test_a_correction_is_printed_at_the_top(form: str, tmp_path: Path) -> None:
    """A note that puts right an entry of the run is said in every report drawn after it."""
    run = complete(tmp_path)
    add_note(run.book, "bench-3", CORRECTION, "The tag on the frame was wrong.", person="R. Okafor", about=1)
    add_note(run.book, "bench-3", CORRECTION, "Of another run.", person="R. Okafor", about=999)

    said = draw(read_run(run.book, NUMBER), form)

    assert "The tag on the frame was wrong." in said
    assert "Of another run." not in said


def test_an_unknown_number_is_refused(tmp_path: Path) -> None:
    """A run that the book does not hold is an error that says where to look."""
    run = complete(tmp_path)

    with pytest.raises(BookError, match=re.escape("has no run bench-9/2031-03-14/1")):
        write_reports(run.book, "bench-9/2031-03-14/1", tmp_path)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("link-lost", "The link to the printer was lost before the end of this run."),
        ("broken-off", "The record of this run has no proper end"),
    ],
)
def test_an_unfinished_run_says_so_first(name: str, said: str, tmp_path: Path) -> None:
    """The alarm stands before the verdict, and the verdict is *not judged*."""
    lines = drawn(name, "markdown", tmp_path)

    assert lines.index(said) < lines.index("## Verdict: not judged")


def test_a_run_taken_up_again_is_unfinished_until_its_new_end(tmp_path: Path) -> None:
    """An end before the run was taken up again counts no more; the next one does."""
    run = RUNS["link-lost"](tmp_path)
    run.write(RunResumed(number=NUMBER, tag="bench-3", purpose="install", operator="A. Lind"))

    unfinished = read_run(run.book, NUMBER)
    run.end(verdict="pass")
    finished = read_run(run.book, NUMBER)

    assert ("broken off", "not judged") == (unfinished.outcome.value, unfinished.verdict.value)
    assert ("complete", "pass") == (finished.outcome.value, finished.verdict.value)
    assert "the run was taken up again by A. Lind" in draw(finished, "markdown")


def test_an_open_book_is_enough(tmp_path: Path) -> None:
    """A report is drawn while the book is open for writing, as at the end of a run."""
    run = complete(tmp_path)

    with Book(run.book.path, run.clock) as second:
        assert draw(read_run(second, NUMBER), "json") == draw(read_run(run.book, NUMBER), "json")
