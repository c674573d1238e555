"""Each disturbance, as it looks on the line."""

import pytest

from fake_printer.disturbance import CATALOGUE
from fake_printer.printer import HandsError
from tests.fake_printer.line import Host

SWITCHES = [
    "Reporting endstop status",
    "x_min: open",
    "y_min: open",
    "z_min: open",
    "filament: open",
    "ok",
]


def disturbed(name: str, command: str = "M119", *, unit: str = "sound", seed: int = 0) -> Host:
    """A unit that was disturbed and then asked; the reply is still to be taken."""
    host = Host(unit, seed=seed)
    host.printer.perform("disturb", name)
    host.send(command)
    return host


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(
    ("name", "inside"),
    [
        ("keepalive", "echo:busy: processing"),
        ("autoreport", " T:21.48 /0.00 B:21.50 /0.00 @:0 B@:0"),
        ("debug-line", "driver bus 2: 0x1F retry"),
    ],
)
def test_line_inside_a_reply(name: str, inside: str, seed: int) -> None:
    """One more line stands between the first and the last of the reply, and the next reply is whole."""
    host = disturbed(name, seed=seed)
    lines = host.lines()

    assert inside in lines[1:-1]
    assert SWITCHES == [line for line in lines if line != inside]
    assert SWITCHES == host.ask("M119")


def test_disturbance_waits_for_a_reply_with_an_inside() -> None:
    """A reply of one line has no inside and is left alone."""
    host = disturbed("keepalive", "M117 x")

    assert ["ok"] == host.lines()
    assert "echo:busy: processing" in host.ask("M119")


def test_lost_acknowledgement() -> None:
    """Everything comes but the acknowledgement."""
    assert SWITCHES[:-1] == disturbed("lost-ok").lines()


def test_damaged_command() -> None:
    """The command is answered as one that nobody knows."""
    assert ['echo:Unknown command: "M\xfe19"', "ok"] == disturbed("unknown-command").lines()


def test_asked_again() -> None:
    """The line is refused, asked for again, acknowledged once, and not carried out."""
    assert ["Error:checksum mismatch, Last Line: 0", "Resend: 1", "ok"] == disturbed("resend").lines()


def test_family_d_asks_again_without_acknowledging_twice() -> None:
    """In the family that acknowledges first, the refusal follows its acknowledgement."""
    lines = disturbed("resend", unit="family-d").lines()

    assert ["ok 0", "Error:Wrong checksum", "", "Resend:1"] == lines


def test_nul_byte() -> None:
    """Nothing is added but one NUL before a line end."""
    data = disturbed("nul").printer.take_output()

    assert data.count(b"\0\n") == 1
    assert SWITCHES == data.replace(b"\0", b"").decode().splitlines()


def test_reply_pauses_inside_a_line() -> None:
    """The reply stops in its middle for a quarter of a second, and later replies do not overtake it."""
    host = disturbed("split-line")
    host.send("M117 x")
    first = host.printer.take_output()
    host.printer.advance(0.2)

    assert b"" == host.printer.take_output()

    host.printer.advance(0.1)

    assert [*SWITCHES, "ok"] == (first + host.printer.take_output()).decode().splitlines()


def test_line_is_broken_in_two() -> None:
    """A line end too many stands inside the longest line."""
    lines = disturbed("broken-line").lines()

    assert len(SWITCHES) + 1 == len(lines)
    assert "".join(SWITCHES) == "".join(lines)


def test_reply_comes_late() -> None:
    """The reply is whole, three seconds late."""
    host = disturbed("late")

    assert [] == host.after(2.9)
    assert SWITCHES == host.after(0.2)


def test_firmware_hangs() -> None:
    """Nothing but keepalives comes until the board restarts."""
    host = disturbed("silence")

    assert {"echo:busy: processing"} == set(host.after(60))

    host.do("press-reset", settle_s=5)
    host.lines()

    assert SWITCHES == host.ask("M119")


def test_reply_never_ends() -> None:
    """Fifty lines a second come, and no acknowledgement."""
    lines = disturbed("endless").after(10)

    assert 490 <= len(lines) <= 510
    assert "ok" not in lines


def test_line_of_eight_kilobytes() -> None:
    """More than 8000 bytes come without a line end, and the rest of the reply after them."""
    lines = disturbed("long-line").lines()

    assert 8192 == max(len(line) for line in lines)
    assert SWITCHES[1:] == lines[-5:]


def test_escape_sequences_in_a_switch_name() -> None:
    """A line that would clear a terminal and set its title stands among the switches."""
    data = disturbed("escapes").printer.take_output()

    assert b"\x1b[2J\x1b[31m\x1b]0;switch\x07y" in data
    assert data.endswith(b"filament: open\nok\n")


def test_board_restarts_by_itself() -> None:
    """The banner of a watchdog restart comes after the silence of a boot."""
    host = Host()
    host.printer.perform("disturb", "banner")

    assert [] == host.after(1.4)
    assert ["start", "echo: Watchdog Reset"] == host.after(1)[:2]


def test_port_vanishes_until_plugged_again() -> None:
    """The port is gone although the plug is in, and comes back when it is plugged again."""
    host = Host()
    host.printer.perform("disturb", "vanish")

    assert not host.printer.usb_attached
    assert host.printer.alive

    host.printer.perform("usb", "in")

    assert host.printer.usb_attached


def test_disturbances_come_by_themselves() -> None:
    """A disturbed unit is disturbed about once in its mean interval, the same for the same seed."""

    def counted(seed: int) -> int:
        host = Host("disturbed", seed=seed)
        strange = 0
        for _ in range(600):
            strange += host.ask("M119") != SWITCHES
            host.printer.advance(1)
        return strange

    # 100 expected in 600 s; a few strike in two readings or leave no mark in the lines
    assert 55 <= counted(1) <= 150
    assert counted(1) == counted(1)


def test_every_disturbance_has_help_and_a_sentence() -> None:
    """Names are unique, and each entry says what it is and what has to be told."""
    assert len(CATALOGUE) == len({one.name for one in CATALOGUE})
    assert not [one for one in CATALOGUE if not (one.help and one.sentence)]


def test_unknown_disturbance_lists_the_known() -> None:
    """An unknown name is refused with those there are."""
    with pytest.raises(HandsError, match="lost-ok"):
        Host().printer.perform("disturb", "rain")
