"""More than one sensor, sockets that are borrowed, and a sensor of movement."""

import itertools
from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest

from fake_printer.profile import ProfileError, load_profile
from tests.fake_printer.jobs import printing, run_out
from tests.fake_printer.line import Host


def word_of(host: Host, name: str) -> str:
    """The word behind a name in the switch report."""
    return next(line.partition(": ")[2] for line in host.ask("M119") if line.startswith(f"{name}: "))


def test_two_sensors_do_not_answer_for_each_other() -> None:
    """Each line follows its own filament and its own cable."""
    host = Host("two-sensors")
    seen = [(word_of(host, "filament"), word_of(host, "filament 2"))]
    for deed in (("insert",), ("withdraw-second",), ("insert-second",), ("unplug-second",), ("plug-second",)):
        host.do(*deed)
        seen.append((word_of(host, "filament"), word_of(host, "filament 2")))

    assert [
        ("open", "TRIGGERED"),
        ("TRIGGERED", "TRIGGERED"),
        ("TRIGGERED", "open"),
        ("TRIGGERED", "TRIGGERED"),
        ("TRIGGERED", "open"),
        ("TRIGGERED", "TRIGGERED"),
    ] == seen


def test_own_switch_of_a_socket_is_read() -> None:
    """A switch that opens when hit reads open, triggered when hit, and triggered when its plug is out."""
    host = Host("borrowed-socket")
    seen = [word_of(host, "x_max")]
    for deed in (("own-switch", "x_max", "hit"), ("own-switch", "x_max", "free"), ("own-plug", "x_max", "out")):
        host.do(*deed)
        seen.append(word_of(host, "x_max"))

    assert ["open", "TRIGGERED", "open", "TRIGGERED"] == seen


def test_borrowed_socket_follows_the_filament() -> None:
    """Before the plug is moved nothing follows the filament; then the socket does, and it reads as unplugged again."""
    host = Host("borrowed-socket")
    host.do("insert")
    before = word_of(host, "x_max")
    host.do("withdraw")
    host.do("plug-into", "x_max")
    seen = []
    for deed in (("insert",), ("withdraw",), ("insert",), ("unplug", "board")):
        host.do(*deed)
        seen.append(word_of(host, "x_max"))

    assert "open" == before
    assert ["open", "TRIGGERED", "open", "TRIGGERED"] == seen


@pytest.mark.parametrize(("pull", "seen"), [("up", ["TRIGGERED", "open", "TRIGGERED"]), ("down", ["open"] * 3)])
def test_1_kilohm_overrules_a_pull_up(pull: Literal["up", "down"], seen: list[str]) -> None:
    """Laid from signal to ground of the empty socket it pulls the input low; where it is low nothing changes."""
    sockets = (replace(load_profile("borrowed-socket").board.sockets[0], pull=pull),)
    host = Host("borrowed-socket", board={"sockets": sockets})
    host.do("own-plug", "x_max", "out")
    words = [word_of(host, "x_max")]
    for laid in ("1k", "nothing"):
        host.do("lay-at", "x_max", laid)
        words.append(word_of(host, "x_max"))

    assert seen == words


def test_plug_goes_back_to_its_own_input() -> None:
    """Back at the runout input the sensor is read there, and the socket is left empty."""
    host = Host("two-sensors", board={"sockets": load_profile("borrowed-socket").board.sockets})
    host.do("insert")
    host.do("plug-into", "x_max")
    away = (word_of(host, "filament"), word_of(host, "x_max"))
    host.do("plug-into", "runout")

    assert ("open", "open") == away
    assert ("TRIGGERED", "TRIGGERED") == (word_of(host, "filament"), word_of(host, "x_max"))


def test_short_in_a_borrowed_socket_takes_the_board_down() -> None:
    """A sensor that shorts its supply does so in whatever socket it is plugged into."""
    host = Host("supply-short", board={"sockets": load_profile("borrowed-socket").board.sockets})
    host.do("plug-into", "x_max")
    host.do("insert")
    host.do("withdraw")

    assert host.printer.restarts > 0 or not host.printer.alive


@pytest.mark.parametrize(
    ("table", "advice"),
    [
        ('[[board.sockets]]\nname = "runout"', "names of their own"),
        ('[[board.sockets]]\nname = "x_max"\n[[board.sockets]]\nname = "x_max"', "names of their own"),
        ('[[board.sockets]]\nname = "x max"', "one word"),
        ('[firmware.runout]\nsenses = "motion"', "motion_distance_mm must be above 0"),
        ('[firmware.monitor]\nwatches = "always"', "wording 3.5"),
        ("[firmware.monitor]\nwith_switch = true", "is a switch already"),
        ('[firmware.host]\nsensors = ["a b"]', "names without blanks"),
    ],
)
def test_impossible_unit_is_refused(table: str, advice: str, tmp_path: Path) -> None:
    """A unit that contradicts itself is refused with the reason."""
    file = tmp_path / "unit.toml"
    file.write_text(f'format = 1\nlike = "sound"\n{table}\n')

    with pytest.raises(ProfileError, match=advice):
        load_profile(str(file))


def readings(host: Host, count: int, gap_s: float) -> list[str]:
    """So many words of the filament line, one after the other."""
    for _ in range(count):
        host.send("M119")
        host.printer.advance(gap_s)
    return [line.partition(": ")[2] for line in host.lines() if line.startswith("filament: ")]


def changes(words: list[str]) -> int:
    """How often a word differs from the one before."""
    return sum(one != other for one, other in itertools.pairwise(words))


def test_motion_sensor_flips_with_movement(tmp_path: Path) -> None:
    """While filament is fed the words come by turns, one for each 3 mm; at rest nothing changes."""
    host = printing("motion-sensor", tmp_path)
    moving = readings(host, 60, 0.05)
    at_rest = Host("motion-sensor")
    at_rest.do("insert")

    # 10 mm a second for 3 s are 30 mm, ten pulses
    assert 9 <= changes(moving) <= 11
    assert 0 == changes(readings(at_rest, 20, 0.1))


def test_motion_sensor_says_nothing_of_presence() -> None:
    """At rest the word depends on where the wheel stopped, and not on whether filament lies on it."""
    words = set()
    for length_mm in (50.0, 52.0, 54.0, 56.0):
        host = Host("motion-sensor")
        host.printer.plant.filament.insert()
        host.printer.plant.filament._goal_mm = length_mm
        host.printer.advance(1.0)
        words.add(word_of(host, "filament"))

    assert {"open", "TRIGGERED"} == words


def test_motion_sensor_misses_filament_that_does_not_move(tmp_path: Path) -> None:
    """A runout is acted on once so much was fed without a change, and a hand that stops the wheel is no runout."""
    host = printing("motion-sensor", tmp_path)
    before = host.lines()
    said = run_out(host, 6.0)

    assert not any("action" in line for line in before)
    assert "//action:paused filament_runout 0" in said


@pytest.mark.parametrize("steps", [1, 7, 400])
def test_long_and_short_steps_come_to_the_same(steps: int) -> None:
    """However time is cut, the wheel has turned as far."""
    host = Host("motion-sensor")
    host.do("insert")
    firmware = host.printer.firmware
    assert firmware is not None
    firmware.cold_allowed = True
    for line in ("G91", "M83", "G1 X20 E20 F600"):
        host.ask(line)
    for _ in range(steps):
        host.printer.advance(3.0 / steps)

    assert 6 <= firmware.movement.pulses - pulses_of_insertion() <= 7


def pulses_of_insertion() -> int:
    """How often the input changed while a hand put the filament in."""
    host = Host("motion-sensor")
    host.do("insert")
    assert host.printer.firmware is not None
    return host.printer.firmware.movement.pulses


def test_forks_tell_more_of_the_sensor() -> None:
    """One fork adds a line for each sensor; another has a command of its own, and sets by the letter for the drive."""
    lines = Host("line-each")
    before = lines.ask("M412")[2]
    lines.do("insert")

    assert ("filament: MISSING", "filament: LOADED") == (before, lines.ask("M412")[2])

    mode = Host("mode-form")
    report = mode.ask("M591")
    assert ["echo:Filament runout ON ; Distance 20.00mm ; Mode 2 ; Host handling OFF", "ok"] == report
    mode.ask("M591 D0")
    assert "Distance 0.00mm" in mode.ask("M591")[0]
    assert ["Runout Disabled", "ok"] == mode.ask("M591 S0")
