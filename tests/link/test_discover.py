"""Ports as they are found, recognised and found again."""

from pathlib import Path

import pytest

from commission.link.discover import (
    Ambiguous,
    FoundPort,
    PortIdentity,
    RawPort,
    compare,
    find_again,
    found_ports,
    identify,
    in_use,
)
from commission.link.port import listed

# A USB serial chip whose maker programs no serial number, and a board that announces one.
CHIP = RawPort("/dev/ttyUSB10", "USB Serial", 0xFFFE, 0x0001, None, "1-2", None, "USB Serial")
BOARD = RawPort("/dev/ttyACM0", "bench board", 0x1209, 0x0001, "7A31F0", "1-3", "bench works", "bench board")
PHANTOM = RawPort("/dev/ttyS0", "n/a")


def _identity(
    usb_id: str = "fffe:0001", serial: str = "", location: str = "1-2", path: str = "/dev/ttyUSB0"
) -> PortIdentity:
    return PortIdentity(usb_id, serial, location, path)


def _port(device: str, serial: str = "", location: str = "1-2", usb_id: str = "fffe:0001") -> FoundPort:
    return FoundPort(device, serial_number=serial, location=location, usb_id=usb_id)


def _found(*raw: RawPort, folder: Path, everything: bool = False) -> list[FoundPort]:
    return found_ports(
        everything=everything, listing=lambda: raw, by_serial=folder / "by-id", by_place=folder / "by-path"
    )


def test_only_usb_ports_unless_all_are_wanted(tmp_path: Path) -> None:
    """A port without a USB id, such as the one a kernel invents, shows only when everything is wanted."""
    usual = _found(PHANTOM, BOARD, folder=tmp_path)
    everything = _found(PHANTOM, BOARD, folder=tmp_path, everything=True)

    assert [port.device for port in usual] == ["/dev/ttyACM0"]
    assert [port.device for port in everything] == ["/dev/ttyACM0", "/dev/ttyS0"]
    assert everything[1] == FoundPort("/dev/ttyS0")


def test_facts_of_a_port(tmp_path: Path) -> None:
    """What the device announces is handed on as it came; what it does not announce is empty."""
    board, chip = _found(BOARD, CHIP, folder=tmp_path)

    assert (board.usb_id, board.serial_number, board.manufacturer) == ("1209:0001", "7A31F0", "bench works")
    assert (chip.usb_id, chip.serial_number, chip.location) == ("fffe:0001", "", "1-2")
    assert chip.identity == PortIdentity("fffe:0001", "", "1-2", "/dev/ttyUSB10")


def test_hostile_text_is_handed_on_as_it_came(tmp_path: Path) -> None:
    """Text from a device is data: nothing is stripped here, whoever shows it makes it safe."""
    hostile = RawPort("/dev/ttyUSB0", "x", 1, 2, "\x1b[2J", "1-1", None, "a\u202eb")

    assert _found(hostile, folder=tmp_path)[0].serial_number == "\x1b[2J"


def test_order_is_the_one_of_a_person(tmp_path: Path) -> None:
    """Port 10 stands behind port 9."""
    raw = [RawPort(f"/dev/ttyUSB{number}", vid=1, pid=1) for number in (10, 9, 0)]

    assert [port.device for port in _found(*raw, folder=tmp_path)] == ["/dev/ttyUSB0", "/dev/ttyUSB9", "/dev/ttyUSB10"]


def test_stable_names(tmp_path: Path) -> None:
    """A link by serial number counts only when the serial number is in it; the link by place always does."""
    devices, by_id, by_path = (tmp_path / name for name in ("dev", "by-id", "by-path"))
    for folder in (devices, by_id, by_path):
        folder.mkdir()
    board, chip = devices / "ttyACM0", devices / "ttyUSB0"
    for device, name, place in ((board, "usb-bench_7A31F0-if00", "pci-1-3"), (chip, "usb-chip-if00-port0", "pci-1-2")):
        device.touch()
        (by_id / name).symlink_to(device)
        (by_path / place).symlink_to(device)

    first, second = _found(
        RawPort(str(board), vid=1, pid=1, serial_number="7A31F0"), RawPort(str(chip), vid=2, pid=2), folder=tmp_path
    )

    assert (first.stable_link, first.place_link) == (str(by_id / "usb-bench_7A31F0-if00"), str(by_path / "pci-1-3"))
    assert (second.stable_link, second.place_link) == ("", str(by_path / "pci-1-2"))
    assert identify(str(by_id / "usb-bench_7A31F0-if00"), [first, second]) == first.identity


def test_real_listing_is_understood() -> None:
    """Every port of this very machine is found, whatever it has."""
    assert {info.device for info in listed()} == {port.device for port in found_ports(everything=True)}


def test_port_without_a_name_is_refused() -> None:
    """A port needs its device name and an identity its path."""
    with pytest.raises(ValueError, match="device name"):
        FoundPort("")
    with pytest.raises(ValueError, match="path"):
        PortIdentity("", "", "", "")


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (_identity(serial="A1"), _identity(serial="A1", location="2-1", path="/dev/ttyUSB1"), True),
        (_identity(serial="A1"), _identity(serial="B2"), False),
        (_identity(), _identity(path="/dev/ttyUSB1"), True),
        (_identity(), _identity(location="2-1"), None),
        (_identity(serial="0001"), _identity(serial="0001", location="2-1"), None),
        (_identity(serial="0001"), _identity(serial="0001", path="/dev/ttyUSB1"), True),
        (_identity(), _identity(usb_id="1209:0001"), None),
        (_identity(), _identity(usb_id="1209:0001", location="2-1"), False),
        (_identity(location=""), _identity(location="", usb_id="1209:0001"), False),
        (PortIdentity("", "", "", "/dev/pts/3"), PortIdentity("", "", "", "/dev/pts/3"), True),
        (PortIdentity("", "", "", "/dev/pts/3"), PortIdentity("", "", "", "/dev/pts/4"), False),
        (_identity(), PortIdentity("", "", "", "/dev/ttyUSB0"), False),
    ],
)
def test_same_device(one: PortIdentity, other: PortIdentity, same: bool | None) -> None:
    """Two identities are one device, two, or undecided, the same both ways round and never without a reason."""
    assert same is compare(one, other).same
    assert same is compare(other, one).same
    assert compare(one, other).reason


def test_found_again_under_another_name() -> None:
    """A board with a serial number of its own is found in another place under another name."""
    ports = [_port("/dev/ttyUSB0", "B2"), _port("/dev/ttyUSB4", "A1", "2-1")]

    assert ports[1] == find_again(_identity(serial="A1"), ports)


def test_not_found() -> None:
    """Among boards that are certainly others, and among none at all, nothing is found."""
    assert find_again(_identity(serial="A1"), [_port("/dev/ttyUSB0", "B2")]) is None
    assert find_again(_identity(serial="A1"), []) is None


def test_a_person_has_to_say() -> None:
    """When only an uncertain port, or more than one certain port, is there, all of them are put to a person."""
    moved = _port("/dev/ttyUSB1", location="2-1")
    twins = [_port("/dev/ttyUSB1", "A1", "2-1"), _port("/dev/ttyUSB2", "A1", "2-2")]

    uncertain = find_again(_identity(), [moved])
    assert isinstance(uncertain, Ambiguous)
    assert [port for port, _ in uncertain.candidates] == [moved]
    both = find_again(_identity(serial="A1"), twins)
    assert isinstance(both, Ambiguous)
    assert [port for port, _ in both.candidates] == twins


def test_identity_of_an_address_that_is_not_listed() -> None:
    """A network address and an unlisted device are known by what was written only."""
    for address in ("socket://127.0.0.1:7001", "/dev/pts/3"):
        assert PortIdentity("", "", "", address) == identify(address, [_port("/dev/ttyUSB0")])


def _process(folder: Path, number: int, *opened: Path) -> None:
    handles = folder / str(number) / "fd"
    handles.mkdir(parents=True)
    for position, target in enumerate(opened):
        (handles / str(position)).symlink_to(target)


def test_in_use(tmp_path: Path) -> None:
    """A device that some process has open is in use, and one that none has open is not."""
    busy, free = tmp_path / "ttyUSB0", tmp_path / "ttyUSB1"
    busy.touch()
    free.touch()
    processes = tmp_path / "proc"
    (processes / "self").mkdir(parents=True)
    _process(processes, 7)
    _process(processes, 12, free.with_name("log"), busy)

    assert in_use(str(busy), processes=processes) is True
    assert in_use(str(free), processes=processes) is False


def test_in_use_is_unknown_without_a_view(tmp_path: Path) -> None:
    """Where the system does not show what processes have open, nothing is claimed."""
    assert in_use("/dev/ttyUSB0", processes=tmp_path / "nothing") is None
