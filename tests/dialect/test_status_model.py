"""The printer's model of itself, as far as it tells of monitors and spare inputs."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect.sources.report import SourceKind, SourceReport
from commission.dialect.sources.status_model import model_answer_in, model_reports_in, status_letter_in
from commission.vocabulary import Presence, Reading
from tests.dialect.feeding import read_texts

KEY = "sensors.filamentMonitors"


def answer(result: object, **more: object) -> bytes:
    """One line of the model, as a printer writes it: without blanks."""
    return json.dumps({"key": KEY, "flags": "", "result": result, **more}, separators=(",", ":")).encode()


def reports(line: bytes) -> tuple[SourceReport, ...]:
    """The sources of one line with an empty line and an acknowledgement behind, the same however it is fed."""
    return read_texts(lambda lines: model_reports_in(lines[0]), line + b"\n\nok\n")


@pytest.mark.parametrize(
    ("members", "presence", "enabled", "error"),
    [
        ({"enabled": True, "filamentPresent": True, "status": "ok", "type": "simple"}, Presence.IN, True, None),
        ({"enabled": False, "filamentPresent": False, "status": "ok", "type": "simple"}, Presence.OUT, False, None),
        ({"enableMode": 2, "filamentPresent": True, "status": "ok", "type": "laser"}, Presence.IN, True, None),
        ({"enabled": True, "status": "ok", "type": "simple"}, Presence.IN, True, None),
        ({"enabled": False, "status": "ok", "type": "simple"}, None, False, None),
        ({"enabled": True, "status": "noFilament", "type": "simple"}, Presence.OUT, True, None),
        ({"enableMode": 1, "status": "ok", "type": "simple"}, Presence.IN, True, None),
        ({"enableMode": 0, "status": "ok", "type": "simple"}, None, False, None),
        ({"enableMode": 2, "status": "noFilament", "type": "rotatingMagnet"}, Presence.OUT, True, None),
        ({"enableMode": 2, "status": "ok", "type": "rotatingMagnet"}, None, True, None),
        ({"enableMode": 2, "status": "ok", "type": "pulsed"}, None, True, None),
        ({"enabled": True, "status": "noDataReceived", "type": "laser"}, None, True, "noDataReceived"),
        ({"enabled": True, "status": "tooLittleMovement", "type": "laser"}, None, True, "tooLittleMovement"),
        ({"enabled": True, "status": "sensorError", "type": "laser"}, None, True, "sensorError"),
        ({"enabled": True, "status": "noMonitor", "type": "simple"}, None, True, "noMonitor"),
        ({"enabled": True, "status": "asleep", "type": "simple"}, None, True, "status 'asleep'"),
        ({"status": "ok", "type": "simple"}, None, None, None),
        ({"enableMode": 7, "status": "ok", "type": "simple"}, None, None, None),
        ({"enableMode": True, "status": "ok", "type": "simple"}, None, None, None),
        ({"enabled": 1, "status": "ok", "type": "simple"}, None, None, None),
        ({"enabled": True, "filamentPresent": "yes", "status": "sensorError"}, None, True, "sensorError"),
        ({}, None, None, None),
    ],
)
def test_monitor_status_is_read(
    members: dict[str, object], presence: Presence | None, enabled: bool | None, error: str | None
) -> None:
    """Presence comes from its own member, else from the status of a heeded switch; otherwise it is unknown."""
    (report,) = reports(answer([members]))

    assert (SourceKind.MONITOR_STATUS, "extruder 0") == (report.kind, report.name)
    assert (presence, enabled, error) == (report.presence, report.enabled, report.error)


def test_index_is_the_extruder() -> None:
    """A drive without a monitor is left out, and the others keep their numbers."""
    found = reports(answer([None, {"enabled": True, "status": "ok", "type": "simple"}, None, {"enabled": False}]))

    assert ["extruder 1", "extruder 3"] == [report.name for report in found]


def test_rest_of_a_list_is_counted_on() -> None:
    """An answer for a later part of the list names its drives from there, and says where the next part begins."""
    line = answer([{"enabled": True}], flags="a4", next=5)
    found = model_answer_in(line.decode())

    assert found is not None
    assert (4, 5) == (found.first_index, found.next_index)
    assert ["extruder 4"] == [report.name for report in reports(line)]


@pytest.mark.parametrize(
    ("line", "error"),
    [(b'{"err":-1}', "the answer was too large"), (answer(None), "there is no such branch")],
)
def test_empty_answer_is_an_error(line: bytes, error: str) -> None:
    """An answer that was too large, and a branch that is not there, say so and give no reading."""
    assert (SourceReport(SourceKind.MONITOR_STATUS, "", error=error),) == reports(line)


@pytest.mark.parametrize(
    ("result", "reading", "word", "error"),
    [
        ({"value": 0}, Reading.INACTIVE, "0", None),
        ({"value": 1}, Reading.ACTIVE, "1", None),
        ({"value": True}, Reading.ACTIVE, "1", None),
        ({"value": False}, Reading.INACTIVE, "0", None),
        ({"value": 7}, Reading.UNKNOWN, "", "there is no such input"),
        (None, Reading.UNKNOWN, "", "there is no such input"),
    ],
)
def test_spare_input_is_read(result: object, reading: Reading, word: str, error: str | None) -> None:
    """A spare input gives a number, or in early builds a truth value; an empty branch is no input."""
    line = json.dumps({"key": "sensors.gpIn[3]", "flags": "", "result": result}).encode()

    assert (SourceReport(SourceKind.PIN, "gpIn[3]", reading, word, error=error),) == reports(line)


@pytest.mark.parametrize(
    ("line", "letter"),
    [
        (b'{"status":"P","heaters":[21.5],"active":[0.0],"pos":[1.00]}', "P"),
        (b'{"status":"ok","heaters":[21.5]}', None),
        (b'{"status":"P"}', None),
        (b"status P", None),
    ],
)
def test_status_letter_is_read(line: bytes, letter: str | None) -> None:
    """The older status answer tells what the printer is doing by one letter, beside its heaters."""
    assert letter == read_texts(lambda lines: status_letter_in(lines[0]), line + b"\nok\n")


@pytest.mark.parametrize(
    "line",
    [
        b'{"key":"sensors.filamentMonitors","flags":"","result":[{"enabled":tr',
        b'{"key":"heat.heaters","flags":"","result":[]}',
        b'{"key":7,"result":[]}',
        b'["key","result"]',
        b"{" * 3000,
        b'{"key":' + b"[" * 3000,
        b'{"result":[{"filamentPresent":true}]}',
        b"{'key': 'sensors.filamentMonitors'}",
    ],
    ids=["cut", "another branch", "no key", "a list", "braces", "brackets", "no branch", "not JSON"],
)
def test_what_is_no_answer_is_not_read(line: bytes) -> None:
    """A cut line, another branch and hostile nesting give no source and no error."""
    assert () == reports(line)


def test_hostile_words_are_made_visible() -> None:
    """A control character hidden behind an escape of the model's own is written out, never obeyed."""
    (report,) = reports(answer([{"enabled": True, "status": "\x1b[2Jok\u202e\ud800"}]))

    assert report.error is not None
    assert report.error.isascii()
    assert report.error.isprintable()


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@settings(deadline=None, max_examples=200)
@given(PLAIN, PLAIN, PLAIN)
def test_any_result_is_survived(result: object, following: object, flags: object) -> None:
    """Whatever stands in the model, nothing raises, and no presence is told that does not stand there."""
    line = json.dumps({"key": KEY, "flags": flags, "result": result, "next": following})

    assert all(
        report.presence is None or "filamentPresent" in line or "status" in line for report in model_reports_in(line)
    )
