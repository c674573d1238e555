"""The hands: every verb, and every way of being told that it cannot be done."""

import json

import pytest

from fake_printer.printer import HANDS, HandsError
from tests.fake_printer.line import Host

WORDS = {
    "unplug": ("board",),
    "break-wire": ("signal",),
    "mend-wire": ("signal",),
    "short": ("signal-ground",),
    "lay": ("220k", "signal-ground"),
    "shake": ("2",),
    "mains": ("off",),
    "usb": ("out",),
    "print-card": (__file__,),
    "reflash": ("sound",),
    "disturb": ("keepalive",),
    "plug-into": ("x_max",),
    "own-switch": ("x_max", "hit"),
    "own-plug": ("x_max", "out"),
    "lay-at": ("x_max", "1k"),
    "when": ("M201", "insert"),
    "lay-second": ("1k",),
}
UNITS = {
    **dict.fromkeys(("plug-into", "own-switch", "own-plug", "lay-at"), "borrowed-socket"),
    **dict.fromkeys(("insert-second", "withdraw-second", "unplug-second", "plug-second"), "two-sensors"),
    **dict.fromkeys(("lay-second", "cross-plugs"), "two-sensors"),
}
NOT_AT_FIRST = {"cut", "button", "answer-pause", "pull"}


@pytest.mark.parametrize("verb", sorted(set(HANDS) - NOT_AT_FIRST))
def test_every_verb_says_what_was_done(verb: str) -> None:
    """Each verb that has help does something on a unit as delivered, and says so in one line."""
    said = Host(UNITS.get(verb, "sound")).printer.perform(verb, *WORDS.get(verb, ()))

    assert said
    assert "\n" not in said


def test_filament_that_is_in_can_be_pulled() -> None:
    """By so many millimetres in so many seconds, once there is some in the sensor."""
    printer = Host("motion-half").printer
    printer.perform("insert")
    printer.advance(1.0)

    assert "The filament is being pulled by 100 mm in 10 s." == printer.perform("pull", "100", "10")


@pytest.mark.parametrize(
    ("verb", "words", "advice"),
    [
        ("insret", (), "Did you mean 'insert'"),
        ("xyzzy", (), "Known: insert"),
        ("insert", ("now",), "takes nothing behind it"),
        ("unplug", (), "board, sensor"),
        ("unplug", ("usb",), "board, sensor"),
        ("plug", ("board", "sensor"), "board, sensor"),
        ("shake", (), "a number of seconds"),
        ("shake", ("hard",), "a number of seconds"),
        ("shake", ("-1",), "above 0"),
        ("shake", ("nan",), "above 0"),
        ("mains", ("maybe",), "on, off"),
        ("usb", (), "in, out"),
        ("cut", (), "no filament in the sensor"),
        ("button", (), "no display"),
        ("answer-pause", ("later",), "continue, purge, disable"),
        ("short", ("everything",), "signal-ground"),
        ("break-wire", ("supply",), "no supply conductor"),
        ("mend-wire", ("supply",), "no supply conductor"),
        ("when", ("M201",), "for example: when M201 power-cycle 1"),
        ("when", ("M201", "juggle"), "for example: when M201 power-cycle 1"),
        ("reflash", (), "for example: reflash sound"),
        ("reflash", ("nothing-such",), "no unit called"),
        ("plug-into", ("x_max",), "no other socket"),
        ("own-switch", ("x_max", "hit"), "no other socket"),
        ("insert-second", (), "one sensor only"),
        ("withdraw-second", (), "one sensor only"),
    ],
)
def test_refusal_gives_advice(verb: str, words: tuple[str, ...], advice: str) -> None:
    """What cannot be done is refused with a sentence that helps, and changes nothing."""
    host = Host()
    before = host.printer.state()
    with pytest.raises(HandsError, match=advice):
        host.printer.perform(verb, *words)

    assert before == host.printer.state()


def test_nothing_to_answer() -> None:
    """A display is not answered while it asks nothing."""
    with pytest.raises(HandsError, match="does not wait"):
        Host("old-forms").printer.perform("button")


@pytest.mark.parametrize("verb", ["press-reset", "reflash"])
def test_dead_board_cannot_be_worked(verb: str) -> None:
    """Without power there is nothing to reset and nothing to flash."""
    host = Host()
    host.do("mains", "off")
    host.do("usb", "out")
    with pytest.raises(HandsError, match="no power"):
        host.printer.perform(verb, *WORDS.get(verb, ()))


def test_end_past_the_sensor_cannot_be_pulled() -> None:
    """After the tail has gone past the sensor there is nothing to withdraw, and a new filament can be inserted."""
    host = Host()
    host.do("insert")
    host.do("cut", "5")
    host.printer.draw(12)
    with pytest.raises(HandsError, match="nothing to pull"):
        host.printer.perform("withdraw")
    host.do("insert")

    assert host.filament_word() == "TRIGGERED"


def test_finger_on_the_lever() -> None:
    """A finger on the lever reads as filament does, until it is taken off."""
    host = Host()
    host.do("press-lever")
    held = host.filament_word()
    host.do("release-lever")

    assert ("TRIGGERED", "open") == (held, host.filament_word())


def test_bridge_at_the_header() -> None:
    """Signal bridged to ground at the header reads as filament even with the sensor unplugged."""
    host = Host()
    host.do("unplug", "board")
    host.do("short", "signal-ground")
    bridged = host.filament_word()
    host.do("release-short")

    assert ("TRIGGERED", "open") == (bridged, host.filament_word())


@pytest.mark.parametrize(
    ("unit", "small", "large"),
    [
        ("sound", "TRIGGERED", "open"),
        ("pull-weak", "TRIGGERED", "TRIGGERED"),
        ("floating", "TRIGGERED", "TRIGGERED"),
        ("three-wire-unheld", "TRIGGERED", "TRIGGERED"),
    ],
)
def test_a_resistor_against_the_pull(unit: str, small: str, large: str) -> None:
    """1 kΩ to ground overrules every pull; 220 kΩ only one that is weak, or none (voltage divider; Kirchhoff)."""
    host = Host(unit)
    host.do("unplug", "board")
    read = []
    for size in ("1k", "220k"):
        host.do("lay", size, "signal-ground")
        read.append(host.filament_word())

    assert [small, large] == read
    host.do("take-away")
    assert host.printer.board.laid is None


def test_a_resistor_does_not_outweigh_a_closed_contact() -> None:
    """With filament in the contact joins signal to ground, whatever lies from signal to supply."""
    host = Host()
    host.do("insert")
    host.do("lay", "1k", "signal-supply")

    assert "TRIGGERED" == host.filament_word()


@pytest.mark.parametrize("words", [(), ("1k",), ("3k", "signal-ground"), ("1k", "supply-ground")])
def test_a_resistor_goes_from_signal_to_one_other_terminal(words: tuple[str, ...]) -> None:
    """Anything else is refused with what to say."""
    with pytest.raises(HandsError, match="lay"):
        Host().do("lay", *words)


def test_bridge_across_the_supply() -> None:
    """Supply bridged to ground takes the board down for as long as it lasts."""
    host = Host()
    host.do("short", "supply-ground")

    assert not host.printer.alive

    host.do("release-short", settle_s=5)

    assert host.lines()[:2] == ["start", "echo: Brown out Reset"]


def test_broken_wire_and_mended() -> None:
    """A broken signal wire reads out with filament in; mended, it reads in again."""
    host = Host()
    host.do("insert")
    host.do("break-wire", "signal")
    broken = host.filament_word()
    host.do("mend-wire", "signal")

    assert ("open", "TRIGGERED") == (broken, host.filament_word())


def test_state_is_one_line_of_json() -> None:
    """The state verb gives the printer's state as JSON on one line."""
    host = Host()

    assert host.printer.state() == json.loads(host.printer.perform("state"))


def test_a_deed_can_wait_for_a_line() -> None:
    """It is done once, when such a line comes, numbered or not, and before the next one has an effect."""
    host = Host()
    host.printer.perform("when", "M118 go", "mains", "off")
    host.printer.perform("when", "M105", "shake", "5")

    host.ask("M118 stay")
    assert host.printer.state()["mains_on"]
    assert ["M118 go mains off", "M105 shake 5"] == host.printer.state()["planned_deeds"]

    host.ask("M118 go on")
    assert not host.printer.state()["mains_on"]

    host.printer.perform("mains", "on")
    host.ask("M118 go on")
    host.ask("N1 M105*37")
    assert host.printer.state()["mains_on"]
    assert 5.0 == host.printer.state()["shaken_for_s"]
    assert [] == host.printer.state()["planned_deeds"]


def test_a_deed_that_cannot_be_done_when_its_line_comes_is_kept() -> None:
    """What the hands would have been told stands in the state, and the printer goes on."""
    host = Host()
    host.printer.perform("when", "M105", "button")

    assert host.ask("M105")
    assert "display" in " ".join(host.printer.refused)
    assert host.printer.refused == host.printer.state()["refused_deeds"]
