"""Settings in working memory and in the settings memory."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.memory import Memory
from tests.fake_printer.line import Host


def line_of(host: Host, code: str) -> str:
    """The settings line of this command."""
    return next(line for line in host.ask("M503") if line.removeprefix("echo:").strip().startswith(code + " "))


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("old-forms", ["echo:Steps per unit:", "echo:  M92 X80.00 Y80.00 Z400.00 E95.40"]),
        ("middle-forms", ["echo:; Steps per unit:", "echo: M92 X80.00 Y80.00 Z400.00 E95.40"]),
        ("sound", ["echo:; Steps per unit:", "echo:  M92 X80.00 Y80.00 Z400.00 E95.40"]),
    ],
)
def test_heading_and_line_by_generation(unit: str, expected: list[str]) -> None:
    """Each generation heads and indents its settings lines in its own way."""
    lines = Host(unit).ask("M503")
    place = lines.index(expected[0])

    assert expected == lines[place : place + 2]


def test_unit_lines_by_generation() -> None:
    """The report begins with the units of length and temperature."""
    assert ["echo:  G21    ; Units in mm", "echo:  M149 C ; Units in Celsius", ""] == Host("old-forms").ask("M503")[:3]
    assert ["echo:; Linear Units:", "echo:  G21 ; (mm)"] == Host("sound").ask("M503")[:2]


def test_newest_form_notes_the_sensor() -> None:
    """The runout line of the newest form says in words whether watching is on."""
    host = Host()
    host.ask("M412 S0 D25")

    assert line_of(host, "M412") == "echo:  M412 S0 D25.00 ; Sensor OFF"


def test_bare_report_is_replayable() -> None:
    """The bare report holds command lines alone, and giving them to a unit with defaults makes its report the same."""
    bare = [line for line in Host().ask("M503 S0") if line != "ok"]
    other = Host(memory=Memory())
    for line in bare:
        other.ask(line)

    assert bare == [line for line in other.ask("M503 S0") if line != "ok"]
    assert not any(line.startswith("echo") for line in bare)


def test_old_generation_has_no_sideways_probe_offset() -> None:
    """The old generation knows the probe's height only."""
    assert line_of(Host("old-forms"), "M851") == "echo:  M851 Z-1.85"


def test_change_is_lost_without_storing() -> None:
    """A value that was set and not stored is gone after a restart."""
    host = Host()
    host.ask("M92 E101.5")
    host.do("press-reset", settle_s=5)
    host.lines()

    assert "E95.40" in line_of(host, "M92")


def test_stored_value_outlives_a_power_cycle() -> None:
    """A value that was stored is there after a power cycle, and the memory was written once."""
    host = Host()
    host.ask("M92 E101.5")
    reply = host.ask("M500")
    host.do("power-cycle", settle_s=8)
    host.lines()

    assert reply[0].startswith("echo:Settings Stored (392 bytes; crc ")
    assert "E101.50" in line_of(host, "M92")
    assert host.printer.memory.writes == 1


def test_reload_discards_and_reports() -> None:
    """A reload throws unsaved values away and reports what was stored."""
    host = Host()
    host.ask("M92 E101.5")
    lines = host.ask("M501")

    assert lines[0].startswith("echo:V87 stored settings retrieved (392 bytes; crc ")
    assert "echo:  M92 X80.00 Y80.00 Z400.00 E95.40" in lines


def test_defaults_are_not_stored_by_themselves() -> None:
    """Defaults fill working memory only; a reload brings the tuned values back."""
    host = Host()

    assert ["echo:Hardcoded Default Settings Loaded", "ok"] == host.ask("M502")
    assert "E93.00" in line_of(host, "M92")

    host.ask("M501")

    assert "E95.40" in line_of(host, "M92")


def test_blank_memory_gives_defaults_with_a_message() -> None:
    """A memory that was never written is told as a version mismatch with a question mark."""
    host = Host(memory=Memory())

    assert [
        "echo:EEPROM version mismatch (EEPROM=? ExampleFW=V87)",
        "echo:Hardcoded Default Settings Loaded",
    ] == host.ask("M501")[:2]
    assert ["echo:EEPROM version mismatch (EEPROM=? ExampleFW=V87)", "ok"] == host.ask("M504")


def test_other_layout_after_a_reflash() -> None:
    """A build with another layout version boots with the mismatch, defaults, and without the tuned values."""
    host = Host("old-forms")
    host.do("reflash", "sound", settle_s=5)
    lines = host.lines()

    assert "echo:EEPROM version mismatch (EEPROM=V55 ExampleFW=V87)" in lines
    assert "echo:  M92 X80.00 Y80.00 Z400.00 E93.00" in lines


def test_same_version_with_another_size() -> None:
    """A layout of the same version and another size is told by both sizes."""
    host = Host()
    host.ask("M500")
    other = Host("not-compiled-in", memory=host.printer.memory)

    assert ["Error:EEPROM datasize error.", "echo:Index: 376 Size: 392"] == other.ask("M504")[:2]


def test_damaged_memory_is_told_by_both_checksums() -> None:
    """A bit that tipped over is told with the stored and the computed checksum."""
    host = Host()
    image = bytearray(host.printer.memory.image)
    image[20] ^= 1
    host.printer.memory.image = bytes(image)
    reply = host.ask("M504")[0]

    assert reply.startswith("Error:EEPROM CRC mismatch - (stored) ")
    assert reply.endswith(" (calculated)!")


def test_no_storage_says_so() -> None:
    """A build without storage refuses to store and to check, with a line that is harmless."""
    host = Host(firmware={"has_storage": False})

    assert ["Error:EEPROM disabled", "ok"] == host.ask("M500")
    assert ["Error:EEPROM disabled", "ok"] == host.ask("M504")


@given(
    st.floats(0, 9999, allow_nan=False).map(lambda value: round(value, 2)),
    st.sampled_from(["M92", "M203", "M201", "M204", "M206", "M301"]),
)
@settings(deadline=None, max_examples=60)
def test_every_value_survives_storing(value: float, code: str) -> None:
    """Any value set with two decimals is printed the same after storing and a restart."""
    host = Host()
    letter = {"M204": "P", "M301": "I"}.get(code, "Z")
    host.ask(f"{code} {letter}{value:.2f}")
    host.ask("M500")
    host.do("press-reset", settle_s=5)
    host.lines()

    assert f" {letter}{value:.2f}" in line_of(host, code)
