"""Many simulated printers in one process: real ports, a bench for each and one for all."""

import contextlib
import json
import socket
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import serial

from tests.fake_wire.test_process import ask, run
from tests.support.fake_process import BenchRefused, FakeFleet, running_fleet
from tests.support.patience import PATIENCE_S

FIRST = "tcp" if sys.platform == "win32" else "pty"
FLEET = f"""
format = 1

[[units]]
unit = "sound"
name = "left-{{n}}"
port = "{FIRST}"
count = 2
paced = false
speed_factor = 20

[[units]]
unit = "inverted-right-contact"
name = "right"
port = "rfc2217"
paced = false
speed_factor = 20

[[units]]
unit = "sound"
name = "far"
port = "tcp"
paced = false
speed_factor = 20
"""
NAMES = ["left-1", "left-2", "right", "far"]


@pytest.fixture
def fleet(tmp_path: Path) -> Iterator[FakeFleet]:
    """Three kinds of port, two units of which one reads the wrong way round."""
    file = tmp_path / "fleet.toml"
    file.write_text(FLEET)
    with running_fleet(file) as running:
        yield running


def test_printers_that_are_alike_have_own_numbers(fleet: FakeFleet) -> None:
    """Of a unit that comes more than once each announces a unique number of its own; the first has the unit's."""
    said = [
        ask(fleet.printers[name], b"M115").partition(b"UUID:")[2].split()[0] for name in ("left-1", "left-2", "far")
    ]

    assert said[0] != said[1]
    assert said[0] == said[2]
    assert len(said[0]) == len(said[1]) == 36


def test_every_printer_answers_on_its_own_port(fleet: FakeFleet) -> None:
    """Each has a port of the kind its table says, and hears nothing of what the others are asked."""
    assert NAMES == list(fleet.printers)
    for number, (name, printer) in enumerate(fleet.printers.items()):
        assert b"FIRMWARE_NAME:" in ask(printer, b"M115\nM117 %d" % number), name
    for number, printer in enumerate(fleet.printers.values()):
        assert [f"M117 {number}"] == sorted({line for line in printer.received() if line.startswith("M117")})
        assert 1 == printer.state()["port"]["openings"]


def test_each_printer_has_hands_of_its_own(fleet: FakeFleet) -> None:
    """Filament that is withdrawn from one stays in the others, by its own bench and by that of all."""
    for printer in fleet.printers.values():
        printer.do("insert")
    fleet.printers["left-2"].do("withdraw")
    fleet.bench.do("far", "withdraw")
    for name, printer in fleet.printers.items():
        presence = "out" if name in ("left-2", "far") else "in"
        printer.wait_until(lambda state, presence=presence: state["presence"] == presence)  # type: ignore[misc]


def test_the_bench_of_all_lists_them_and_says_what_it_knows(fleet: FakeFleet) -> None:
    """Every printer stands in the list with its link and its control socket; help names the deeds of one."""
    listed = json.loads(fleet.bench._ask("units"))

    assert [
        {"name": name, "link": printer.link, "control": printer.control} for name, printer in fleet.printers.items()
    ] == listed
    assert "NAME withdraw: " in fleet.bench._ask("help")
    assert "ok " == fleet.bench._ask("left-1 help")[:3]


@pytest.mark.parametrize("line", ["withdraw", "nobody insert", ""])
def test_a_deed_for_nobody_is_refused_with_advice(fleet: FakeFleet, line: str) -> None:
    """Without a name that is known nothing is done."""
    assert fleet.bench._ask(line).startswith("error No printer is called")
    with pytest.raises(BenchRefused, match="juggle"):
        fleet.bench.do("right", "juggle")


def test_one_that_is_told_to_stop_leaves_the_others_alive(fleet: FakeFleet) -> None:
    """Its port and its bench are gone, the others answer, and the process ends with the last of them."""
    gone = fleet.printers["right"]
    assert gone.do("stop")
    assert 3 == len(json.loads(fleet.bench._ask("units")))
    with pytest.raises((OSError, serial.SerialException)):
        serial.serial_for_url(gone.link, timeout=1)
    with pytest.raises(OSError, match="refused"):
        gone.state()
    for name in ("left-1", "left-2"):
        fleet.bench.do(name, "stop")
    assert b"FIRMWARE_NAME:" in ask(fleet.printers["far"], b"M115")
    fleet.printers["far"].do("stop")
    assert 0 == fleet.process.wait(PATIENCE_S)


def test_all_end_when_their_bench_says_so(fleet: FakeFleet) -> None:
    """The word stop is answered before the end."""
    assert fleet.bench.do("stop")
    assert 0 == fleet.process.wait(PATIENCE_S)


def test_the_console_speaks_for_all_of_them(tmp_path: Path) -> None:
    """A person says first whom is meant; help shows how."""
    file = tmp_path / "fleet.toml"
    file.write_text(FLEET)
    done = run("--fleet", str(file), "--console", typed="left-1 insert\ninsert\nhelp\nfar state\n")

    assert 0 == done.returncode, done.stderr
    assert "hands> The filament" in done.stdout
    assert "Not done: No printer is called 'insert'" in done.stdout
    assert "\n  NAME withdraw " in done.stdout
    assert "  unit " in done.stdout


@pytest.mark.parametrize(
    ("arguments", "advice"),
    [
        (["--fleet", "nowhere.toml"], "nowhere.toml: cannot be read"),
        (["sound", "--fleet", "nowhere.toml"], "which unit to simulate, or which fleet"),
        (["--fleet", "nowhere.toml", "--tcp", "0"], "stand in its file"),
        (["--fleet", "nowhere.toml", "--unpaced"], "stand in its file"),
    ],
)
def test_what_is_no_fleet_is_refused_with_advice(arguments: list[str], advice: str) -> None:
    """A wrong command ends with exit code 2 and says what to do, never a traceback."""
    done = run(*arguments)

    assert 2 == done.returncode
    assert advice in done.stderr
    assert "Traceback" not in done.stderr


def test_a_printer_that_cannot_be_set_up_is_named(tmp_path: Path) -> None:
    """Of many tables the one with the slip is said."""
    file = tmp_path / "fleet.toml"
    file.write_text(FLEET.replace('unit = "sound"\nname = "far"', 'unit = "sond"\nname = "far"'))
    done = run("--fleet", str(file))

    assert 2 == done.returncode
    assert "far: There is no unit called 'sond'" in done.stderr


def test_a_hundred_printers_answer_each_for_itself(tmp_path: Path) -> None:
    """A hundred in one process are asked while all their ports are open, and each answers its own question."""
    file = tmp_path / "fleet.toml"
    table = 'unit = "native-port"\nname = "b{n}"\nport = "tcp"\ncount = 100\npaced = false\n'  # opening restarts none
    file.write_text(f"format = 1\n[[units]]\n{table}")
    with running_fleet(file) as fleet, contextlib.ExitStack() as stack:
        hosts = []
        for printer in fleet.printers.values():
            address, _, port = printer.link.removeprefix("socket://").partition(":")
            connection = stack.enter_context(socket.create_connection((address, int(port)), timeout=PATIENCE_S))
            hosts.append(stack.enter_context(connection.makefile("rwb")))
        for number, host in enumerate(hosts):
            host.write(b"M118 my number is %d\n" % number)
            host.flush()
        answers = [host.readline() + host.readline() for host in hosts]

    assert [b"my number is %d\nok\n" % number for number in range(100)] == answers
