"""Families D and E: one pin at the price of its mode, jams, pulses, and a print that is suspended."""

from pathlib import Path

import pytest

from tests.fake_printer.jobs import asked, printing, run_out, still_prints, streaming
from tests.fake_printer.line import Host

SUSPENDED = [
    "Suspending print, waiting for queue to empty...",
    "// action:pause",
    "// Waiting for queue to empty (Host must stop sending)...",
    "// Saving current state...",
    "// Print Suspended, enter resume to continue printing",
]


def test_reading_a_pin_sets_its_pull() -> None:
    """An input without a pull floats until it is asked; asking gives it a pull-up, which lasts until the next start."""
    host = Host("d-sensor")
    before = host.printer.state()["level"]
    said = host.ask("M42 P42")
    after = host.printer.state()["level"]
    host.printer.perform("press-reset")

    assert ("floating", ["ok 0", " to 42 is 1"], "high") == (before, said, after)
    assert "floating" == host.printer.state()["level"]


def test_pin_follows_the_filament() -> None:
    """With its pull-up the pin reads low with filament in, high without it and when unplugged."""
    host = Host("d-sensor")
    host.ask("M42 P42")
    said = []
    for deed in (("insert",), ("withdraw",), ("unplug", "board")):
        host.do(*deed)
        said += [line for line in host.ask("M42 P42") if line.startswith(" to ")]

    assert [" to 42 is 0", " to 42 is 1", " to 42 is 1"] == said


def test_pin_with_a_value_is_driven() -> None:
    """A value behind the pin drives it: filament is not seen any more."""
    host = Host("d-sensor")
    host.ask("M42 P42 S255")
    host.do("insert")

    assert "high" == host.printer.state()["level"]


def test_sensitive_pin_is_refused() -> None:
    """A pin that belongs to a heater is neither read nor set."""
    assert ["ok 0", "Error:Pin can not be set by M42, is in sensitive pins! "] == Host("d-sensor").ask("M42 P8")


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("M602 S1", "Jam debugging:1"),
        ("M602 P1", "Jam control disabled:1"),
        ("M513", "Info:Marked all extruders as unjammed."),
    ],
)
def test_jam_control_answers(command: str, said: str) -> None:
    """What is changed of jam control is said, behind the acknowledgement."""
    assert ["ok 0", said] == Host("d-sensor").ask(command)


def test_runout_holds_a_job_from_the_card(tmp_path: Path) -> None:
    """A job from the card is held by the printer itself."""
    host = printing("d-sensor", tmp_path)

    assert "important:No Filament detected" in run_out(host)
    assert not still_prints(host)


def test_switched_off_it_prints_on(tmp_path: Path) -> None:
    """With jam control off nothing is said and nothing held."""
    host = printing("d-sensor", tmp_path)
    asked(host, "M602 P1")

    assert not any("important" in line for line in run_out(host, 5.0))
    assert still_prints(host)


def test_host_is_asked_to_pause() -> None:
    """In moves that a host sends the host is told, and asked to pause."""
    host = streaming("d-sensor")
    host.printer.perform("cut", "1")
    said = host.after(5.0)

    start = said.index("important:No Filament detected")
    assert ["// action:out_of_filament T0", "RequestPause:No filament detected!"] == said[start + 1 : start + 3]


def test_dialogue_makes_the_port_dead(tmp_path: Path) -> None:
    """While a dialogue stands on the display nothing is answered; the button ends it, and filament is noticed."""
    host = printing("d-display", tmp_path)
    said = run_out(host)

    assert ["important:No Filament detected"] == said
    assert [] == host.ask("M105")
    host.do("insert")
    host.do("button")
    later = host.after(1.0)
    assert "Filament inserted" in later
    assert any(line.startswith("ok") for line in later)


def test_pulses_come_while_filament_moves(tmp_path: Path) -> None:
    """At rest no pulse is counted, whatever lies in the sensor; while filament is fed there are some."""
    host = Host("e-pulses")
    still = host.ask("M407")
    moved = asked(printing("e-pulses", tmp_path), "M407")

    assert ["Extruder moved: 0.000000 mm", "Encoder pulses: 0", "Filament detector is enabled", "ok"] == still
    assert int(moved[1].removeprefix("Encoder pulses: ")) > 5


def test_detector_is_switched() -> None:
    """It is switched off and on; on, the counts begin at zero."""
    host = Host("e-pulses")
    host.do("insert")
    host.ask("M405")
    off = host.ask("M407")
    host.ask("M406")

    assert "Filament detector is enabled" not in off
    assert ["Encoder pulses: 0", "Filament detector is enabled"] == host.ask("M407")[1:3]


@pytest.mark.parametrize("unit", ["e-pulses", "e-switch"])
def test_runout_suspends_the_print(unit: str, tmp_path: Path) -> None:
    """A comment, then the steps of a suspension, and the job waits until it is resumed."""
    host = printing(unit, tmp_path)
    said = run_out(host)

    assert ["// Filament Detector has detected a filament jam", *SUSPENDED] == said
    assert not still_prints(host)
    host.do("insert")
    host.ask("resume")
    assert still_prints(host)


def test_plain_switch_is_watched_while_idle() -> None:
    """Filament that is pulled out while nothing runs suspends at once."""
    host = Host("e-switch")
    host.do("withdraw")

    assert ["// Filament Detector has detected a filament jam", *SUSPENDED] == host.lines()


def test_suspension_is_acknowledged_in_the_middle() -> None:
    """Asked to suspend, it acknowledges before the last of what it has to say; the word ends with both characters."""
    host = Host("e-switch")
    host.send("suspend")

    assert [*SUSPENDED[:2], "ok", *SUSPENDED[2:]] == host.lines()
    host.send("M104 S0")
    assert b"ok\r\n" == host.printer.take_output()
