"""The file that describes a fleet of simulated printers."""

import dataclasses
from pathlib import Path

import pytest

from fake_printer.setups import FleetError, Port, Setup, load_fleet


def written(folder: Path, text: str, *, head: str = "format = 1") -> Path:
    """A fleet file with this text."""
    file = folder / "fleet.toml"
    file.write_text(f"{head}\n{text}")
    return file


def test_a_printer_left_plain_has_a_chosen_port_and_its_units_name(tmp_path: Path) -> None:
    """What is left out is chosen: the name, the port, a control socket; bytes are paced and time is real."""
    (setup,) = load_fleet(written(tmp_path, '[[units]]\nunit = "sound"\n'))

    assert Setup("sound", name="sound", port="pty:", control=0, seed=0, paced=True, speed_factor=1.0) == setup


def test_every_key_reaches_its_printer(tmp_path: Path) -> None:
    """Each key of a table is what the printer is set up with."""
    text = """
[[units]]
unit = "units/mine.toml"
name = "corner"
port = "rfc2217:4007"
control = 4008
seed = 12
paced = false
speed_factor = 20
stepped = true
state_file = "corner.bin"
log = "corner.log"
"""
    (setup,) = load_fleet(written(tmp_path, text))

    wanted = Setup("units/mine.toml", "corner", "rfc2217:4007", control=4008, seed=12, paced=False, speed_factor=20.0)
    assert dataclasses.replace(wanted, stepped=True, state_file="corner.bin", log="corner.log") == setup


def test_a_count_makes_several_that_differ_by_their_number(tmp_path: Path) -> None:
    """The number of each stands in its texts; seed and numbers of ports count up."""
    text = """
[[units]]
unit = "floating"
name = "row-{n}"
port = "pty:/dev/shm/row-{n}"
log = "/var/log/row-{n}.log"
seed = 5
count = 3

[[units]]
unit = "sound"
name = "net-{n}"
port = "tcp:7000"
control = 8000
count = 2
"""
    setups = load_fleet(written(tmp_path, text))

    assert ["row-1", "row-2", "row-3", "net-1", "net-2"] == [setup.name for setup in setups]
    assert ["pty:/dev/shm/row-2", "tcp:7001"] == [setups[1].port, setups[4].port]
    assert ["/var/log/row-3.log", ""] == [setups[2].log, setups[3].log]
    assert [5, 6, 7, 0, 1] == [setup.seed for setup in setups]
    assert [0, 0, 0, 8000, 8001] == [setup.control for setup in setups]


@pytest.mark.parametrize("kind", ["tcp", "rfc2217"])
def test_a_chosen_port_is_chosen_for_each_of_several(tmp_path: Path, kind: str) -> None:
    """Without a number nothing counts up: each has one chosen."""
    text = f'[[units]]\nunit = "sound"\nname = "a{{n}}"\nport = "{kind}"\ncount = 2\n'

    assert [Port(kind), Port(kind)] == [Port.parse(setup.port) for setup in load_fleet(written(tmp_path, text))]


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "missing key 'units'"),
        ("units = []", "0 printers"),
        ("[[units]]", "missing key 'units[0].unit'"),
        ('[[units]]\nunit = "sound"\nspeed = 9', "unknown key 'units[0].speed'"),
        ('[[units]]\nunit = "sound"\nseed = "x"', "'units[0].seed' is 'x'"),
        ('[[units]]\nunit = "sound"\ncontrol = "x"', "'units[0].control' is 'x'"),
        ('[[units]]\nunit = "sound"\nport = "usb"', "say pty, tcp or rfc2217"),
        ('[[units]]\nunit = "sound"\nport = "tcp:x"', "a port number"),
        ('[[units]]\nunit = "sound"\nspeed_factor = 0', "speed factor"),
        ('[[units]]\nunit = "sound"\ncount = 0', "count is 0"),
        ('[[units]]\nunit = "sound"\ncount = 1001\nname = "a{n}"', "count is 1001"),
        ('[[units]]\nunit = "sound"\ncount = 2', "cannot have one name"),
        ('[[units]]\nunit = "sound"\nname = "a{n}"\nport = "pty:/tmp/a"\ncount = 2', "cannot share one port"),
        ('[[units]]\nunit = "sound"\nname = "a{n}"\nlog = "a.log"\ncount = 2', "cannot share one log"),
        ('[[units]]\nunit = "sound"\n[[units]]\nunit = "sound"', "2 printers are called 'sound'"),
        ('[[units]]\nunit = "sound"\nname = "units"', "cannot be called 'units'"),
        ('[[units]]\nunit = "sound"\nname = "two words"', "cannot be called 'two words'"),
        ('[[units]]\nunit = "sound"\nname = "\\u001b[2J"', "cannot be called '\\x1b[2J'"),
        ("[[units", "not valid TOML"),
    ],
)
def test_what_describes_no_fleet_is_refused_with_its_place(tmp_path: Path, text: str, complaint: str) -> None:
    """A slip is named, with the file, and nothing is simulated that was not meant."""
    file = written(tmp_path, text)

    with pytest.raises(FleetError) as refused:
        load_fleet(file)

    assert complaint in str(refused.value)
    assert str(file) in str(refused.value)


@pytest.mark.parametrize("head", ["", "format = 2", 'format = "1"'])
def test_another_format_is_refused(tmp_path: Path, head: str) -> None:
    """A file that states no format, or another, is not guessed at."""
    with pytest.raises(FleetError, match="format = 1"):
        load_fleet(written(tmp_path, '[[units]]\nunit = "sound"\n', head=head))


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    """The path is named."""
    with pytest.raises(FleetError, match=r"nowhere\.toml: cannot be read"):
        load_fleet(tmp_path / "nowhere.toml")
