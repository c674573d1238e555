"""What is particular to serial devices: exclusive use, names, speeds, control lines, coming back."""

import asyncio
import errno
import fcntl
import os
import struct
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from commission.link.base import LinkError, LinkLost, PortBusy, PortMissing, PortUnusable
from commission.link.port import ResetLines, make_link
from commission.link.quiet_ports import DevicePort, claim
from tests.link.conftest import link_threads
from tests.link.far_ends import FakePtyFarEnd, until
from tests.support.patience import PATIENCE_S

# From the kernel's interface on x86 and ARM (asm-generic/termbits.h, asm-generic/ioctls.h)
TCGETS2 = 0x802C542A
TIOCGEXCL = 0x80045440


@pytest.fixture
async def board(tmp_path: Path) -> AsyncIterator[FakePtyFarEnd]:
    """A board behind a device name."""
    far = FakePtyFarEnd(tmp_path)
    await far.start()
    yield far
    await far.stop()


def _speed_of(path: str) -> int:
    """The output speed the kernel holds for the device, standard or not."""
    handle = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    try:
        settings = fcntl.ioctl(handle, TCGETS2, bytes(44))
    finally:
        os.close(handle)
    return int(struct.unpack("4I20B2I", settings)[-1])


def _open_files() -> int:
    return sum(1 for _ in Path("/proc/self/fd").iterdir())


def _open_files_on(path: str) -> int:
    real = os.path.realpath(path)
    return sum(os.path.realpath(entry) == real for entry in Path("/proc/self/fd").iterdir())


async def test_second_opening_is_refused(board: FakePtyFarEnd) -> None:
    """A port that is open through one link is busy for another, and free as soon as the first has closed."""
    first, second = make_link(board.address), make_link(board.address)
    await first.open(115200)

    with pytest.raises(PortBusy, match="in use"):
        await second.open(115200)
    await first.send(b"still mine")
    assert await board.hear(10) == b"still mine"

    await first.close()
    await second.open(115200)
    await second.close()


async def test_refused_opening_leaves_no_file_open(board: FakePtyFarEnd) -> None:
    """A refused opening gives its file back."""
    link = make_link(board.address)
    await link.open(115200)
    before = _open_files_on(board.address)
    with pytest.raises(PortBusy):
        await make_link(board.address).open(115200)

    assert before == _open_files_on(board.address)

    await link.close()


async def test_missing_port(tmp_path: Path) -> None:
    """A name that is not there is missing, and the advice is about the ports that are."""
    with pytest.raises(PortMissing, match="present now"):
        await make_link(str(tmp_path / "nothing")).open(115200)


@pytest.mark.parametrize("what", ["file", "folder"])
async def test_something_else_than_a_port(tmp_path: Path, what: str) -> None:
    """A file or a folder is refused as no serial port."""
    path = tmp_path / "thing"
    path.write_text("no port") if what == "file" else path.mkdir()

    with pytest.raises(PortUnusable, match="is not a serial port"):
        await make_link(str(path)).open(115200)


@pytest.mark.parametrize("speed_baud", [9600, 57600, 115200, 250000, 230400, 500000, 1000000])
async def test_speed_reaches_the_kernel(board: FakePtyFarEnd, speed_baud: int) -> None:
    """The kernel holds exactly the speed asked for, standard or not, when opening and after a change."""
    link = make_link(board.address)
    await link.open(speed_baud)
    assert speed_baud == _speed_of(board.address)

    await link.set_speed(38400)
    await link.set_speed(speed_baud)
    assert speed_baud == _speed_of(board.address)

    await link.close()


@pytest.mark.parametrize("speed_baud", [0, -1, 2**40])
async def test_impossible_speed(board: FakePtyFarEnd, speed_baud: int) -> None:
    """A speed that no port has is refused when opening and on the open port, which goes on working."""
    link = make_link(board.address)
    with pytest.raises(PortUnusable, match=f"refuses the speed {speed_baud} baud"):
        await link.open(speed_baud)
    await link.open(115200)
    with pytest.raises(PortUnusable, match=f"refuses the speed {speed_baud} baud"):
        await link.set_speed(speed_baud)

    await link.send(b"x")
    assert await board.hear(1) == b"x"

    await link.close()


async def test_pulse_without_control_lines_is_told(board: FakePtyFarEnd) -> None:
    """Where a port has no control lines, the restart pulse that could not be given is told."""
    events: list[str] = []
    link = make_link(board.address, reset=ResetLines.PULSE, on_event=events.append)
    await link.open(115200)
    await link.close()

    assert any("no restart pulse was given" in event for event in events)


async def test_lines_held_low_still_opens(board: FakePtyFarEnd) -> None:
    """Holding the lines low is an effort, not a condition: a port without lines opens."""
    link = make_link(board.address, reset=ResetLines.HOLD_LOW)
    await link.open(115200)
    await link.send(b"x")

    assert await board.hear(1) == b"x"

    await link.close()


async def test_lost_port_is_let_go_at_once(board: FakePtyFarEnd) -> None:
    """After an unplug the file is given back without waiting for a close: else the board returns under another name."""
    link = make_link(board.address)
    await link.open(115200)
    opened = _open_files()
    await board.vanish()
    with pytest.raises(LinkLost):
        await link.receive(PATIENCE_S)
    await until(lambda: _open_files() <= opened - 3)

    assert opened - 3 >= _open_files()  # the board's two ends and ours

    await link.close()


async def test_returns_under_the_same_name(board: FakePtyFarEnd) -> None:
    """A link that was lost opens again when the board is back under its name."""
    link = make_link(board.address)
    await link.open(115200)
    await board.vanish()
    with pytest.raises(LinkLost):
        await link.receive(PATIENCE_S)
    await link.close()
    with pytest.raises(PortMissing):
        await link.open(115200)

    await board.start()
    await link.open(115200)
    await link.send(b"back")
    assert await board.hear(4) == b"back"

    await link.close()


async def test_a_port_at_rest_is_not_taken_for_gone(board: FakePtyFarEnd) -> None:
    """Whoever looks though nothing has come, as after a line was emptied, reads nothing, and the port stays."""
    port = DevicePort(board.address)
    port.open()
    try:
        port.timeout = 0

        assert b"" == port.read(100)
        assert b"" == port.read(100)
    finally:
        port.close()
        port.let_go()


async def test_given_up_opening_leaves_no_file_open(board: FakePtyFarEnd) -> None:
    """An opening that is cancelled under way gives the port back once it has been opened."""
    before = _open_files_on(board.address)
    opening = asyncio.create_task(make_link(board.address).open(115200))
    await asyncio.sleep(0)
    opening.cancel()
    with pytest.raises(asyncio.CancelledError):
        await opening

    await until(lambda: not link_threads() and _open_files_on(board.address) == before)

    assert before == _open_files_on(board.address)


def test_claim_shuts_others_out() -> None:
    """The kernel marks a claimed terminal as exclusive until the claim is dropped."""
    master, slave = os.openpty()
    try:
        claim(slave)
        assert struct.unpack("i", fcntl.ioctl(slave, TIOCGEXCL, bytes(4)))[0] == 1
        claim(slave, held=False)
        assert struct.unpack("i", fcntl.ioctl(slave, TIOCGEXCL, bytes(4)))[0] == 0
    finally:
        os.close(master)
        os.close(slave)


async def test_pseudo_terminal_is_not_claimed(board: FakePtyFarEnd) -> None:
    """A pseudo-terminal is locked but not claimed: the claim would outlive a killed process."""
    link = make_link(board.address)
    await link.open(115200)
    handle = os.open(board.address, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    held = struct.unpack("i", fcntl.ioctl(handle, TIOCGEXCL, bytes(4)))[0]
    os.close(handle)

    assert held == 0

    await link.close()


async def test_library_error_is_the_cause(tmp_path: Path) -> None:
    """The library's own exception is kept as the cause of ours."""
    with pytest.raises(LinkError) as caught:
        await make_link(str(tmp_path / "nothing")).open(115200)

    assert isinstance(caught.value.__cause__, OSError)
    assert caught.value.__cause__.errno == errno.ENOENT
