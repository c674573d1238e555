"""Whatever became of the record, a report is drawn and says what is wrong."""

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from commission.records.book import Book
from commission.report.record import read_run
from commission.report.write import FORMATS, draw
from tests.report.scripted_run import NUMBER, ScriptedRun, complete
from tests.support.fake_time import FakeClock


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
    book = altered(tmp_path, "UPDATE entries SET payload = replace(payload, 'inactive', 'active') WHERE sequence = 15")

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
NAMES = st.sampled_from(["acceptance", "identity", "switches_as_found", "sign_off", "polarity", "anything"])
KEYS = st.sampled_from(["criteria", "switches", "svg", "text", "verdict", "firmware_name", "facts", "caption", "rows"])


@given(NAMES, st.dictionaries(KEYS, JSON, max_size=4), st.dictionaries(st.text(max_size=8), JSON, max_size=3))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_finding_is_drawn(tmp_path_factory: Any, name: str, facts: dict[str, Any], other: dict[str, Any]) -> None:
    """A finding with any name and any facts, and an entry of any kind, never break a report."""
    run = ScriptedRun(tmp_path_factory.mktemp("any"))
    run.start()
    run.finding(name, "Something was found.", **facts)
    run.write("of_a_kind_nobody_knows", other)

    for form in FORMATS:
        assert "Something was found." in draw(read_run(run.book, NUMBER), form)
    run.book.close()


def test_a_finding_nobody_knows_has_its_sentences_picture_and_table(tmp_path: Path) -> None:
    """Sentences become text, a list of objects a table, a drawing a picture with its text beside it."""
    run = ScriptedRun(tmp_path)
    run.start()
    svg = '<svg xmlns="http://www.w3.org/2000/svg"><desc>Two boxes.</desc><rect width="3" height="3"/></svg>'
    run.finding("cable_age", "Old.", picture_svg=svg, picture_text="[]\n[]", deep={"wires": [{"name": "signal"}]})

    markdown, page = (draw(read_run(run.book, NUMBER), form) for form in ("markdown", "html"))

    for said in ("### Cable age", "Old.", "*Two boxes.*", "[]\n[]", "| signal |"):
        assert said in markdown
    assert svg in page


def test_objects_of_one_form_by_name_are_a_table(tmp_path: Path) -> None:
    """States by name, each with the same values inside, stand in one row each, the sound one first."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding(
        "grid", "Levels.", states={"sound": {"in": {"level": "low"}}, "signal_broken": {"in": {"level": "high"}}}
    )

    markdown = draw(read_run(run.book, NUMBER), "markdown")

    assert "| Name | In: level |\n| --- | --- |\n| sound | low |\n| signal broken | high |\n" in markdown


def test_a_long_table_stands_in_the_appendix(tmp_path: Path) -> None:
    """Among the findings a table of 31 rows is one sentence; the rows come later."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding("settings", "Read.", same=[{"letter": f"L{number}"} for number in range(31)])

    findings, appendix = draw(read_run(run.book, NUMBER), "markdown").split("## Appendix: values behind the findings")

    assert "Same: 31 rows, in the appendix." in findings
    assert "L30" not in findings
    assert "| L30 |" in appendix


def test_long_tables_and_values_are_bounded_and_say_so(tmp_path: Path) -> None:
    """What would flood the paper is counted, and stays whole in the book and in the JSON."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.finding("flood", "Much.", rows=[{"n": number} for number in range(500)], blob="x" * 5000)

    markdown = draw(read_run(run.book, NUMBER), "markdown")

    assert "the first 80 of 500; the book keeps all" in markdown
    assert "and 4400 more characters" in markdown
    assert 500 == len(json.loads(draw(read_run(run.book, NUMBER), "json"))["findings"][0]["facts"]["rows"])


def test_what_was_settled_in_the_run_is_no_open_item_of_it(tmp_path: Path) -> None:
    """An item that the release of its hold point settled stands in neither the worklist nor the JSON."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.write("punch", {"grade": "A", "text": "Left apart.", "cure": "Join it.", "settled_by": "unplug.reconnect"})
    broken = draw(read_run(run.book, NUMBER), "markdown")
    run.write("hold_released", {"key": "unplug.reconnect", "port": "fake", "same_identity": True})
    mended = draw(read_run(run.book, NUMBER), "markdown")

    assert "| A, unsafe to go on | Left apart. | Join it. |" in broken
    assert "No open item was recorded." in mended
    assert [] == json.loads(draw(read_run(run.book, NUMBER), "json"))["worklist"]
