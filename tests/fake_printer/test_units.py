"""What each shipped unit reads with filament in, out, and unplugged, as worked out from its wiring."""

import pytest

from fake_printer.profile import load_profile, profile_names
from tests.fake_printer.line import Host

ACTIVE, INACTIVE = {"TRIGGERED"}, {"open"}
EITHER = ACTIVE | INACTIVE
# in, out, unplugged; a pull-up makes an unplugged input high, which reads as the build takes high
TABLE = {
    "sound": (ACTIVE, INACTIVE, INACTIVE),
    "inverted-right-contact": (INACTIVE, ACTIVE, ACTIVE),
    "inverted-by-contact": (INACTIVE, ACTIVE, INACTIVE),
    "two-errors-cancel": (ACTIVE, INACTIVE, ACTIVE),
    "stuck-active": (ACTIVE, ACTIVE, INACTIVE),
    "stuck-inactive": (INACTIVE, INACTIVE, INACTIVE),
    "floating": (EITHER, EITHER, EITHER),
    "pull-missing": (ACTIVE, EITHER, EITHER),
    "pull-weak": (ACTIVE, INACTIVE, INACTIVE),
    "noisy-contact": (EITHER, INACTIVE, INACTIVE),
    "motor-noise": (ACTIVE, INACTIVE, INACTIVE),
    "loose-wire": (ACTIVE, INACTIVE, INACTIVE),
    "thin-filament": (INACTIVE, INACTIVE, INACTIVE),
    "input-driven": (ACTIVE, ACTIVE, ACTIVE),
    "three-wire": (ACTIVE, INACTIVE, INACTIVE),
    "three-wire-unheld": (ACTIVE, INACTIVE, INACTIVE),
    "three-wire-no-signal": (INACTIVE, INACTIVE, INACTIVE),
    "three-wire-no-ground": (INACTIVE, INACTIVE, INACTIVE),
    "three-wire-no-supply": (ACTIVE, INACTIVE, INACTIVE),
    "optical": (ACTIVE, INACTIVE, INACTIVE),
    "optical-dirty": (INACTIVE, INACTIVE, INACTIVE),
    "old-forms": (ACTIVE, INACTIVE, INACTIVE),
    "middle-forms": (ACTIVE, INACTIVE, INACTIVE),
    "new-forms": (ACTIVE, INACTIVE, INACTIVE),
    "letter-states": ({"H"}, {"L"}, {"L"}),
    "sentence-form": (ACTIVE, INACTIVE, INACTIVE),
    "poor-line": (ACTIVE, INACTIVE, INACTIVE),
    "native-port": (ACTIVE, INACTIVE, INACTIVE),
    "tuned": (ACTIVE, INACTIVE, INACTIVE),
    "tuned-old": (ACTIVE, INACTIVE, INACTIVE),
    "new-layout": (ACTIVE, INACTIVE, INACTIVE),
    "new-bit": (ACTIVE, INACTIVE, INACTIVE),
    "new-size": (ACTIVE, INACTIVE, INACTIVE),
    "new-silent": (ACTIVE, INACTIVE, INACTIVE),
    "new-starts-over": (ACTIVE, INACTIVE, INACTIVE),
    "new-no-storage": (ACTIVE, INACTIVE, INACTIVE),
    "new-save-fails": (ACTIVE, INACTIVE, INACTIVE),
    "forgets-watching": (ACTIVE, INACTIVE, INACTIVE),
    "not-compiled-in": ({None}, {None}, {None}),
    "tuned-mesh": (ACTIVE, INACTIVE, INACTIVE),
    "new-mesh": (ACTIVE, INACTIVE, INACTIVE),
    "tuned-without": ({None}, {None}, {None}),
    "two-sensors": (ACTIVE, INACTIVE, INACTIVE),
    "line-each": (ACTIVE, INACTIVE, INACTIVE),
    "mode-form": (ACTIVE, INACTIVE, INACTIVE),
    "borrowed-socket": ({None}, {None}, {None}),
    "family-b": ({None}, {None}, {None}),
    "family-c": ({None}, {None}, {None}),
    "family-d": ({None}, {None}, {None}),
    "family-e": ({None}, {None}, {None}),
}


@pytest.mark.parametrize("unit", TABLE)
def test_reads_in_out_and_unplugged(unit: str) -> None:
    """Each unit reads with filament in, with it out, and unplugged at either end what its wiring makes of it."""
    host = Host(unit)
    host.do("insert")
    with_filament = host.words()
    host.do("withdraw")
    without = host.words()
    host.do("unplug", "board")
    at_board = host.words()
    host.do("plug", "board")
    host.do("unplug", "sensor")

    assert TABLE[unit] == (with_filament, without, at_board)
    assert TABLE[unit][2] == host.words()


def test_every_unit_tells_its_finding() -> None:
    """Every shipped unit loads, and says in a line what it is and what must be found."""
    for name in profile_names():
        profile = load_profile(name)

        assert name == profile.name
        assert "" not in {profile.summary, profile.finding}


def test_supply_short_takes_the_board_down() -> None:
    """With the supply shorted by the switch, insertion silences the board and withdrawal brings its banner."""
    host = Host("supply-short")
    host.do("insert")

    assert not host.printer.alive
    assert [] == host.ask("M119")

    host.do("withdraw", settle_s=5)

    assert ["start", "echo: Brown out Reset"] == host.lines()[:2]


def test_a_chafed_cable_reads_in_until_it_is_unplugged_at_the_board() -> None:
    """A short in the cable stays with the cable: unplugged at the sensor it still reads in, at the board it is gone."""
    host = Host("cable-chafed")
    host.do("unplug", "sensor")
    at_sensor = host.words()
    host.do("plug")
    host.do("unplug", "board")

    assert (ACTIVE, INACTIVE) == (at_sensor, host.words())


def test_a_finger_reaches_the_lever_that_thin_filament_does_not() -> None:
    """Filament thinner than the lever needs presses nothing; a finger does."""
    host = Host("thin-filament")
    host.do("insert")
    with_filament = host.words()
    host.do("press-lever")

    assert (INACTIVE, ACTIVE) == (with_filament, host.words())


def test_the_driven_input_names_its_second_user() -> None:
    """Asked about the pin of the driven input, the printer names both functions that claim it."""
    reported = "\n".join(Host("input-driven").ask("M43 P42"))

    assert "RUNOUT_PIN" in reported
    assert "E0_STALL_PIN" in reported


def test_sticky_lever_misses_most_withdrawals() -> None:
    """A lever that sticks in seven withdrawals of ten reads in after about so many."""
    host = Host("sticky-lever")
    missed = 0
    for _ in range(100):
        host.do("insert", settle_s=0.5)
        host.do("withdraw", settle_s=0.5)
        missed += host.filament_word() == "TRIGGERED"

    assert 55 <= missed <= 85


def test_loose_wire_opens_only_while_shaken() -> None:
    """A loose signal wire reads steadily at rest and lets go while the cable is shaken."""
    host = Host("loose-wire")
    host.do("insert")

    assert {"TRIGGERED"} == host.words()

    host.do("shake", "20", settle_s=0)

    assert {"TRIGGERED", "open"} == host.words(200)

    host.printer.advance(5)

    assert {"TRIGGERED"} == host.words()


def test_reflash_cures_the_inverted_logic() -> None:
    """The unit with inverted logic is sound once it holds the build of the sound unit."""
    host = Host("inverted-right-contact")
    host.do("reflash", "sound", settle_s=5)
    host.lines()
    host.do("insert")

    assert {"TRIGGERED"} == host.words()


def test_reflash_of_the_wrong_part_builds_two_errors() -> None:
    """Inverting the logic of the unit with the wrong contact gives one that reads right and is blind when unplugged."""
    host = Host("inverted-by-contact")
    host.do("reflash", "two-errors-cancel", settle_s=5)
    host.do("insert")
    with_filament = host.words()
    host.do("withdraw")
    without = host.words()
    host.do("unplug", "board")

    assert ({"TRIGGERED"}, {"open"}, {"TRIGGERED"}) == (with_filament, without, host.words())


def test_family_b_monitor_follows_the_filament() -> None:
    """Family B tells of filament in its own monitor, and of the level that means none."""
    host = Host("family-b")
    out = host.ask("M591 D0")[0]
    host.do("insert")

    assert "Simple filament sensor on pin C10, enabled, output high when no filament, filament present: no" == out
    assert "filament present: yes" in host.ask("M591 D0")[0]
    assert "Endstops - X: not stopped, Y: not stopped, Z: not stopped, Z probe: not stopped" == host.ask("M119")[0]


def test_motors_that_turn_disturb_the_input() -> None:
    """At rest it reads as a sound one; while an axis moves both words come with filament in, and then no more."""
    host = Host("motor-noise")
    host.do("insert")
    at_rest = host.words()
    host.ask("G91")
    host.ask("G1 X-80 F240")
    moving = host.words()
    host.after(30)

    assert (ACTIVE, EITHER, ACTIVE) == (at_rest, moving, host.words())


def test_motors_without_mains_disturb_nothing() -> None:
    """With the power switch off no motor turns: the same command reads as at rest."""
    host = Host("motor-noise")
    host.do("insert")
    host.do("mains", "off")
    host.ask("G91")
    host.ask("G1 X-80 F240")

    assert ACTIVE == host.words()
