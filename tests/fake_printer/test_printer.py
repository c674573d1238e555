"""The printer as a whole: power, port, restarts and time."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fake_printer.line import Host


def test_new_unit_serves_and_is_silent() -> None:
    """A unit that has been on for long says nothing by itself and answers at once."""
    host = Host()

    assert [] == host.after(60)
    assert "Reporting endstop status" in host.ask("M119")


def test_opening_the_port_restarts_a_bridge_board() -> None:
    """A bridge board that is opened is deaf while it boots, then gives its banner and serves."""
    host = Host()
    host.printer.host_attached()
    host.send("M119")
    silent = host.after(1.4)
    banner = host.after(1)

    assert [] == silent
    assert ["start", "echo: External Reset", "echo:ExampleFW 102.1.2", ""] == banner[:4]
    assert "echo:V87 stored settings retrieved (392 bytes; crc 43755)" in banner
    assert "ok" not in banner
    assert "Reporting endstop status" in host.ask("M119")


def test_bytes_between_banner_and_service_are_kept() -> None:
    """What arrives after the banner and before service is answered once the board serves."""
    host = Host(board={"settle_s": 3.0})
    host.printer.host_attached()
    host.after(1.6)
    host.send("M119")

    assert [] == host.after(1)
    assert "Reporting endstop status" in host.after(3)


def test_opening_a_native_port_restarts_nothing() -> None:
    """A native port is opened without a restart, and a restart takes it away for the boot, without a banner."""
    host = Host("native-port")
    host.printer.host_attached()

    assert "Reporting endstop status" in host.ask("M119")

    host.do("press-reset", settle_s=0.5)

    assert not host.printer.usb_attached
    assert [] == host.after(2)
    assert host.printer.usb_attached


def test_usb_alone_keeps_the_board_alive() -> None:
    """With mains off the board answers on USB power; with the plug out as well it is dead and its port gone."""
    host = Host()
    host.do("mains", "off")

    assert "Reporting endstop status" in host.ask("M119")

    host.do("usb", "out")

    assert not host.printer.alive
    assert not host.printer.usb_attached
    assert [] == host.ask("M119")


def test_board_on_mains_outlives_the_usb_plug() -> None:
    """Pulling the plug with mains on takes the port and not what is in working memory."""
    host = Host()
    host.ask("M92 E111")
    host.do("usb", "out")
    host.do("usb", "in")

    assert "echo:  M92 X80.00 Y80.00 Z400.00 E111.00" in host.ask("M503")


def test_power_cycle_takes_the_port_away_for_a_while() -> None:
    """A power cycle is off for two seconds, then boots with the banner of a power-up."""
    host = Host()
    host.printer.perform("power-cycle")
    host.printer.advance(1.9)

    assert not host.printer.usb_attached

    host.printer.advance(0.2)

    assert host.printer.usb_attached
    assert ["start", "echo: PowerUp"] == host.after(3)[:2]


def test_restart_keeps_what_was_already_sent() -> None:
    """Bytes that left the firmware before a restart still arrive."""
    host = Host()
    host.send("M117 x")
    host.printer.perform("press-reset")

    assert ["ok"] == host.lines()


def test_power_loss_takes_what_was_not_sent() -> None:
    """A dead board sends nothing, not even what it had begun."""
    host = Host()
    host.printer.perform("disturb", "late")
    host.send("M119")
    host.do("mains", "off")
    host.do("usb", "out")

    assert [] == host.after(10)


def test_received_lines_are_kept_across_restarts() -> None:
    """Every line the printer read stands in its state in order, a lost one does not."""
    host = Host()
    host.ask("M105")
    host.printer.host_attached()
    host.send("M119")
    host.after(5)
    host.ask("M114")

    assert ["M105", "M114"] == host.printer.state()["received_lines"]


@pytest.mark.parametrize("unit", ["sound", "floating", "noisy-contact", "disturbed", "family-d", "supply-short"])
@given(st.lists(st.floats(0.0005, 0.7), min_size=1, max_size=25), st.integers(0, 50))
@settings(deadline=None, max_examples=15)
def test_steps_of_time_do_not_matter(unit: str, parts: list[float], seed: int) -> None:
    """One long step and many short ones give the same bytes and the same state."""
    whole, stepped = Host(unit, seed=seed), Host(unit, seed=seed)
    for host in (whole, stepped):
        host.ask("M155 S1")
        host.printer.perform("insert")
        host.send("G28")
        host.send("M119")
    # ends between two beats: what is due at the very end may fall on either side of it by rounding
    rest_s = 9.03
    whole.printer.advance(sum(parts) + rest_s)
    for part in (*parts, rest_s):
        stepped.printer.advance(part)

    assert whole.lines() == stepped.lines()
    assert whole.printer.state()["pin_high"] == stepped.printer.state()["pin_high"]


def test_seed_repeats_a_run() -> None:
    """The same seed gives the same readings of a floating input, another seed others."""

    def readings(seed: int) -> list[str | None]:
        host = Host("floating", seed=seed)
        seen = []
        for _ in range(50):
            seen.append(host.filament_word())
            host.printer.advance(0.3)
        return seen

    assert readings(4) == readings(4)
    assert readings(4) != readings(5)


def test_state_names_the_truth() -> None:
    """The state tells presence, level and conclusion, each by itself."""
    host = Host("inverted-right-contact")
    host.do("insert")
    state = host.printer.state()

    assert ("in", "low", "out") == (state["presence"], state["level"], state["concluded"])
