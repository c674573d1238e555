"""Whatever became of the record, a report is drawn and says what is wrong."""

import json
import sqlite3
import zlib
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec import structs

from commission.evidence.entries import AnyEntry
from commission.evidence.findings import KINDS as KINDS_OF_FINDINGS
from commission.evidence.findings import gates, wiring
from commission.evidence.findings.base import Picture
from commission.evidence.findings.meeting import OpenOnRecord
from commission.evidence.talk import HoldReleased, Punched
from commission.records.book import Book
from commission.report.record import read_run
from commission.report.write import FORMATS, draw
from commission.vocabulary import Level, PunchClass
from tests.report.scripted_run import NUMBER, ScriptedRun, complete, sheet_line
from tests.support.fake_time import FakeClock
from tests.support.made import made


def altered(folder: Path, statement: str) -> Book:
    """The complete run's book after somebody worked on the file."""
    run = complete(folder)
    run.book.close()
    with sqlite3.connect(run.book.path) as file:
        file.execute("DROP TRIGGER entries_no_update")
        file.execute("DROP TRIGGER entries_no_delete")
        file.execute(statement)
    file.close()
    return Book(run.book.path, FakeClock())


def top(markdown: str) -> str:
    """What stands before the verdict."""
    return markdown[: markdown.index("## Verdict")]


def test_an_altered_entry_is_said_at_the_top(tmp_path: Path) -> None:
    """A changed reading still makes a report, and the first thing it says is which entry was altered."""
    run = complete(tmp_path)
    (trial,) = (row for row in run.book.rows() if row.sequence == 15)
    forged = zlib.compress(trial.payload.replace("inactive", "active").encode())
    run.book.close()
    folder = tmp_path / "forged"
    book = altered(folder, f"UPDATE entries SET payload = x'{forged.hex()}' WHERE sequence = 15")  # noqa: S608 - ours

    assert "entry 15 (trial) was altered after it was written" in top(draw(read_run(book, NUMBER), "markdown"))


def test_a_removed_entry_is_said_at_the_top(tmp_path: Path) -> None:
    """A gap in the book is named."""
    book = altered(tmp_path, "DELETE FROM entries WHERE sequence = 12")

    assert "entry 12 is missing or moved" in top(draw(read_run(book, NUMBER), "markdown"))


@pytest.mark.parametrize("payload", ["{}", "[]", "no JSON", '{"tag": 7}', '{"verdict": "splendid"}'])
def test_entries_of_another_form_are_named_and_left_out(payload: str, tmp_path: Path) -> None:
    """With every entry's facts replaced, all formats are still drawn and name the entries that could not be read."""
    book = altered(tmp_path, f"UPDATE entries SET payload = '{payload}'")  # noqa: S608 - our own list

    for form in FORMATS:
        assert "entry 1 (run_started)" in draw(read_run(book, NUMBER), form).replace("\\_", "_")


@pytest.mark.parametrize("at", ["", "yesterday", "2031-03-14T09:26:53"])
def test_a_time_that_is_none_breaks_no_report(at: str, tmp_path: Path) -> None:
    """Times without a zone, or altered into none, are no reason for a report to be missing."""
    book = altered(tmp_path, f"UPDATE entries SET at = '{at}'")  # noqa: S608 - our own list

    assert all(NUMBER in draw(read_run(book, NUMBER), form) for form in FORMATS)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
KINDS = st.sampled_from([kind.kind() for kind in get_args(AnyEntry)]) | st.text(max_size=8)
FORMS = st.sampled_from([{"format": 1}, {"format": 2}, {"format": 99}, {}])


@given(KINDS, FORMS, JSON, st.dictionaries(st.sampled_from(["entry", "name", "facts", "finding"]), JSON, max_size=3))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_entry_leaves_a_report(
    tmp_path_factory: Any, kind: str, form: dict[str, int], inner: object, outer: dict[str, Any]
) -> None:
    """An entry of any kind with anything in it is told or named; what stands beside it is told all the same."""
    run = ScriptedRun(tmp_path_factory.mktemp("any"))
    run.start()
    run.write_text(kind, {**form, **outer, "entry": inner})
    run.finding(OpenOnRecord, "Something was found.")

    for form_of_report in FORMATS:
        assert "Something was found." in draw(read_run(run.book, NUMBER), form_of_report)
    run.book.close()


def test_every_kind_of_finding_is_drawn(tmp_path: Path) -> None:
    """Whatever kind it is, its sentence stands in every format, and the JSON has all its values."""
    run = ScriptedRun(tmp_path)
    run.start()
    says = {name: f"Something of kind {number} was found." for number, name in enumerate(KINDS_OF_FINDINGS)}
    for name, sentence in says.items():
        run.finding(name, sentence)
    drawn = {form: draw(read_run(run.book, NUMBER), form, full=True) for form in FORMATS}

    assert [] == [(form, name) for form in FORMATS for name, said in says.items() if said not in drawn[form]]
    told = {each["finding"]["name"]: set(each["finding"]) for each in json.loads(drawn["json"])["findings"]}
    assert told == {
        name: {field.name for field in structs.fields(kind)} | {"name"} for name, kind in KINDS_OF_FINDINGS.items()
    }


def test_a_finding_of_another_version_is_named_and_left_out(tmp_path: Path) -> None:
    """A kind that this version does not know is not drawn by guess: the first page says which entry it is."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.write_text("finding", {"entry": {"kind": "finding", "finding": {"name": "cable_age"}}, "format": 2})

    said = draw(read_run(run.book, NUMBER), "markdown", full=True).replace("\\_", "_")
    assert "Entries that could not be read: 1" in said
    assert "entry 2 (finding): Invalid value 'cable_age'" in said


def test_a_finding_has_its_sentences_picture_and_table(tmp_path: Path) -> None:
    """Sentences become text, a list of objects a table, the drawing of an older book a picture with its text."""
    run = ScriptedRun(tmp_path)
    run.start()
    svg = '<svg xmlns="http://www.w3.org/2000/svg"><desc>Two boxes.</desc><rect width="3" height="3"/></svg>'
    run.finding(gates.Gates, "Old.", gates=(made(gates.GateShown),), drawn_before=Picture(svg=svg, text="[]\n[]"))

    markdown, page = (draw(read_run(run.book, NUMBER), form, full=True) for form in ("markdown", "html"))

    for said in ("### Gates", "Old.", "*Two boxes.*", "[]\n[]", "| Title | State | Cure | How | Key | Reason |"):
        assert said in markdown
    assert svg in page


def level(word: Level) -> wiring.PredictedPair:
    """What is read with filament in and out, both the same."""
    state = wiring.PredictedState(level=word, concluded=None, supply_short=False)
    return wiring.PredictedPair(filament_in=state, filament_out=state)


def test_objects_of_one_form_by_name_are_a_table(tmp_path: Path) -> None:
    """States by name, each with the same values inside, stand in one row each, the sound one first."""
    run = ScriptedRun(tmp_path)
    run.start()
    states = {"sound": level(Level.LOW), "signal_broken": level(Level.HIGH), "supply_broken": None}
    run.finding(wiring.Wiring, "Levels.", assessment=made(wiring.WiringAssessed, states=states))

    markdown = draw(read_run(run.book, NUMBER), "markdown", full=True)

    assert "| Name | In: concluded | In: level | In: supply short | Out: concluded |" in markdown
    assert "| sound | undefined | low | no | undefined | low | no |\n| signal broken | undefined | high |" in markdown


def test_a_long_table_stands_in_the_appendix(tmp_path: Path) -> None:
    """Among the findings a table of 31 rows is one sentence; the rows come later."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(wiring.MechanicalCheck, "Read.", lines=tuple(sheet_line(f"L{n}", "yes") for n in range(31)))

    said = draw(read_run(run.book, NUMBER), "markdown", full=True)
    findings, appendix = said.split("## Appendix: values behind the findings")

    assert "Lines: 31 rows, in the appendix." in findings
    assert "L30" not in findings
    assert "| L30 |" in appendix


def test_long_tables_and_values_are_bounded_and_say_so(tmp_path: Path) -> None:
    """What would flood the paper is counted, and stays whole in the book and in the JSON."""
    run = ScriptedRun(tmp_path)
    run.start()
    lines = tuple(sheet_line(f"L{n}", "yes") for n in range(500))
    run.finding(wiring.MechanicalCheck, "Much.", lines=lines, filament="x" * 5000)

    markdown = draw(read_run(run.book, NUMBER), "markdown", full=True)

    assert "the first 80 of 500; the book keeps all" in markdown
    assert "and 4400 more characters" in markdown
    assert 500 == len(json.loads(draw(read_run(run.book, NUMBER), "json"))["findings"][0]["finding"]["lines"])


def test_what_was_settled_in_the_run_is_no_open_item_of_it(tmp_path: Path) -> None:
    """An item that the release of its hold point settled stands in neither the worklist nor the JSON."""
    run = ScriptedRun(tmp_path)
    run.start()
    left = Punched(grade=PunchClass.UNSAFE, text="Left apart.", cure="Join it.", settled_by="unplug.reconnect")
    run.write(left)
    broken = draw(read_run(run.book, NUMBER), "markdown")
    run.write(HoldReleased(key="unplug.reconnect", port="fake"))
    mended = draw(read_run(run.book, NUMBER), "markdown")

    assert "| A, unsafe to go on | Left apart. | Join it. |" in broken
    assert "No open item was recorded." in mended
    assert [] == json.loads(draw(read_run(run.book, NUMBER), "json"))["worklist"]
