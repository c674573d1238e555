import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from commission.cli.captures import LARGEST_CAPTURE_BYTES, MOST_LINES
from commission.cli.read import read

CAPTURE = (
    b"FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:bench-3 EXTRUDER_COUNT:1 UUID:cede2a2f-41a2-4748-9b12-c55c62f367ff\n"
    b"Cap:RUNOUT:1\nCap:Z_PROBE:0\nok\n"
    b"Reporting endstop status\nx_min: open\n\x1b[2Jfilament: TRIGGERED\nok P15 B3\n"
    b"echo:Filament runout OFF ; Distance 0.00mm\nok\n"
    b"echo:  M569 S1 T0 E\necho:  M92 X80.6600\nok\n[red]what is this[/red]\n"
)

PAGE = """\
Identity
  firmware    ExampleFW 102.1.2
  version     102.1.2
  machine     bench-3
  extruders   1
  uuid        cede2a2f-41a2-4748-9b12-c55c62f367ff (the default of many builds: it tells no two
              printers apart)
  it has      RUNOUT
  it has not  Z_PROBE

Switches
  name             wire word  reading
  x_min            open       inactive
  \\x1b[2Jfilament  TRIGGERED  active

Runout control
  supported          yes
  enabled            no
  leftover distance  0 mm

Sources
  kind         name             reads
  switch line  x_min            open
  switch line  \\x1b[2Jfilament  TRIGGERED

Settings
  command  which  values     flags
  M569     T=0    S=1        E
  M92             X=80.6600

Acknowledgements
  4 in all
  planner free=15 queue free=3

Unrecognised
  [red]what is this[/red]

Nothing in this capture states: pins, stored settings, events.
Lines not understood: 1.
"""


def run(*arguments: str, stdin: bytes | None = None) -> Result:
    """The command as a person runs it."""
    return CliRunner().invoke(read, arguments, input=stdin)


@pytest.fixture
def capture(tmp_path: Path) -> Path:
    """A saved console capture."""
    file = tmp_path / "bench-3.txt"
    file.write_bytes(CAPTURE)
    return file


def test_page_is_shown_whole(capture: Path) -> None:
    """The page lists each topic that the capture states, hostile text made visible, and says what is missing."""
    result = run(str(capture))

    assert 0 == result.exit_code
    assert PAGE == result.output


SOURCES = b"""\
Filament runout ON, distance 3.000 mm, sensor: filament present
ok
Simple filament sensor on pin io5.in, disabled, output high when no filament, filament present: no
ok
{"key":"sensors.filamentMonitors","flags":"","result":[null,{"enableMode":0,"status":"ok","type":"simple"}]}

ok
// Filament Sensor lane[2]: filament not detected
// {'filament_detected': False, 'enabled': True}
ok
!! The value 'lane9' is not valid for SENSOR
ok
PIN:  53 PD3          <unused/unknown>                       Input  = 0
ok
Encoder pulses: 5
Filament detector is enabled
ok
"""

SOURCES_SHOWN = """\
Sources
  kind            name               reads                 filament  watched  level when absent  error
  runout word     sensor             filament present      in        yes
  monitor         io5.in             filament present: no  out       no       high
  monitor status  extruder 1                                         no
  named sensor    lane[2]            not detected          out       yes
  named sensor    lane9                                                                          no such name
  pin             53                 low
  pulse counter   filament detector                                  yes

"""
NO_SUCH_NAME = "The value 'lane9' is not valid for SENSOR"


def test_every_kind_of_source_is_shown(tmp_path: Path) -> None:
    """The page says of each source what its reply says, and leaves a blank where the reply is silent."""
    file = tmp_path / "sources.txt"
    file.write_bytes(SOURCES)

    page = run(str(file)).output

    assert SOURCES_SHOWN.replace("no such name", NO_SUCH_NAME) == page[page.index("Sources") : page.index("Pins")]


def test_schema_is_written_by_itself() -> None:
    """With --schema no file is needed, and what comes is the schema that the JSON obeys."""
    result = run("--schema")
    schema = json.loads(result.output)

    assert 0 == result.exit_code
    jsonschema.Draft202012Validator(schema).validate(json.loads(run("-", "--json", stdin=SOURCES).output))


def test_json_is_the_reading(capture: Path) -> None:
    """With --json the output is one JSON object in plain ASCII."""
    result = run(str(capture), "--json")

    assert 0 == result.exit_code
    assert "ExampleFW 102.1.2" == json.loads(result.output)["identity"]["firmware_name"]
    assert result.output.isascii()


def test_standard_input_is_read() -> None:
    """A dash reads what is piped in."""
    result = run("-", "--json", stdin=b"z_min: open\n")

    assert ["z_min"] == [switch["name"] for switch in json.loads(result.output)["switches"]]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_marked_text_is_read(tmp_path: Path, encoding: str) -> None:
    """A capture that an editor saved with a mark before its text is read like a plain one."""
    file = tmp_path / "marked.txt"
    file.write_bytes("z_min: open\nok\n".encode(encoding))

    plain = json.loads(run(str(file), "--json").output)

    assert (1, []) == (len(plain["switches"]), plain["unrecognised"])


def test_damaged_marked_text_is_refused(tmp_path: Path) -> None:
    """A file that announces an encoding and breaks it is refused with what to do."""
    file = tmp_path / "damaged.txt"
    file.write_bytes(b"\xff\xfez")

    result = run(str(file))

    assert 2 == result.exit_code
    assert "Save it as plain text" in result.output


@pytest.mark.parametrize(("content", "reason"), [(b"", "is empty"), (None, "cannot be read: No such file")])
def test_what_cannot_be_read_is_refused(tmp_path: Path, content: bytes | None, reason: str) -> None:
    """An empty and a missing file end with code 2 and a sentence that says why."""
    file = tmp_path / "nothing.txt"
    if content is not None:
        file.write_bytes(content)

    result = run(str(file))

    assert 2 == result.exit_code
    assert reason in " ".join(result.output.split())


def test_folder_is_refused(tmp_path: Path) -> None:
    """A folder in place of a file ends with code 2, not with a traceback."""
    result = run(str(tmp_path))

    assert 2 == result.exit_code
    assert "cannot be read" in " ".join(result.output.split())


def test_file_beyond_any_capture_is_refused(tmp_path: Path) -> None:
    """A file that is larger than any capture is refused before it is read through."""
    file = tmp_path / "large.bin"
    with file.open("wb") as stream:
        stream.truncate(LARGEST_CAPTURE_BYTES + 1)

    result = run(str(file))

    assert 2 == result.exit_code
    assert "larger than 4 MiB: give only the part that holds the printer's replies." in " ".join(result.output.split())


@pytest.mark.parametrize("line", [b"\n", b"\r", b"ok\r\n", b"M92 X80.00\n"])
def test_more_lines_than_any_capture_are_refused(tmp_path: Path, line: bytes) -> None:
    """However short they are, what is kept of each line takes memory: beyond the limit none is read."""
    file = tmp_path / "long.txt"
    file.write_bytes(line * (MOST_LINES + 1))

    result = run(str(file))

    assert 2 == result.exit_code
    assert "long.txt has more than 50,000 lines: give only the part" in " ".join(result.output.split())


def test_help_has_an_example() -> None:
    """The help shows how the command is typed."""
    assert "commission read bench-3-settings.txt --json" in run("--help").output


def test_what_is_no_capture_is_called_so(tmp_path: Path) -> None:
    """Of a file that holds no reply only the beginning is shown, and it is asked whether it is the right one."""
    file = tmp_path / "notes.txt"
    file.write_bytes(b"\n".join([b"x" * 300, *(b"thing %d" % number for number in range(50))]))
    lines = run(str(file)).output.splitlines()

    assert [f"  {'x' * 200} ...", "  thing 0"] == lines[1:3]
    assert "  and 11 more; --json lists them all, and whole" == lines[41]
    assert "Nothing in it is a printer's reply as this program knows them: is it the right file?" == lines[-1]
