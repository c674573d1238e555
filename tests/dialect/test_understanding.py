import hashlib
import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import commission.dialect
from commission.dialect.framing import split_lines
from commission.dialect.sources.report import SourceKind
from commission.dialect.understanding import Understanding, as_json, understand
from tests.dialect.feeding import byte_by_byte, every_way

SCHEMA = json.loads(Path(commission.dialect.__file__).with_name("reading.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

# A made-up evening at the bench: a boot, an identity, switches, runout control, a listing and some trouble.
EVENING = (
    b"start\necho: External Reset\nExampleFW 102.1.2\n\necho: Last Updated: 2023-02-03 | Author: (bench)\n"
    b"echo:Compiled: Mar  4 2023\necho: Free Memory: 1352  PlannerBufferBytes: 1200\n"
    b"echo:V61 stored settings retrieved (702 bytes; crc 40112)\n"
    b"FIRMWARE_NAME:ExampleFW 102.1.2 PROTOCOL_VERSION:1.0 MACHINE_TYPE:bench-3 EXTRUDER_COUNT:1\nCap:RUNOUT:1\nok\n"
    b"Reporting endstop status\nx_min: open\nfilament: TRIGGERED\nok P15 B3\n"
    b"echo:Filament runout ON ; Distance 12.00mm\nok\n"
    b"echo:; Steps per unit:\necho: M92 X80.00\nbelt debug 0x11\nok\n"
    b"PIN: PB4         M42 P20          RUNOUT_PIN           Input  = 1\nok N4\n"
    b"Error:checksum mismatch, Last Line: 6\nResend: 7\n"
    b"//action:prompt_begin FilamentRunout T0\necho:busy: paused for user\n"
    b"ok T:21.00 /0.00 B:20.00 /0.00\nwait\nM600\n\x1b]2;bench\x07\n"
)


def reading(data: bytes) -> dict[str, object]:
    """The reading of a capture, the same however its bytes came, valid against the published schema."""
    plain = every_way(lambda lines: as_json(understand(lines)), data)
    VALIDATOR.validate(json.loads(json.dumps(plain)))
    return plain


def test_whole_evening_is_read() -> None:
    """Every topic of one capture is found, each in the order of its lines, and absent facts are null."""
    plain = reading(EVENING)

    assert {
        "firmware_name": "ExampleFW 102.1.2",
        "firmware_version": "102.1.2",
        "machine": "bench-3",
        "extruders": 1,
        "uuid": None,
        "capabilities": {"RUNOUT": True},
    } == plain["identity"]
    assert [
        {"name": "x_min", "wire_word": "open", "reading": "inactive"},
        {"name": "filament", "wire_word": "TRIGGERED", "reading": "active"},
    ] == plain["switches"]
    assert [
        {
            "command": "M92",
            "selectors": {},
            "values": {"X": 80.0},
            "flags": [],
            "occurrence": 1,
            "line": "echo: M92 X80.00",
        }
    ] == plain["settings"]
    assert {
        "supported": True,
        "enabled": True,
        "distance_mm": 12.0,
        "motion_distance_mm": None,
        "host_handling": None,
        "filament_claimed": None,
        "absent_level": None,
    } == plain["runout_control"]
    assert [{"pin": "PB4", "names": ["RUNOUT_PIN"], "mode": "input", "level": "high"}] == plain["pins"]
    assert [
        {
            "kind": kind,
            "name": name,
            "presence": None,
            "enabled": None,
            "absent_level": None,
            "error": None,
        }
        for kind, name in (("switch_line", "x_min"), ("switch_line", "filament"), ("pin", "PB4"))
    ] == plain["sources"]
    assert [{"event": "retrieved", "kind": None, "version": "V61", "bytes": 702, "crc": 40112}] == plain[
        "stored_settings"
    ]
    assert [
        {"line": None, "planner_free": None, "queue_free": None},
        {"line": None, "planner_free": 15, "queue_free": 3},
        {"line": None, "planner_free": None, "queue_free": None},
        {"line": None, "planner_free": None, "queue_free": None},
        {"line": 4, "planner_free": None, "queue_free": None},
        {"line": None, "planner_free": None, "queue_free": None},
    ] == plain["acknowledgements"]
    assert ["belt debug 0x11", "\\x1b]2;bench\\x07"] == plain["unrecognised"]


def test_events_keep_their_order_and_details() -> None:
    """What the printer says by itself is told in order, each with what its line states."""
    events = understand(EVENING).events

    assert [
        ("boot", {"cause": None}),
        ("boot", {"cause": "External Reset"}),
        ("firmware", {"name": "ExampleFW", "version": "102.1.2"}),
        ("boot", {"cause": None}),
        ("boot", {"cause": None}),
        ("boot", {"cause": None}),
        ("error", {"kind": "checksum mismatch", "last_line": 6}),
        ("resend", {"line": 7}),
        ("prompt", {"action": "prompt_begin", "argument": "FilamentRunout T0"}),
        ("paused_for_user", {"reason": "paused for user"}),
        (
            "temperature",
            {
                "heaters": {
                    "T": {"actual_c": 21.0, "target_c": 0.0},
                    "B": {"actual_c": 20.0, "target_c": 0.0},
                }
            },
        ),
        ("idle", {}),
        ("echoed_command", {"command": "M600"}),
    ] == [(event.event, dict(event.details)) for event in events]


def test_refused_runout_command_is_not_supported() -> None:
    """A refusal is an event, and says of runout control that it is not there."""
    read = understand(b'echo:Unknown command: "M412"\nok P15 B3\n')

    assert read.runout_control.supported is False
    assert read.runout_control.enabled is None
    assert ["unknown_command"] == [event.event for event in read.events]


def test_name_with_a_version_is_a_banner_only_beside_a_boot() -> None:
    """A name and a version that stand alone are not taken for a firmware."""
    assert ("ExampleFW 102.1.2",) == understand(b"ExampleFW 102.1.2\nok\n").unrecognised


@pytest.mark.parametrize(
    ("line", "event"),
    [
        (b"echo:Insert filament and send M108", "instruction"),
        (b"echo:Send M108 to heat nozzle", "instruction"),
        (b"Press button (or M108) to resume", "instruction"),
        (b"echo:Hotend too cold", "too_cold"),
        (b"echo:Cold extrudes are disabled (min temp 170C)", "cold_extrusion"),
        (b"echo: cold extrusion prevented", "too_cold"),
        (b"Printed filament:12.34m Printing time:1 days 2 hours", "statistics"),
    ],
)
def test_worded_line_is_an_event(line: bytes, event: str) -> None:
    """Lines to the operator, a refusal to extrude cold and lifetime figures are known by their wording."""
    assert [{"event": event, "text": line.decode()}] == reading(line + b"\nok\n")["events"]


def test_storage_error_is_told_once() -> None:
    """An error about the store stands among the store's messages and not among the events as well."""
    read = understand(b"Error:EEPROM disabled\nok\n")

    assert ["disabled"] == [event.kind for event in read.stored_settings]
    assert () == read.events


def test_glued_lines_are_both_read() -> None:
    """Text without a newline before a settings line is kept, and the settings line is read."""
    read = understand(b"Some mesh textecho:  G21 ; (mm)\nok\n")

    assert ("Some mesh text",) == read.unrecognised
    assert ["G21"] == [item.command for item in read.settings]


def test_data_after_an_acknowledgement_is_kept() -> None:
    """What stands behind an acknowledgement is read like a line, or kept when it is not understood."""
    read = understand(b"ok FIRMWARE_NAME:ExampleFW FIRMWARE_VERSION:v100.9.1\nok so far\n")

    assert read.identity is not None
    assert "v100.9.1" == read.identity.firmware_version
    assert ("so far",) == read.unrecognised
    assert 2 == len(read.acknowledgements)


def test_capture_that_ends_in_a_line_keeps_it() -> None:
    """The last line of a capture counts although no newline follows."""
    assert ["z_min"] == [switch.name for switch in understand(b"z_min: open").switches]


def test_empty_capture_says_nothing() -> None:
    """Nothing in, nothing out: no fact is invented."""
    plain = as_json(understand(b""))

    assert plain["identity"] is None
    assert not any(value for key, value in plain.items() if key != "runout_control")
    VALIDATOR.validate(plain)


def test_published_schema_is_a_schema() -> None:
    """The published file is itself valid, and refuses a reading with a fact left out."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    plain = as_json(understand(EVENING))
    del plain["pins"]

    with pytest.raises(jsonschema.ValidationError, match="'pins' is a required property"):
        VALIDATOR.validate(plain)


def lines_accounted_for(read: Understanding) -> int:
    """How many lines were given to a topic."""
    return sum(read.topics.values())


# Lines that tell of sources, each beside the next: what belongs to the line above it is among them.
OF_SOURCES = (
    b"Simple filament sensor on pin io5.in, enabled, output high when no filament, filament present: no",
    b"BenchMade laser filament monitor v5 with switch on pin io6.in, enabled always, no filament, error: dark",
    b"Extruder 2 has no filament sensor",
    b'{"key":"sensors.filamentMonitors","flags":"a2","result":[null,{"enabled":true,"status":"ok"}],"next":4}',
    b'{"status":"P","heaters":[20.5]}',
    b"echo:Filament runout ON",
    b"filament 2: PRESENT",
    b"// Filament Sensor lane: filament not detected",
    b"// {'filament_detected': False, 'enabled': True}",
    b"!! The value 'lane9' is not valid for SENSOR",
    b"// ExampleFW state: Shutdown",
    b"Encoder pulses: 5",
    b"Filament detector is enabled",
    b" to 57 is 1",
    b"X_min:0 Y_min:1 pins- (X)P2.10:0 (Y)P2.11:1  Probe: 0",
    b"// left_stop: PRESSED",
    b"important:Extruder jam detected",
    b"ok",
)
SAMPLES = st.sampled_from((*EVENING.splitlines(), *OF_SOURCES))


@settings(deadline=None, max_examples=100)
@given(st.lists(SAMPLES | st.binary(max_size=60), max_size=30))
def test_no_line_is_lost(lines: list[bytes]) -> None:
    """Whatever bytes come, nothing raises, every line is given to a topic, and the reading is valid."""
    data = b"\n".join(lines)
    read = understand(data)

    assert len(split_lines(data)) <= lines_accounted_for(read)
    assert understand(byte_by_byte(data + b"\n")) == understand(data + b"\n")
    VALIDATOR.validate(json.loads(json.dumps(as_json(read))))


@settings(deadline=None, max_examples=50)
@given(SAMPLES, st.integers(0, 60), st.binary(min_size=1, max_size=3))
def test_damaged_line_is_still_accounted_for(line: bytes, place: int, damage: bytes) -> None:
    """A line with a byte overwritten is read or kept, never dropped."""
    damaged = (line[:place] + damage + line[place + 1 :]).replace(b"\n", b"?")

    assert 1 <= lines_accounted_for(understand(damaged + b"\n"))


@pytest.mark.parametrize(
    ("data", "lines"),
    [
        (b"x" * 2**20, 256),
        (b"a\n" * 20_000, 20_000),
        ((b"echo:" * 800 + b"\n") * 50, 50),
        ((b"pins-" * 800 + b" ok\n") * 50, 50),
        ((b"x:open " * 570 + b"!\n") * 50, 50),
        ((b"// Filament Sensor " + b"a: filament " * 330 + b"\n") * 50, 50),
        ((b"filament sensor on pin " + b"a, " * 1300 + b"\n") * 50, 50),
        ((b"x sensor " * 440 + b"\n") * 50, 50),
        ((b'{"key":"a","result":' + b"[" * 4000 + b"\n") * 50, 50),
        ((b"// {" + b"'filament_detected': True, " * 140 + b"\n") * 50, 50),
        ((b"echo:Filament runout ON ;" + b" Mode;" * 600 + b"\n") * 50, 50),
        ((b"FIRMWARE_NAME:" + b"1.1-a" * 790 + b"\n") * 50, 50),
        ((b"echo:  M92 " + b"(" * 3900 + b"\n") * 50, 50),
        (hashlib.shake_256(b"noise").digest(2**17).replace(b"\n", b"."), 32),
    ],
    ids=[
        "no newline",
        "many lines",
        "prefixes",
        "pins",
        "almost switches",
        "almost sensors",
        "clauses",
        "sensors",
        "nesting",
        "dictionaries",
        "modes",
        "versions",
        "brackets",
        "noise",
    ],
)
def test_hostile_capture_is_read_to_its_end(data: bytes, lines: int) -> None:
    """Shapes that make a careless pattern run away are read whole, well inside the suite's own time limit."""
    assert lines == lines_accounted_for(understand(data))


def test_source_kinds_are_published() -> None:
    """Every kind of source stands in the schema, with its meaning."""
    published = SCHEMA["$defs"]["source"]["properties"]["kind"]

    assert [kind.value for kind in SourceKind] == published["enum"]
    assert all(f"{kind.value}: {kind.meaning}." in published["description"] for kind in SourceKind)


def test_sources_stand_beside_what_was_told_before() -> None:
    """A line that tells of a source keeps its old place too: a switch, runout control, a pin, an error."""
    plain = reading(b"\n".join(OF_SOURCES) + b"\n")

    assert ["X_min", "Y_min", "Probe"] == [each["name"] for each in listed(plain, "switches")]
    assert ["57", "P2.10", "P2.11"] == [each["pin"] for each in listed(plain, "pins")]
    assert ["state", "error", "state", "jam"] == [each["event"] for each in listed(plain, "events")]
    assert [] == plain["unrecognised"]
    assert [
        ("monitor", "io5.in", "out"),
        ("monitor", "io6.in", "out"),
        ("monitor", "extruder 2", None),
        ("monitor_status", "extruder 3", None),
        ("runout_word", "filament 2", "in"),
        ("named_sensor", "lane", "out"),
        ("named_sensor", "lane9", None),
        ("pulse_counter", "filament detector", None),
        ("pin", "57", None),
        ("switch_line", "X_min", None),
        ("switch_line", "Y_min", None),
        ("switch_line", "Probe", None),
        ("pin", "P2.10", None),
        ("pin", "P2.11", None),
        ("pin", "left_stop", None),
    ] == [(each["kind"], each["name"], each["presence"]) for each in listed(plain, "sources")]


def listed(plain: dict[str, object], topic: str) -> list[dict[str, object]]:
    """The items of one topic."""
    items = plain[topic]
    assert isinstance(items, list)
    return items
