import pytest

from commission.dialect.answers import SILENT, Answer
from commission.dialect.commands import (
    COLD_EXTRUSION,
    IDENTITY,
    KEEPALIVE,
    POSITION,
    RUNOUT_CONTROL,
    SAVE_STORED,
    SETTINGS,
    SWITCHES,
    TEMPERATURES,
    Command,
    pin_report,
)


@pytest.mark.parametrize(
    ("command", "lines"),
    [
        (IDENTITY, ["FIRMWARE_NAME:ExampleFW 102.1.2", "Cap:EEPROM:1", "ok"]),
        (IDENTITY, ["ok FIRMWARE_VERSION:v100.9.1 FIRMWARE_NAME:ExampleFW"]),
        (IDENTITY, ["ok 0", "FIRMWARE_NAME:ExampleFW_100.92 MACHINE_TYPE:Bench EXAMPLEFW_PROTOCOL:2"]),
        (SWITCHES, ["Reporting endstop status", "x_min: open", "filament: TRIGGERED", "ok"]),
        (SWITCHES, ["ok 4", "endstops hit: x_max:L y_max:L z_max:L"]),
        (SWITCHES, ["x:open y:open z:TRIGGERED", "ok"]),
        (SWITCHES, ["X_min:0 Y_min:0 pins- (X)P1.24:1 Probe: 0", "ok"]),
        (SWITCHES, ["Endstops - X: not stopped, Y: not stopped", "ok"]),
        (SETTINGS, ["echo:; Steps per unit:", "echo: M92 X80.00", "ok"]),
        (SETTINGS, ['echo:Unknown command: "M503"', "ok"]),
        (RUNOUT_CONTROL, ["echo:Filament runout ON", "Filament runout distance (mm): 5.00", "ok P15 B3"]),
        (RUNOUT_CONTROL, ['echo:Unknown command: "M412"', "ok"]),
        (
            RUNOUT_CONTROL,
            [
                "echo:Filament runout ON",
                "Filament runout distance (mm): 5.00",
                "filament: LOADED",
                "filament 2: GONE",
                "ok",
            ],
        ),
        (TEMPERATURES, ["ok T:21.0 /0.0"]),
        (TEMPERATURES, ["ok B:21.5 /0.0 T0:21.5 /0.0"]),
        (SAVE_STORED, ["ok 0", "Configuration stored to EEPROM."]),
        (TEMPERATURES, ["ok 0", "T:21.0 /0 B:20.0 /0"]),
        (POSITION, ["X:0.00 Y:0.00 Z:0.00 E:0.00 Count X:0 Y:0 Z:0", "ok"]),
        (POSITION, ["ok C: X:0.00 Y:0.00 Z:0.00"]),
        (COLD_EXTRUSION, ["echo:Cold extrudes are disabled (min temp 170C)", "ok"]),
        (KEEPALIVE, ["echo:M113 S2", "ok"]),
        (SAVE_STORED, ["echo:Settings Stored (640 bytes; crc 12275)", "ok"]),
        (SAVE_STORED, ["Error:EEPROM disabled", "ok"]),
        (pin_report("4"), ["PIN:   4   Port: G5        RUNOUT_PIN    protected", "ok"]),
    ],
)
def test_answer_is_complete_at_its_last_line_and_not_before(command: Command, lines: list[str]) -> None:
    """The answer of every family is complete with its last line, whether that is the acknowledgement or not."""
    assert command.answer.complete(lines)
    assert not command.answer.complete(lines[:-1])


@pytest.mark.parametrize(
    ("command", "lines"),
    [
        (SWITCHES, ["ok"]),
        (SWITCHES, ["ok", "Reporting endstop status", "x_min: open"]),
        (SWITCHES, ["ok", "x_min: open", "filament: open"]),
        (IDENTITY, ["ok", "FIRMWARE_NAME:ExampleFW 102.1.2 PROTOCOL_VERSION:1.0", "Cap:EEPROM:1"]),
        (SETTINGS, ["ok", "echo: M92 X80.00"]),
        (RUNOUT_CONTROL, ["ok", "echo:Filament runout ON"]),
        (SWITCHES, ["okay", "x:open y:open z:open"]),
    ],
)
def test_stray_acknowledgement_completes_nothing(command: Command, lines: list[str]) -> None:
    """An acknowledgement before an answer of many lines leaves it open until one comes after it."""
    assert not command.answer.complete(lines)
    assert command.answer.complete([*lines, "ok"]) is (lines != ["ok"])


def test_late_switch_line_is_no_runout_word() -> None:
    """A switch line that comes late does not pass for the word of a fork on its sensor."""
    assert not RUNOUT_CONTROL.answer.complete(["x_min: open", "filament: TRIGGERED", "filament 2: open", "ok"])


def test_silent_answer_is_the_acknowledgement() -> None:
    """A command that is only acknowledged is complete with that, refused or not."""
    assert SILENT.complete(["ok P15 B3"])
    assert SILENT.complete(['echo:Unknown command: "M999"', "ok"])
    assert not SILENT.complete(["wait", "echo:busy: processing"])


def test_answer_is_named_in_one_word() -> None:
    """An answer whose name is not one word cannot be made."""
    with pytest.raises(ValueError, match="one word"):
        Answer("two words")
