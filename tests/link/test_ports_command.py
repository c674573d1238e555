"""`commission ports`: what a person sees."""

import json

from click.testing import CliRunner

from commission.cli.ports import json_of, ports, text_of
from commission.link.discover import FoundPort, found_ports

BOARD = FoundPort(
    "/dev/ttyACM0",
    description="bench board",
    manufacturer="bench works",
    product="bench board",
    serial_number="7A31F0",
    location="1-3",
    usb_id="1209:0001",
    stable_link="/dev/serial/by-id/usb-bench_7A31F0-if00",
    place_link="/dev/serial/by-path/pci-1-3",
)
CHIP = FoundPort(
    "/dev/ttyUSB10",
    product="USB Serial",
    usb_id="fffe:0001",
    location="1-2",
    place_link="/dev/serial/by-path/pci-1-2",
)
HOSTILE = FoundPort(
    "/dev/ttyUSB0", product="\x1b]2;x\x07[red]\u202e" + "y" * 60, serial_number="\n1", usb_id="0001:0002"
)


def test_table() -> None:
    """Each port has a row with what it is and whether it is in use, its lasting names below, and a hint at the end."""
    expected = """\
port           what it is                            serial number  USB place  in use
/dev/ttyACM0   bench board (bench works), 1209:0001  7A31F0         1-3        yes
    follows the board:  /dev/serial/by-id/usb-bench_7A31F0-if00
    stays at the place: /dev/serial/by-path/pci-1-3
/dev/ttyUSB10  USB Serial, fffe:0001                 *              1-2        not seen
    stays at the place: /dev/serial/by-path/pci-1-2

* announces no serial number of its own: two boards of this kind share one name in the system's list by serial
  number. Tell them apart by the USB place, and keep each in its place."""

    assert expected == text_of([BOARD, CHIP], {BOARD.device: True, CHIP.device: None})


def test_no_hint_without_need() -> None:
    """The hint is for boards without a serial number only; a port that is not on USB needs none."""
    text = text_of([BOARD, FoundPort("/dev/ttyS0")], {})

    assert "announces no serial" not in text


def test_nothing_found() -> None:
    """Without a port the list says what to do instead of nothing."""
    text = text_of([], {})

    assert "No USB serial port is present" in text
    assert "charging cables" in text
    assert "--all" in text


def test_hostile_text_is_shown_not_obeyed() -> None:
    """Control characters and overrides in what a device says of itself are made visible and cannot break a row."""
    lines = text_of([HOSTILE], {}).splitlines()

    assert all(line.isprintable() for line in lines)
    assert "\\x1b]2;x\\x07[red]" in lines[1]
    assert "\\n1" in lines[1]


def test_json_holds_everything_in_ascii() -> None:
    """The JSON form gives every text whole and is plain ASCII without control characters."""
    text = json_of([HOSTILE, BOARD], {BOARD.device: False})

    assert text.replace("\n", "").isascii()
    assert text.replace("\n", "").isprintable()
    first, second = json.loads(text)
    assert first["product"] == HOSTILE.product
    assert (first["in_use"], second["in_use"]) == (None, False)
    assert second["stable_link"] == BOARD.stable_link


def test_command_lists_this_machine() -> None:
    """The command lists exactly the ports of this machine, and ends with success even when there are none."""
    result = CliRunner().invoke(ports, ["--all", "--json"])

    assert result.exit_code == 0
    assert [port.device for port in found_ports(everything=True)] == [
        row["device"] for row in json.loads(result.output)
    ]


def test_help_has_an_example() -> None:
    """The help says that nothing is opened and shows an example."""
    result = CliRunner().invoke(ports, ["--help"])

    assert "without opening" in result.output
    assert "Example: commission ports" in result.output
