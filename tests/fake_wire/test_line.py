"""One step of the line does everything that is due at a moment. Time is an argument here."""

import io

import pytest

from fake_printer.wire.line import BUSY_S, INCOMING_LIMIT_BYTES, LONGEST_REST_S, Line, LineOptions
from fake_printer.wire.traffic import TrafficLog
from tests.fake_wire.devices import FakePrinterDevice, FakeTraits, FakeWire

BYTE_S = 10 / 115200


def lay(
    traits: FakeTraits | None = None, options: LineOptions | None = None, host_speed_baud: int | None = None
) -> tuple[FakePrinterDevice, FakeWire, Line]:
    """A line laid at time zero, with nobody at the host's end."""
    device, wire = FakePrinterDevice(), FakeWire(host_speed_baud)
    return device, wire, Line(device, wire, traits or FakeTraits(), options or LineOptions(), now_s=0.0)


def run(line: Line, until_s: float, *, from_s: float = 0.0) -> float:
    """Step as often as the line asks for, and at the end; returns that moment."""
    now = from_s
    while now < until_s:
        now = min(until_s, now + max(line.step(now), 1e-6))
    line.step(now)
    return now


def test_opening_the_port_reaches_the_device_and_its_greeting_the_host() -> None:
    """Every opening is told to the device once, and what it says then arrives."""
    device, wire, line = lay()
    wire.open()
    run(line, 0.05)
    assert 1 == device.openings
    assert 1 == line.openings
    assert b"hello 1\n" == wire.got


def test_a_question_is_answered_after_the_time_its_bytes_need() -> None:
    """The answer is whole after the bytes of both, at ten bits each, and the device's own time, and not before."""
    _, wire, line = lay()
    wire.open()
    now = run(line, 0.05)
    wire.got, wire.sent = b"", b"M115\n"
    least_s = 5 * BYTE_S + FakePrinterDevice.answer_after_s + 10 * BYTE_S
    now = run(line, now + least_s - BYTE_S, from_s=now)
    assert wire.got != b"echo M115\n"
    run(line, now + 2 * BUSY_S, from_s=now)
    assert b"echo M115\n" == wire.got


def test_an_unpaced_line_needs_the_devices_time_only() -> None:
    """Without pacing the bytes are through in the step they are met in."""
    _, wire, line = lay(options=LineOptions(paced=False))
    wire.open()
    line.step(0.0)
    wire.got, wire.sent = b"", b"x" * 1000 + b"\n"
    line.step(0.001)
    line.step(0.002)
    assert b"echo " + b"x" * 1000 + b"\n" == wire.got


def test_the_speed_factor_lets_the_device_live_faster() -> None:
    """Ten simulated seconds go by in one, and bytes are ten times as fast."""
    device, wire, line = lay(options=LineOptions(speed_factor=10))
    wire.open()
    device.say(bytes(11520))
    run(line, 0.095)
    assert len(wire.got) < 11520
    run(line, 0.12, from_s=0.095)
    assert 11520 + len(b"hello 1\n") == len(wire.got)
    assert pytest.approx(1.2, rel=0.2) == device.lived_s


def test_what_is_said_with_no_host_is_gone() -> None:
    """A device that talks while the port is closed is not heard by the next one to open it."""
    device, wire, line = lay()
    device.say(b"to nobody\n")
    line.step(0.0)
    wire.open()
    run(line, 0.05)
    assert b"hello 1\n" == wire.got


def test_pulling_the_plug_takes_the_port_away_and_putting_it_back_returns_it() -> None:
    """The port follows the plug, and what was on the line at that moment is lost."""
    device, wire, line = lay()
    wire.open()
    line.step(0.0)
    device.say(bytes(1000))
    line.step(0.001)
    device.usb_attached = False
    line.step(0.002)
    assert line.state()["plugged"] is False
    device.usb_attached = True
    line.step(0.003)
    assert line.state()["plugged"] is True
    wire.open()
    wire.got = b""
    run(line, 0.2, from_s=0.003)
    assert b"hello 2\n" == wire.got


def test_a_host_at_the_wrong_speed_is_not_understood_and_understands_nothing() -> None:
    """Both directions arrive as garbage until the host sets the device's speed."""
    device, wire, line = lay(FakeTraits(speed_baud=250000), host_speed_baud=115200)
    wire.open()
    wire.sent = b"M115\n"
    now = run(line, 0.05)
    assert b"hello" not in wire.got
    assert b"M115" not in device.heard
    wire.host_speed_baud, wire.sent, wire.got = 250000, b"\nM115\n", b""
    run(line, now + 0.05, from_s=now)
    assert wire.got.endswith(b"echo M115\n")


def test_a_poor_line_loses_bytes_the_same_way_every_time() -> None:
    """Two lines with the same seed deliver the same remains, a third with another seed others."""

    def remains(seed: int) -> bytes:
        device, wire, line = lay(FakeTraits(loss_per_byte=0.1), LineOptions(paced=False, seed=seed))
        wire.open()
        device.say(b"abcdefghij" * 50)
        line.step(0.001)
        return wire.got

    assert remains(1) == remains(1)
    assert remains(1) != remains(2)
    assert len(remains(1)) < 500


def test_a_host_that_sends_faster_than_the_line_has_to_wait() -> None:
    """No more is taken from the host than a driver keeps, and it is not slept on meanwhile."""
    device, wire, line = lay()
    wire.open()
    line.step(0.0)
    wire.sent = b"x" * (3 * INCOMING_LIMIT_BYTES)
    line.step(0.001)
    assert 2 * INCOMING_LIMIT_BYTES == len(wire.sent)
    assert [] == list(line.files())
    run(line, 2.0, from_s=0.001)
    assert 3 * INCOMING_LIMIT_BYTES == len(device.heard)
    assert [wire.file] == list(line.files())


def test_a_line_rests_until_something_is_due() -> None:
    """The rest asked for ends with the bytes under way, or with what the device does next; else it is a long one."""
    device, wire, line = lay()
    wire.open()
    assert line.step(0.0) <= BUSY_S
    now = run(line, 0.3)
    assert LONGEST_REST_S == line.step(now)
    device.say(b"x")
    assert pytest.approx(BYTE_S) == line.step(now)
    now += 1.0
    line.step(now)
    device.receive(b"M115\n")
    assert pytest.approx(FakePrinterDevice.answer_after_s) == line.step(now)


def test_a_rest_is_as_much_shorter_as_the_device_lives_faster() -> None:
    """What is due in half a millisecond of the device's time is due in a tenth of it at ten times the speed."""
    device, _, line = lay(options=LineOptions(paced=False, speed_factor=10))
    device.receive(b"M115\n")
    assert pytest.approx(FakePrinterDevice.answer_after_s / 10) == line.step(0.0)


def test_a_line_that_has_room_looks_at_its_wire_when_that_asks_for_it() -> None:
    """A wire whose files do not tell everything is looked at as soon as it says."""
    _, wire, line = lay()
    wire.look_again_s = 0.25
    assert 0.25 == line.step(0.0)


def test_time_that_was_slept_through_comes_before_what_has_just_arrived() -> None:
    """A line that arrives after a long rest is answered from its arrival on, not from the beginning of the rest."""
    device, wire, line = lay(options=LineOptions(paced=False))
    wire.open()
    line.step(0.0)
    wire.sent = b"M115\n"
    rest_s = line.step(50.0)
    assert b"hello 1\n" == wire.got
    assert pytest.approx(50.0) == device.lived_s
    assert pytest.approx(FakePrinterDevice.answer_after_s) == rest_s


@pytest.mark.parametrize("factor", [0, -1, 1001, float("nan")])
def test_a_speed_factor_out_of_bounds_is_refused(factor: float) -> None:
    """A factor that would stop time or leave no resolution is refused."""
    with pytest.raises(ValueError, match="speed factor"):
        LineOptions(speed_factor=factor)


def test_the_log_shows_every_line_and_every_opening_in_order() -> None:
    """The log holds one line of text for each line on the wire, escaped, with the opening before them."""
    device, wire, file = FakePrinterDevice(), FakeWire(), io.StringIO()
    log = TrafficLog(file, started_s=100.0)
    line = Line(device, wire, FakeTraits(), LineOptions(paced=False), now_s=100.0, watcher=log)
    wire.open()
    line.step(100.0)
    wire.sent = b"a\x1b[2J\n"
    line.step(101.0)
    line.step(101.5)
    device.say(b"no end")
    line.step(102.0)
    log.finish(103.0)
    assert [
        "     0.000 s port   : port there",
        "     0.000 s port   : opened",
        "     0.000 s printer> 'hello 1\\n'",
        "     1.000 s host   > 'a\\x1b[2J\\n'",
        "     1.500 s printer> 'echo a\\x1b[2J\\n'",
        "     3.000 s printer> 'no end'",
    ] == file.getvalue().splitlines()
