"""What the generations and families say, whole."""

import pytest

from tests.fake_printer.line import Host

SOUND_SWITCHES = ["Reporting endstop status", "x_min: open", "y_min: open", "z_min: open", "filament: open"]


def test_new_generation_identity() -> None:
    """The identity of the newest form: one line of pairs, then a line for each capability."""
    lines = Host("new-forms").ask("M115")

    assert (
        "FIRMWARE_NAME:ExampleFW 102.1.3 (Mar  9 2024 18:05:12) SOURCE_CODE_URL:https://example.org/firmware "
        "PROTOCOL_VERSION:1.0 MACHINE_TYPE:Bench 3 KINEMATICS:Cartesian EXTRUDER_COUNT:2 "
        "UUID:6f1a4c1e-58b0-4c7c-9a39-0f3d2a7b9e51"
    ) == lines[0]
    assert {"Cap:RUNOUT:1", "Cap:EMERGENCY_PARSER:1"} <= set(lines)
    assert lines[-1] == "ok P15 B3"


@pytest.mark.parametrize(
    ("unit", "caps"),
    [("sound", ["Cap:RUNOUT:1"]), ("not-compiled-in", ["Cap:RUNOUT:0"]), ("middle-forms", []), ("old-forms", [])],
)
def test_runout_capability(unit: str, caps: list[str]) -> None:
    """Only the newest generation says whether it has runout support."""
    assert caps == [line for line in Host(unit).ask("M115") if line.startswith("Cap:RUNOUT")]


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("sound", ["echo:Filament runout ON ; Distance 20.00mm ; Host handling OFF", "ok"]),
        (
            "new-forms",
            ["echo:Filament runout ON ; Distance 20.00mm ; Motion distance 10.00mm ; Host handling OFF", "ok P15 B3"],
        ),
        ("middle-forms", ["echo:Filament runout ON", "Filament runout distance (mm): 20.00", "ok P15 B3"]),
        ("sentence-form", ["echo:Filament runout ON, distance 20.000 mm, sensor: filament not present", "ok"]),
        ("old-forms", ['echo:Unknown command: "M412"', "ok"]),
        ("not-compiled-in", ['echo:Unknown command: "M412"', "ok"]),
        ("family-b", ["Error: M412: Command is not supported", "ok"]),
        ("family-c", ['// Unknown command:"M412"', "ok"]),
        ("family-d", ["ok 0", "Unknown command:M412"]),
    ],
)
def test_runout_control(unit: str, expected: list[str]) -> None:
    """Each form of the runout report, and each way of not knowing it."""
    assert expected == Host(unit).ask("M412")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("sound", [*SOUND_SWITCHES, "ok"]),
        ("new-forms", [*SOUND_SWITCHES, "filament 2: open", "ok P15 B3"]),
        ("letter-states", ["Reporting endstop status", "x_min: L", "y_min: L", "z_min: L", "filament: L", "ok"]),
        ("not-compiled-in", [*SOUND_SWITCHES[:-1], "ok"]),
        ("family-b", ["Endstops - X: not stopped, Y: not stopped, Z: not stopped, Z probe: not stopped", "ok"]),
        ("family-c", ["x:open y:open z:open", "ok"]),
        ("family-d", ["ok 0", "endstops hit: x_min:L y_min:L z_min:L Z-probe state:L"]),
        ("family-e", ["X_min:0 Y_min:0 Z_min:0 pins- (X)P1.24:0 (Y)P1.26:0 (Z)P1.28:0  Probe: 0", "ok"]),
    ],
)
def test_switches(unit: str, expected: list[str]) -> None:
    """Each form of the switch report."""
    assert expected == Host(unit).ask("M119")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("family-c", ["ok FIRMWARE_VERSION:v100.9.4-31-gbeef123 FIRMWARE_NAME:ExampleC"]),
        (
            "family-b",
            [
                "FIRMWARE_NAME: ExampleB FIRMWARE_VERSION: 103.9.2 ELECTRONICS: Bench Board 2 "
                "FIRMWARE_DATE: 2024-03-09 18:05:12",
                "ok",
            ],
        ),
        (
            "family-e",
            [
                "FIRMWARE_NAME:ExampleE, FIRMWARE_URL:https%3A//example.org/firmware, "
                "FIRMWARE_VERSION:edge-3c1f2a9, X-AXES:4, X-SYSTEM_CLOCK:120MHz",
                "ok",
            ],
        ),
        (
            "family-d",
            [
                "ok 0",
                "FIRMWARE_NAME:ExampleD_100.92 FIRMWARE_URL:https://example.org/firmware PROTOCOL_VERSION:1.0 "
                "MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1 EXAMPLED_PROTOCOL:2",
                "Printed filament:214.80m Printing time:9 days 4 hours 31 min",
            ],
        ),
    ],
)
def test_identity_of_other_families(unit: str, expected: list[str]) -> None:
    """Each family's identity, whole."""
    assert expected == Host(unit).ask("M115")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("sound", ["X:110.00 Y:90.00 Z:12.00 E:0.00 Count X:8800 Y:7200 Z:4800", "ok"]),
        ("old-forms", ["X:110.00 Y:90.00 Z:12.00 E:0.00 Count X: 8800 Y:7200 Z:4800", "ok"]),
        ("family-b", ["X:110.000 Y:90.000 Z:12.000 E:0.000 Count 8800 7200 960", "ok"]),
        ("family-c", ["X:110.000 Y:90.000 Z:12.000 E:0.000", "ok"]),
        ("family-d", ["ok 0", "X:110.00 Y:90.00 Z:12.000 E:0.0000"]),
        ("family-e", ["ok C: X:110.0000 Y:90.0000 Z:12.0000 E:0.0000"]),
    ],
)
def test_position(unit: str, expected: list[str]) -> None:
    """Each form of the position report."""
    assert expected == Host(unit).ask("M114")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("sound", ["ok T:21.50 /0.00 B:21.50 /0.00 @:0 B@:0"]),
        ("family-b", ["ok T:21.5 /0.0 B:21.5 /0.0"]),
        ("family-c", ["ok B:21.5 /0.0 T0:21.5 /0.0"]),
        ("family-d", ["ok 0", "T:21.50 /0 B:21.50 /0 B@:0 @:0"]),
        ("family-e", ["ok T:21.50 /0.00 B:21.50 /0.00 @:0 B@:0"]),
    ],
)
def test_temperatures(unit: str, expected: list[str]) -> None:
    """Each form of the temperature report."""
    assert expected == Host(unit).ask("M105")


def test_autoreport_begins_with_a_blank() -> None:
    """Temperatures reported by themselves come at their interval, with a leading blank and no acknowledgement."""
    host = Host()
    host.ask("M155 S2")

    assert [" T:21.50 /0.00 B:21.50 /0.00 @:0 B@:0"] * 3 == host.after(6.1)

    host.ask("M155 S0")

    assert [] == host.after(10)


def test_idle_word_comes_once_a_second() -> None:
    """Family D says `wait` once a second while nobody asks."""
    assert ["wait"] * 5 == Host("family-d").after(5.1)


def test_family_d_numbers_its_acknowledgement() -> None:
    """Family D acknowledges a numbered line by its number, before the answer."""
    host = Host("family-d")
    host.ask("M110 N11")
    body = "N12 M119"
    check = 0
    for byte in body.encode():
        check ^= byte

    assert ["ok 12", "endstops hit: x_min:L y_min:L z_min:L Z-probe state:L"] == host.ask(f"{body}*{check}")


def test_family_d_lists_its_cells() -> None:
    """Family D lists its settings cell by cell, and a written cell is listed with its new value."""
    host = Host("family-d")
    host.ask("M206 T3 P11 X2560.0")

    assert "EPR:3 11 2560.0000 Z-axis steps per mm" in host.ask("M205")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("middle-forms", ['echo:Unknown command: "M43 P42"', "ok P15 B3"]),
        (
            "new-forms",
            [
                "PIN: C10         M42 P42          RUNOUT_PIN                             Input  HIGH",
                "ok P15 B3",
            ],
        ),
    ],
)
def test_pin_report(unit: str, expected: list[str]) -> None:
    """One pin is reported where pin reports are built in."""
    assert expected == Host(unit).ask("M43 P42")


def test_pin_with_a_second_user_is_shown() -> None:
    """A second name of the input stands on a line of its own that begins with a dot."""
    host = Host("new-forms", input={"names": ("RUNOUT_PIN", "HEATER_BED_PIN")})

    assert [".                                 HEATER_BED_PIN                         Input  HIGH"] == [
        line for line in host.ask("M43 P42") if line.startswith(".")
    ]


def test_message_is_printed_as_asked() -> None:
    """Text is printed plainly, as an echo, or as an action."""
    host = Host()

    assert ["hello", "ok"] == host.ask("M118 hello")
    assert ["echo:hello", "ok"] == host.ask("M118 E1 hello")
    assert ["//action:notification hi", "ok"] == host.ask("M118 A1 action:notification hi")


def test_commands_are_echoed_on_demand() -> None:
    """With debug echo on, each command comes back bare before its answer."""
    host = Host()
    host.ask("M111 S1")

    assert ["M117 x", "ok"] == host.ask("M117 x")
