"""What is known of families beside their sources: events, habits, pauses, gates, and settings kept as text."""

import json

import pytest

from commission.dialect.answers import Acknowledging
from commission.dialect.family import Family
from commission.dialect.family_events import family_event
from commission.dialect.family_gates import GATES, gates_told
from commission.dialect.family_pauses import PAUSES
from commission.dialect.habits import HABITS, acknowledging_of
from commission.dialect.purity import KNOWN
from commission.dialect.reading import schema_text
from commission.dialect.settings_text import Limit, settings_text_of
from tests.dialect.feeding import read_texts
from tests.dialect.printers import IDENTITIES, printer

A, B, C, D, E = Family


@pytest.mark.parametrize(
    ("line", "kind", "details"),
    [
        (b"// ExampleFW state: Shutdown", "state", {"state": "shut down"}),
        (b"Extruder 2 reports no filament", "runout", {"cause": "no filament", "drive": 2}),
        (b"Printing paused", "pause", {"step": "paused"}),
        (b"Emulating SomethingElse", "emulation", {"as": "SomethingElse"}),
        (b"Warning: No M501 command was executed in config.g", "overrides_not_loaded", {}),
        (b"important:Extruder jam detected", "jam", {"cause": "jam"}),
        (b"important:No Filament detected", "runout", {"cause": "no filament"}),
        (b"Filament inserted", "filament_inserted", {}),
        (b"Info:Marked all extruders as unjammed.", "marks_cleared", {}),
        (b"Jam control disabled:1", "watching", {"enabled": False}),
        (b"Jam control disabled:0", "watching", {"enabled": True}),
        (b"Jam debugging:1", "jam_debugging", {}),
        (b"RequestPause:No filament detected!", "pause", {"step": "the host is asked to pause"}),
        (b"// Filament Detector has detected a jam/break.", "jam", {"cause": "a jam/break"}),
        (b"Suspending print, waiting for the moves...", "pause", {"step": "pausing"}),
        (b"// Print Suspended, enter resume to go on", "pause", {"step": "paused"}),
        (b"// Print already paused", "pause", {"step": "already paused"}),
        (b"// Print is not paused, resume aborted", "pause", {"step": "not paused"}),
        (b"Runout Disabled", "runout_set", {"set": "disabled", "enabled": False}),
        (b"echo:Runout Host Mode", "runout_set", {"set": "host mode", "enabled": None}),
        (b"// Toolhead parked by the bench", "message", {}),
    ],
)
def test_event_is_read(line: bytes, kind: str, details: dict[str, object]) -> None:
    """Each family's own words are known for what they say; a comment without a meaning here is a message."""
    found = read_texts(lambda lines: family_event(lines[0]), line + b"\n")

    assert found is not None
    assert (kind, details) == (found.event, dict(found.details))
    assert kind in json.loads(schema_text())["$defs"]["event"]["properties"]["event"]["enum"]


@pytest.mark.parametrize(
    "line", ["Filament inserted by hand", "Jam control disabled:maybe", "//", "Runout Enabled now"]
)
def test_similar_words_are_no_event(line: str) -> None:
    """Words that only resemble an event are left to be listed as not understood."""
    assert family_event(line) is None


def test_every_family_has_habits() -> None:
    """No family is left out, and the one without keepalives and the one that runs its user's files are known."""
    assert set(Family) == set(HABITS)
    assert {C} == {family for family, habits in HABITS.items() if habits.keepalives is False}
    assert {B} == {family for family, habits in HABITS.items() if habits.runs_user_files}
    assert set(KNOWN) == {family for family, habits in HABITS.items() if habits.runs_user_files}
    assert {D} == {family for family, habits in HABITS.items() if habits.acknowledges_first}
    assert (Acknowledging.WORD, Acknowledging.EMPTY_LINE) == HABITS[B].acknowledging
    assert {C} == {family for family, habits in HABITS.items() if habits.heeds_line_numbers is False}
    assert {C} == {family for family, habits in HABITS.items() if not habits.lists_sensors}
    assert {B, C} == {family for family, habits in HABITS.items() if habits.answers_when_halted}
    assert {D: True, A: False, C: False} == {
        family: habits.dialogue_blocks for family, habits in HABITS.items() if habits.dialogue_blocks is not None
    }


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (IDENTITIES[B], Acknowledging.WORD),
        (IDENTITIES[C], Acknowledging.WORD),
        (IDENTITIES[B].removesuffix(b"ok\n"), Acknowledging.EMPTY_LINE),
        (IDENTITIES[B].replace(b"ok\n", b"\n"), Acknowledging.EMPTY_LINE),
        (b"\n\nT:20.0 /0.0\n", None),
    ],
)
def test_way_of_acknowledging_is_seen(data: bytes, expected: Acknowledging | None) -> None:
    """An identity that came without an acknowledgement shows a printer that sends none; other lines show nothing."""
    assert expected is read_texts(acknowledging_of, data)


def test_announced_runout_may_not_pause() -> None:
    """Where a user's file or setting decides, a runout that is announced is no pause; each way back moves."""
    assert {B, C, D, E} == set(PAUSES)
    assert {B, C, D} == {family for family, habits in PAUSES.items() if habits.runout_may_not_pause}
    assert {B: "M24", C: "RESUME", E: "resume", D: ""} == {f: habits.resumes_by for f, habits in PAUSES.items()}


@pytest.mark.parametrize(
    ("family", "data", "told"),
    [
        (
            B,
            b"Simple filament sensor on pin io5.in, enabled always, filament present: yes\nok\n",
            {"support": True, "watching": True, "job": True},
        ),
        (
            B,
            b"Simple filament sensor on pin io5.in, disabled, filament present: yes\nok\n",
            {"support": True, "watching": False},
        ),
        (
            B,
            b"Simple filament sensor on pin io5.in, enabled when SD printing, filament present: yes\nok\n",
            {"support": True, "watching": True, "job": False},
        ),
        (B, b"Extruder 0 has no filament sensor\nok\n", {"support": False}),
        (B, b'{"key":"sensors.filamentMonitors","flags":"","result":[null]}\nok\n', {"support": False}),
        (
            B,
            b'{"key":"sensors.filamentMonitors","flags":"","result":[{"enableMode":0,"status":"ok"}]}\nok\n',
            {"support": True, "watching": False},
        ),
        (B, b"Error: M591: parameter 'D' too high\nok\n", {}),
        (B, b"echo:Filament runout ON, distance 4.000 mm, sensor: filament present\nok\n", {}),
        (C, b"// ExampleFW state: Ready\nok\n", {"serves": True}),
        (C, b"// ExampleFW state: Shutdown\n!! Board shutdown: x\nok\n", {"serves": False}),
        (C, b"// Filament Sensor s: filament detected\nok\n", {"support": True}),
        (
            C,
            b"// Filament Sensor s: filament detected\n// {'filament_detected': True, 'enabled': False}\nok\n",
            {"support": True, "watching": False},
        ),
        (C, b'// Unknown command:"QUERY_FILAMENT_SENSOR"\nok\n', {"support": False}),
        (C, b"!! The value 's' is not valid for SENSOR\nok\n", {}),
        (C, b'// Unknown command:"QUERY_BUTTON"\nok\n', {}),
        (D, b"Jam control disabled:1\nok 3\n", {"watching": False}),
        (
            E,
            b"Encoder pulses: 5\nFilament detector is enabled\nok\n",
            {"support": True, "watching": True},
        ),
    ],
)
def test_gates_are_told_by_replies(family: Family, data: bytes, told: dict[str, bool]) -> None:
    """A reply opens or shuts the gates it speaks of; every other gate of the family stays unknown."""
    found = read_texts(lambda lines: gates_told(printer(family), lines), data)

    assert {gate.key for gate in GATES[family]} == set(found)
    assert told == {key: state for key, state in found.items() if state is not None}


def test_gate_that_no_reply_tells_of_says_why() -> None:
    """What only a person or a test can know is listed with its reason, and stays unknown whatever is said."""
    assert {"after_power": None, "not_host_alone": None} == {
        key: state
        for key, state in gates_told(printer(B), ["Simple filament sensor on pin p, enabled always"]).items()
        if key in ("after_power", "not_host_alone")
    }
    assert all(gate.how.endswith(".") for row in GATES.values() for gate in row)
    assert {} == gates_told(printer(A), ["echo:Filament runout ON", "ok"])


def test_start_up_file_is_kept_as_text() -> None:
    """One family's listing is the file it starts from: kept line by line, with what it does not say."""
    data = b"; start-up file\nM92 X80.00\nM591 D0 P2 S1\nWarning: No M501 command was executed in config.g\nok\n"
    found = read_texts(lambda lines: settings_text_of(printer(B), lines), data)

    assert found is not None
    assert ("; start-up file", "M92 X80.00", "M591 D0 P2 S1") == found.lines[:3]
    assert {
        Limit.START_FILE,
        Limit.MAY_BE_CUT,
        Limit.OVERRIDES_APART,
        Limit.OVERRIDES_NOT_LOADED,
    } == set(found.limits)


def test_host_computer_prints_no_settings() -> None:
    """Another family has nothing to print, and says so by its limit; families that list values are read as such."""
    found = settings_text_of(printer(C), ['// Unknown command:"M503"', "ok"])

    assert found is not None
    assert (Limit.NOTHING_PRINTED,) == found.limits
    assert settings_text_of(printer(A), ["echo:  M92 X80.00", "ok"]) is None
