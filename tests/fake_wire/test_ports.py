"""The three real ports, opened by the serial library a host would use. One specification for all of them."""

import contextlib
import gc
import math
import os
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
import serial

from fake_printer.scheduler import Bell, Scheduler
from fake_printer.wire.base import ReadyFile, Wire, WireError
from fake_printer.wire.line import Line, LineOptions
from fake_printer.wire.network import Rfc2217Port, TcpPort
from tests.fake_wire.devices import FakePrinterDevice, FakeTraits
from tests.support.patience import PATIENCE_S

posix_only = pytest.mark.skipif(sys.platform == "win32", reason="this system has no pseudo-terminals")
KINDS = [pytest.param("pty", marks=posix_only), "tcp", "rfc2217"]


class LineTask:
    """A line by itself, as a task."""

    def __init__(self, line: Line) -> None:
        self.line = line

    def step(self, now_s: float) -> float:
        """Do what is due on the line."""
        return self.line.step(now_s)

    def files(self) -> Sequence[ReadyFile]:
        """What wakes it."""
        return self.line.files()


class Rig:
    """A line that lives in a thread of its own, as it does in the process, so that the test can be the host.

    The device is touched by `say` and `plug` only, which wake the line as the hands do.
    """

    def __init__(self, wire: Wire, traits: FakeTraits) -> None:
        self.device = FakePrinterDevice()
        self.wire = wire
        self.line = Line(self.device, wire, traits, LineOptions(paced=False), now_s=time.monotonic())
        self._ending = False
        self._scheduler = Scheduler(time.monotonic)
        self._task = LineTask(self.line)
        self._bell = Bell(lambda: self._scheduler.wake(self._task))
        self._scheduler.add(self._bell)
        self._scheduler.add(self._task)
        self._thread = threading.Thread(target=self._scheduler.run, args=(lambda: self._ending,))
        self._thread.start()

    def say(self, data: bytes) -> None:
        """Let the device say something unasked."""
        self.device.say(data)
        self._bell.ring()

    def plug(self, *, plugged: bool) -> None:
        """Put the USB plug in, or pull it."""
        self.device.usb_attached = plugged
        self._bell.ring()

    def close(self) -> None:
        """End the thread and take the port down."""
        self._ending = True
        self._bell.ring()
        self._thread.join()
        self.line.close()
        self._bell.close()
        self._scheduler.close()

    def host(self, speed_baud: int = 115200) -> serial.SerialBase:
        """Open the port as a host does."""
        return serial.serial_for_url(self.wire.link, baudrate=speed_baud, timeout=PATIENCE_S)


def ask(host: serial.SerialBase, line: bytes) -> bytes:
    """Send a line and return the line of the answer; the greeting may have come before it, or been cleared."""
    host.write(line + b"\n")
    answer = host.readline()
    return bytes(host.readline() if answer.startswith(b"hello") else answer)


def talk_until_it_fails(host: serial.SerialBase) -> None:
    """Go on writing and reading; a test that waits for the loss in vain is ended by the test runner."""
    while True:
        host.write(b"x")
        host.read(1)


def say_and_live_on(rig: Rig, data: bytes) -> None:
    """Have the device say something, and wait until its time has gone on after it."""
    before_s = rig.device.lived_s
    rig.say(data)
    wait_until(lambda: rig.device.lived_s > before_s)


def make_wire(kind: str, folder: Path) -> Wire:
    """A wire of that kind, not plugged in."""
    if kind == "tcp":
        return TcpPort(0)
    if kind == "rfc2217":
        return Rfc2217Port(0, 115200)
    from fake_printer.wire.pseudo_terminal import PseudoTerminal

    return PseudoTerminal(folder / "port")


@pytest.fixture(params=KINDS)
def wire(request: pytest.FixtureRequest, tmp_path: Path) -> Wire:
    """Each kind of port in turn."""
    return make_wire(request.param, tmp_path)


@pytest.fixture
def rig(wire: Wire) -> Iterator[Rig]:
    """A running line over each kind of port."""
    with contextlib.closing(Rig(wire, FakeTraits())) as running:
        yield running


def wait_until(condition: Callable[[], bool], *, within_s: float = PATIENCE_S) -> None:
    """Wait for something another thread brings about."""
    end = time.monotonic() + within_s
    while not condition():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.002)


def test_a_host_is_met_and_every_byte_passes_unchanged_both_ways(rig: Rig) -> None:
    """A host that opens the port is met once, and all values but the line's end come back as they were sent."""
    every = bytes(value for value in range(256) if value != 10)
    with rig.host() as host:
        assert b"echo " + every + b"\n" == ask(host, every)
        assert 1 == rig.device.openings


def test_each_opening_is_noticed_and_nothing_is_left_from_the_one_before(rig: Rig) -> None:
    """A second host is met as the second, without what the first left unread."""
    with rig.host() as host:
        assert b"echo M115\n" == ask(host, b"M115")
        rig.say(b"unread\n" * 100)
        wait_until(lambda: not rig.device._output)
    wait_until(lambda: not rig.wire.attached)
    with rig.host() as host:
        host.write(b"M115\n")
        assert host.read_until(b"echo M115\n") in (b"hello 2\necho M115\n", b"echo M115\n")
        assert 2 == rig.device.openings


# the serial library's network clients abandon their socket when the other side has hung up
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_pulling_the_plug_is_seen_by_the_host_and_putting_it_back_brings_the_same_name(rig: Rig) -> None:
    """The host loses the port, cannot open it while the plug is out, and finds it under the same name afterwards."""
    link = rig.wire.link
    host = rig.host()
    ask(host, b"M115")
    rig.plug(plugged=False)
    with pytest.raises((OSError, serial.SerialException)):
        talk_until_it_fails(host)
    with contextlib.suppress(OSError, serial.SerialException):
        host.close()
    del host
    gc.collect()
    with pytest.raises((OSError, serial.SerialException)):
        rig.host()
    rig.plug(plugged=True)
    wait_until(lambda: rig.wire.plugged)
    assert link == rig.wire.link
    with rig.host() as again:
        assert b"echo M115\n" == ask(again, b"M115")
        assert 2 == rig.device.openings


def test_a_host_that_does_not_read_stops_nothing(rig: Rig) -> None:
    """A device that talks on and on to a deaf host lives on, and the port can be left."""
    with rig.host():
        wait_until(lambda: rig.wire.attached)
        for _ in range(50):
            say_and_live_on(rig, b"endless reply " * 300)
    wait_until(lambda: not rig.wire.attached)


@posix_only
def test_a_host_that_comes_and_goes_is_met_every_time(tmp_path: Path) -> None:
    """However soon after the last one it comes, a host wakes the line and is answered."""
    with contextlib.closing(Rig(make_wire("pty", tmp_path), FakeTraits())) as rig:
        for number in range(200):
            with rig.host() as host:
                host.write(b"%d\n" % number)
                assert host.read_until(b"echo %d\n" % number).endswith(b"echo %d\n" % number)


def test_a_host_that_begins_to_read_late_gets_what_was_kept_for_it(rig: Rig) -> None:
    """More than the system takes is kept until the host reads; then it comes, whole and in order."""
    said = b"".join(b"line %06d\n" % number for number in range(4000))
    with rig.host() as host:
        wait_until(lambda: rig.wire.attached)
        rig.say(said)
        wait_until(lambda: not rig.device._output)
        heard = host.read_until(b"line 003999\n")
    assert said == heard.removeprefix(b"hello 1\n")


def test_a_closed_wire_can_be_closed_again(wire: Wire) -> None:
    """Closing twice, or before plugging in, does no harm."""
    wire.close()
    wire.plug()
    wire.close()
    wire.close()
    assert wire.plugged is False


@pytest.mark.parametrize("kind", [pytest.param("pty", marks=posix_only), "rfc2217"])
def test_only_the_right_speed_is_understood_on_an_open_port(kind: str, tmp_path: Path) -> None:
    """Speeds changed on the open port give garbage until the device's own is reached, without a new opening."""
    with contextlib.closing(Rig(make_wire(kind, tmp_path), FakeTraits(speed_baud=250000))) as rig, rig.host() as host:
        host.timeout = 0.05
        for speed_baud in (115200, 57600, 500000):
            host.baudrate = speed_baud
            host.write(b"\nM115\n")
            assert b"M115" not in host.read(200)
        host.baudrate = 250000
        host.write(b"\nM115\n")
        host.timeout = PATIENCE_S
        assert b"echo M115\n" == host.read_until(b"M115\n")[-10:]
        assert 1 == rig.device.openings


def test_a_second_visitor_of_the_socket_is_turned_away() -> None:
    """While one host is connected another is let go at once, and the first keeps the port."""
    with contextlib.closing(Rig(TcpPort(0), FakeTraits())) as rig:
        address = ("127.0.0.1", int(rig.wire.link.rpartition(":")[2]))
        with (
            socket.create_connection(address, timeout=PATIENCE_S) as first,
            socket.create_connection(address, timeout=PATIENCE_S) as second,
        ):
            first.sendall(b"M115\n")
            assert b"" == second.recv(10)
            wait_until(lambda: b"M115" in rig.device.heard)
        assert 1 == rig.device.openings


@pytest.mark.parametrize("port", [-1, 70000])
def test_a_port_number_that_is_none_is_refused(port: int) -> None:
    """A number outside the range is refused with advice."""
    with pytest.raises(WireError, match="Choose another"):
        TcpPort(port).plug()


def test_a_taken_port_number_is_refused() -> None:
    """A number somebody listens on is refused with advice."""
    with contextlib.closing(TcpPort(0)) as first:
        first.plug()
        number = int(first.link.rpartition(":")[2])
        with pytest.raises(WireError, match="Choose another"):
            TcpPort(number).plug()


@posix_only
def test_a_name_that_is_in_use_is_refused_and_kept(tmp_path: Path) -> None:
    """A file that is no symbolic link is never replaced."""
    taken = tmp_path / "port"
    taken.write_text("mine")
    with pytest.raises(WireError, match="not a symbolic link"):
        make_wire("pty", tmp_path).plug()
    assert "mine" == taken.read_text()


@posix_only
def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """A name in a folder that does not exist is refused with advice, and nothing is left open."""
    before = len(list(Path("/dev/fd").iterdir()))
    with pytest.raises(WireError, match="another folder"):
        make_wire("pty", tmp_path / "nowhere").plug()
    assert before == len(list(Path("/dev/fd").iterdir()))


@posix_only
def test_a_left_over_link_is_replaced_and_a_strangers_is_left(tmp_path: Path) -> None:
    """A dangling link of a run that died is taken over; a link that points elsewhere by now is not removed."""
    name = tmp_path / "port"
    name.symlink_to("/dev/pts/no-such")
    wire = make_wire("pty", tmp_path)
    wire.plug()
    assert name.readlink() != Path("/dev/pts/no-such")
    name.unlink()
    name.symlink_to("/dev/null")
    wire.unplug()
    assert Path("/dev/null") == name.readlink()


@posix_only
def test_what_a_host_sends_before_it_is_noticed_is_kept(tmp_path: Path) -> None:
    """Bytes sent before the opening was noticed are delivered after it."""
    wire = make_wire("pty", tmp_path)
    wire.plug()
    with contextlib.closing(wire):
        for _ in range(20):
            host = os.open(wire.link, os.O_RDWR | os.O_NOCTTY)
            os.write(host, b"early")
            assert 1 == wire.take_openings()
            assert b"ea" + b"rly" == wire.read(2) + wire.read(100)
            os.close(host)
            assert 0 == wire.take_openings()
            assert b"" == wire.read(100)
            assert wire.attached is False


@pytest.mark.skipif(sys.platform != "linux", reason="only this system reports each opening of a device file")
def test_a_host_that_leaves_and_comes_back_between_two_looks_is_noticed(tmp_path: Path) -> None:
    """Each opening of a port that nobody else holds counts, looked at or not; one beside another host does not."""
    wire = make_wire("pty", tmp_path)
    wire.plug()
    with contextlib.closing(wire):
        for _ in range(3):
            os.close(os.open(wire.link, os.O_RDWR | os.O_NOCTTY))
        assert 3 == wire.take_openings()
        assert b"" == wire.read(100)
        assert wire.attached is False
        first = os.open(wire.link, os.O_RDWR | os.O_NOCTTY)
        assert 1 == wire.take_openings()
        wire.write(b"unread")
        beside = os.open(wire.link, os.O_RDWR | os.O_NOCTTY)
        assert 0 == wire.take_openings()
        os.close(beside)
        assert 0 == wire.take_openings()
        os.close(first)
        again = os.open(wire.link, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        assert 1 == wire.take_openings()
        with pytest.raises(BlockingIOError):
            os.read(again, 100)
        os.close(again)


@posix_only
def test_a_host_is_found_where_no_system_tells_of_it(tmp_path: Path) -> None:
    """Without word of openings the port asks to be looked at soon, until a host has it open; with it, never."""
    from fake_printer.wire.pseudo_terminal import PseudoTerminal

    wire = PseudoTerminal(tmp_path / "port")
    wire.plug()
    with contextlib.closing(wire):
        if sys.platform == "linux":
            assert math.inf == wire.look_again_s
            assert wire._counter is not None
            wire._counter.close()
        assert 0 < wire.look_again_s < 0.1
        host = os.open(wire.link, os.O_RDWR | os.O_NOCTTY)
        assert 1 == wire.take_openings()
        assert math.inf == wire.look_again_s
        os.close(host)
        assert b"" == wire.read(100)
        assert wire.attached is False
        assert wire.look_again_s < 0.1


@posix_only
def test_a_port_is_looked_at_once_more_when_its_host_has_left(tmp_path: Path) -> None:
    """What was opened while the remains were cleared away goes unreported, so somebody looks."""
    wire = make_wire("pty", tmp_path)
    wire.plug()
    with contextlib.closing(wire):
        host = os.open(wire.link, os.O_RDWR | os.O_NOCTTY)
        assert 1 == wire.take_openings()
        os.close(host)
        assert b"" == wire.read(100)
        assert 0.0 == wire.look_again_s
        assert 0 == wire.take_openings()
        assert 0.0 < wire.look_again_s
