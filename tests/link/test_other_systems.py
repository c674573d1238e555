"""What Windows and macOS say of ports and errors, told again on this machine.

The port lists and the texts of errors have the forms that the serial library's source gives them there; the devices
are made up. No test here opens a port of such a system.
"""

from collections.abc import Iterable
from pathlib import Path

import pytest

from commission.link.address import Kind, parse_address
from commission.link.base import LinkError, LinkLost, PortBusy, PortMissing, PortUnusable
from commission.link.discover import Ambiguous, FoundPort, PortIdentity, RawPort, find_again, found_ports, identify
from commission.link.troubles import loss_of, opening_error, speed_error

# As list_ports_windows gives them: no product, a place that ends with the interface, an empty text for no number,
# and for a part of a composite board without one the text that the system made up for the place (`&` in it).
COM9 = RawPort("COM9", "Bench board (COM9)", 0xF00D, 0x0001, "7A31F0", "1-3:x.0", "bench works")
COM10 = RawPort("COM10", "USB Serial (COM10)", 0xF00D, 0x0002, "", "1-2", "bench chips")
COM11 = RawPort("COM11", "Bench board (COM11)", 0xF00D, 0x0003, "6&1c2b3d4e&0&2", "1-4:x.0", "bench works")
COM1 = RawPort("COM1", "Communications Port (COM1)")
WINDOWS = (COM10, COM1, COM9, COM11)

# As list_ports_osx gives them: `n/a` where nothing is known, names after the serial number or the place.
CU_BOARD = RawPort("/dev/cu.usbmodem7A31F01", "bench board", 0xF00D, 0x0001, "7A31F0", "20-3", "bench works", "board")
CU_CHIP = RawPort("/dev/cu.usbserial-1420", "USB Serial", 0xF00D, 0x0002, None, "20-2", None, "USB Serial")
CU_RADIO = RawPort("/dev/cu.Bluetooth-Incoming-Port", "n/a")
MACOS = (CU_RADIO, CU_CHIP, CU_BOARD)


def _listed(raw: Iterable[RawPort], nowhere: Path, *, everything: bool = False) -> list[FoundPort]:
    """The ports on a system that keeps no folder of stable names."""
    no_folder = nowhere / "no-such-folder"
    return found_ports(everything=everything, listing=lambda: raw, by_serial=no_folder, by_place=no_folder)


def test_ports_of_windows(tmp_path: Path) -> None:
    """Ports on USB in the order of a person, without names that stay; the built-in one only when all are wanted."""
    ports = _listed(WINDOWS, tmp_path)

    assert ["COM9", "COM10", "COM11"] == [port.device for port in ports]
    assert ["COM1", "COM9", "COM10", "COM11"] == [port.device for port in _listed(WINDOWS, tmp_path, everything=True)]
    assert {("", "")} == {(port.stable_link, port.place_link) for port in ports}
    assert PortIdentity("f00d:0001", "7A31F0", "1-3:x.0", "COM9") == identify("COM9", ports)


def test_ports_of_macos(tmp_path: Path) -> None:
    """Ports on USB only, and empty where the system says `n/a`."""
    board, chip = _listed(MACOS, tmp_path)

    assert ("/dev/cu.usbmodem7A31F01", "/dev/cu.usbserial-1420") == (board.device, chip.device)
    assert ("7A31F0", "") == (board.identity.own_serial, chip.identity.own_serial)
    radio = _listed(MACOS, tmp_path, everything=True)[0]
    assert FoundPort("/dev/cu.Bluetooth-Incoming-Port") == radio


@pytest.mark.parametrize("name", ["COM3", "COM12", r"\\.\COM12", "/dev/cu.usbserial-1420", "/dev/tty.usbmodem7A31F01"])
def test_names_of_devices(name: str) -> None:
    """The names of ports on Windows and macOS are devices."""
    assert Kind.DEVICE is parse_address(name).kind


def test_a_board_comes_back_under_another_com_name(tmp_path: Path) -> None:
    """In another USB place Windows deals out another number: the serial number leads there."""
    before = _listed(WINDOWS, tmp_path)[0].identity
    moved = RawPort("COM14", "Bench board (COM14)", 0xF00D, 0x0001, "7A31F0", "1-1:x.0", "bench works")

    found = find_again(before, _listed([COM10, moved], tmp_path))

    assert isinstance(found, FoundPort)
    assert "COM14" == found.device


def test_a_text_made_up_by_windows_is_no_serial_number(tmp_path: Path) -> None:
    """It belongs to the place: in another place the board may be the same, and a person has to say."""
    before = _listed([COM11], tmp_path)[0].identity
    moved = RawPort("COM15", "Bench board (COM15)", 0xF00D, 0x0003, "6&5f6a7b8c&0&2", "1-1:x.0", "bench works")

    found = find_again(before, _listed([moved], tmp_path))

    assert "" == before.own_serial
    assert isinstance(found, Ambiguous)
    assert ["COM15"] == [port.device for port, _ in found.candidates]


# The forms are from the library's source; what each number means is from Microsoft's published list of system error
# codes, from memory. The class before the number is the C runtime's, and says "permission" of half of them.
@pytest.mark.parametrize(
    ("said", "kind", "advice"),
    [
        ("PermissionError(13, 'Access is denied.', None, 5)", PortBusy, "Close whatever talks to the printer"),
        ("PermissionError(13, 'Der Zugriff wurde verweigert.', None, 5)", PortBusy, "Close whatever talks"),
        ("FileNotFoundError(2, 'The system cannot find the file specified.', None, 2)", PortMissing, "COM9"),
        ("FileNotFoundError(2, 'The system cannot find the path specified.', None, 3)", PortMissing, "COM9"),
        ("PermissionError(13, 'The process cannot access the file.', None, 32)", PortBusy, "Close whatever talks"),
        ("PermissionError(13, 'A device attached is not functioning.', None, 31)", PortUnusable, "unplug the USB"),
        ("OSError(22, 'The semaphore timeout period has expired.', None, 121)", PortUnusable, "unplug the USB"),
        ("OSError(22, 'The device is not connected.', None, 1167)", PortMissing, "COM9"),
        ("OSError(22, 'A code that no table has.', None, 9999)", PortUnusable, "plug it in again"),
    ],
)
def test_opening_errors_of_windows(said: str, kind: type[LinkError], advice: str) -> None:
    """The system's own number decides, in whatever language the sentence is."""
    error = opening_error("COM3", OSError(f"could not open port 'COM3': {said}"), ports_now=["COM9"])

    assert kind is type(error)
    assert advice in error.advice


def test_a_port_that_cannot_be_set_up_on_windows() -> None:
    """A bridge that has hung up answers the settings with a failure: it is to be plugged in again."""
    cause = "PermissionError(13, 'A device attached to the system is not functioning.', None, 31)"
    error = opening_error("COM3", OSError(f"Cannot configure port, something went wrong. Original message: {cause}"))

    assert "The port COM3 answers with an input/output error." == error.message


def test_losses_of_windows() -> None:
    """A pulled cable shows as an error of whichever call was under way, and is a loss."""
    said = "ClearCommError failed (PermissionError(13, 'The device does not recognize the command.', None, 22))"

    assert "The connection to COM3 is lost." == loss_of("COM3", OSError(said)).message
    assert LinkLost is type(speed_error("COM3", 250000, TypeError("an integer is required (got type NoneType)")))


def test_a_speed_that_macos_refuses() -> None:
    """Its driver answers an odd speed with an error of the system or of the library; both name the speed."""
    for cause in (ValueError("Failed to set custom baud rate (250000): [Errno 22]"), OSError(22, "Invalid argument")):
        error = speed_error("/dev/cu.usbserial-1420", 250000, cause)
        assert PortUnusable is type(error)
        assert "refuses the speed 250000 baud" in error.message
