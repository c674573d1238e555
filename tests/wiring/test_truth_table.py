"""The truth table of the trade, row by row: common practice, no source, unless a docstring says that physics decides.

Levels are named as they stand at the pin with filament in and out; conclusions with the absent level set to suit.
"""

import pytest

from commission.vocabulary import Contact, Level, Polarity, Pull
from commission.wiring.assessment import Assessment, assess, not_a_presence_input
from commission.wiring.circuit import Node, Resistor, voltages_v
from commission.wiring.installation import OpenCollector, PushPull, Sensor, Terminal
from commission.wiring.parts import SensorKind, parts
from commission.wiring.single_faults import Single
from tests.wiring.cases import (
    FLOATS,
    GROUND,
    HIGH,
    IN,
    LOW,
    NC,
    NO,
    OUT,
    SHORT,
    SIGNAL,
    SUPPLY,
    concludes,
    levels,
    right_way_round,
    three_wire,
    two_wire,
    wired,
)

BROKEN_SIGNAL = (Single.UNPLUGGED, Single.SIGNAL_BROKEN)


def check_row(assessment: Assessment, sound: tuple[str, str], signal_broken: str, *, fail_safe: bool) -> None:
    """One row's first columns and its verdict."""
    assert sound == levels(assessment)
    assert ("in", "out") == concludes(assessment)
    for single in BROKEN_SIGNAL:
        assert (signal_broken, signal_broken) == concludes(assessment, single)
    assert fail_safe is assessment.fail_safe


def test_normally_open_to_ground_with_pull_up_is_fail_safe() -> None:
    """Two wires, NO to ground, pull-up: low in, high out, broken reads out; supply shorted with filament in only."""
    row = right_way_round(two_wire(NO, GROUND), Pull.UP)

    check_row(row, ("L", "H"), "out", fail_safe=True)
    assert ("in", "in") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert (SHORT, "H") == levels(row, Single.SIGNAL_TO_SUPPLY)
    assert "out" == concludes(row, Single.SIGNAL_TO_SUPPLY)[1]
    assert row.recommendation.startswith("Keep")


def test_normally_closed_to_ground_with_pull_up_is_fail_dangerous() -> None:
    """Two wires, NC to ground, pull-up: high in, low out, broken reads in; supply shorted with filament out."""
    row = right_way_round(two_wire(NC, GROUND), Pull.UP)

    check_row(row, ("H", "L"), "in", fail_safe=False)
    assert ("out", "out") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert ("H", SHORT) == levels(row, Single.SIGNAL_TO_SUPPLY)


def test_normally_open_to_supply_with_pull_down_is_fail_safe() -> None:
    """Two wires, NO to supply, pull-down: high in, low out, broken reads out; supply shorted with filament in."""
    row = right_way_round(two_wire(NO, SUPPLY), Pull.DOWN)

    check_row(row, ("H", "L"), "out", fail_safe=True)
    assert (SHORT, "L") == levels(row, Single.SIGNAL_TO_GROUND)
    assert ("in", "in") == concludes(row, Single.SIGNAL_TO_SUPPLY)
    assert any("real pull-down" in finding for finding in row.findings)


def test_normally_closed_to_supply_with_pull_down_is_fail_dangerous() -> None:
    """Two wires, NC to supply, pull-down: low in, high out, broken reads in; supply shorted with filament out."""
    row = right_way_round(two_wire(NC, SUPPLY), Pull.DOWN)

    check_row(row, ("L", "H"), "in", fail_safe=False)
    assert ("L", SHORT) == levels(row, Single.SIGNAL_TO_GROUND)
    assert ("out", "out") == concludes(row, Single.SIGNAL_TO_SUPPLY)


@pytest.mark.parametrize("contact", [NO, NC])
@pytest.mark.parametrize(("to", "pull", "level"), [(GROUND, Pull.DOWN, "L"), (SUPPLY, Pull.UP, "H")])
def test_a_pull_towards_the_contacts_own_rail_is_useless(
    contact: Contact, to: Terminal, pull: Pull, level: str
) -> None:
    """Two wires with the pull to the rail the contact leads to: the same level in and out, so it is useless."""
    row = assess(wired(two_wire(contact, to), pull, HIGH))

    assert (level, level) == levels(row)
    assert (False, None, None) == (row.usable, row.polarity, row.fail_safe)
    assert any(finding.startswith("Useless") and "never changes" in finding for finding in row.findings)


@pytest.mark.parametrize("contact", [NO, NC])
@pytest.mark.parametrize("to", [GROUND, SUPPLY])
def test_two_wires_without_a_pull_are_useless(contact: Contact, to: Terminal) -> None:
    """Two wires without a pull: one side floats and unplugged reads at random, so it is useless."""
    row = assess(wired(two_wire(contact, to), Pull.NONE, HIGH))

    assert FLOATS in levels(row)
    assert (FLOATS, FLOATS) == levels(row, Single.UNPLUGGED)
    assert (False, None, None) == (row.usable, row.polarity, row.fail_safe)
    assert any("nothing gives the input a level" in finding for finding in row.findings)


def test_changeover_with_supply_on_its_open_side_and_pull_up_is_fail_dangerous() -> None:
    """Common to signal, NO to supply, NC to ground, pull-up: high in, low out, broken reads in; both shorts shorten."""
    row = right_way_round(three_wire(SIGNAL, SUPPLY, GROUND), Pull.UP)

    check_row(row, ("H", "L"), "in", fail_safe=False)
    assert SHORT == levels(row, Single.SIGNAL_TO_GROUND)[0]
    assert SHORT == levels(row, Single.SIGNAL_TO_SUPPLY)[1]


def test_a_broken_ground_wire_of_that_changeover_reads_in_with_filament_out() -> None:
    """Common to signal, NO to supply, NC to ground, pull-up is dangerous for a broken ground wire as well."""
    row = right_way_round(three_wire(SIGNAL, SUPPLY, GROUND), Pull.UP)

    assert ("in", "in") == concludes(row, Single.GROUND_BROKEN)


def test_that_changeover_with_pull_down_is_fail_safe() -> None:
    """Common to signal, NO to supply, NC to ground, pull-down: high in, low out, broken reads out; same shorts."""
    row = right_way_round(three_wire(SIGNAL, SUPPLY, GROUND), Pull.DOWN)

    check_row(row, ("H", "L"), "out", fail_safe=True)
    assert SHORT == levels(row, Single.SIGNAL_TO_GROUND)[0]
    assert SHORT == levels(row, Single.SIGNAL_TO_SUPPLY)[1]


def test_changeover_with_ground_on_its_open_side_and_pull_up_is_safe_on_every_wire() -> None:
    """Common to signal, NO to ground, NC to supply, pull-up: low in, high out, each single broken wire reads out."""
    row = right_way_round(three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP)

    check_row(row, ("L", "H"), "out", fail_safe=True)
    assert ("out", "out") == concludes(row, Single.GROUND_BROKEN)
    assert ("in", "out") == concludes(row, Single.SUPPLY_BROKEN)
    assert SHORT == levels(row, Single.SIGNAL_TO_GROUND)[1]
    assert SHORT == levels(row, Single.SIGNAL_TO_SUPPLY)[0]


def test_that_changeover_with_pull_down_is_fail_dangerous() -> None:
    """Common to signal, NO to ground, NC to supply, pull-down: low in, high out, broken reads in."""
    row = right_way_round(three_wire(SIGNAL, GROUND, SUPPLY), Pull.DOWN)

    check_row(row, ("L", "H"), "in", fail_safe=False)


@pytest.mark.parametrize("pull", list(Pull))
def test_a_common_terminal_on_supply_shorts_the_supply(pull: Pull) -> None:
    """Common to supply, NO to signal, NC to ground: with filament out supply and ground are a dead short: refused."""
    row = assess(wired(three_wire(SUPPLY, SIGNAL, GROUND), pull, LOW))

    assert ("H", SHORT) == levels(row)
    assert (False, None, None) == (row.usable, row.polarity, row.fail_safe)
    assert any("dead short" in hazard and "filament out" in hazard for hazard in row.hazards)


@pytest.mark.parametrize(("pull", "level"), [(Pull.UP, "H"), (Pull.DOWN, "L")])
def test_a_common_terminal_without_its_supply_never_changes(pull: Pull, level: str) -> None:
    """Common to supply with the supply wire left off: the same level in and out, so it is useless."""
    row = assess(wired(three_wire(SUPPLY, SIGNAL, GROUND), pull, LOW))

    assert (level, level) == levels(row, Single.SUPPLY_BROKEN)


def test_a_series_resistor_in_that_supply_helps_only_with_a_pull_down() -> None:
    """10 kilohm in the supply wire: it changes against a pull-down of 40 kilohm and is always high with a pull-up."""
    high_v, low_v = (limit.at_v(3.3) for limit in (parts().inputs["32-bit"].vih, parts().inputs["32-bit"].vil))
    held_v = {Node.BOARD_SUPPLY: 3.3, Node.LOGIC_RAIL: 3.3, Node.BOARD_GROUND: 0.0}
    joined = Resistor(Node.BOARD_SUPPLY, Node.PIN, 10_000)
    down, up = (Resistor(Node.PIN, rail, 40_000) for rail in (Node.BOARD_GROUND, Node.LOGIC_RAIL))

    assert high_v <= voltages_v([joined, down], held_v)[Node.PIN]
    assert low_v >= voltages_v([down], held_v)[Node.PIN]
    assert high_v <= voltages_v([joined, up], held_v)[Node.PIN]
    assert high_v <= voltages_v([up], held_v)[Node.PIN]


def test_a_common_terminal_on_ground_shorts_the_supply_too() -> None:
    """Common to ground, NO to signal, NC to supply: the table is silent; physics makes it a short with filament out."""
    row = assess(wired(three_wire(GROUND, SIGNAL, SUPPLY), Pull.UP, HIGH))

    assert ("L", SHORT) == levels(row)
    assert any("dead short" in hazard for hazard in row.hazards)


def test_light_gate_with_the_flag_in_the_beam_is_fail_dangerous() -> None:
    """Open collector, flag in the beam with filament in, pull-up: high in, low out; broken, dark or dirty reads in."""
    row = right_way_round(OpenCollector(OUT), Pull.UP)

    check_row(row, ("H", "L"), "in", fail_safe=False)
    assert ("in", "in") == concludes(row, Single.SUPPLY_BROKEN)
    assert ("out", "out") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert any("no longer conducts" in finding and "dangerous" in finding for finding in row.findings)


def test_light_gate_with_the_flag_out_of_the_beam_is_fail_safe() -> None:
    """Open collector, flag out of the beam with filament in, pull-up: low in, high out; broken or dirty reads out."""
    row = right_way_round(OpenCollector(IN), Pull.UP)

    check_row(row, ("L", "H"), "out", fail_safe=True)
    assert ("out", "out") == concludes(row, Single.SUPPLY_BROKEN)
    assert ("in", "in") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert any("no longer conducts" in finding and "safe" in finding for finding in row.findings)
    assert any("always conducts" in finding and "reads in" in finding for finding in row.findings)


def test_magnet_near_when_present_is_fail_safe() -> None:
    """Open drain, magnet near with filament in, pull-up: low in, high out; broken or magnet lost reads out."""
    row = assess(wired(OpenCollector(IN), Pull.UP, HIGH, kind=SensorKind.HALL))

    check_row(row, ("L", "H"), "out", fail_safe=True)
    assert ("in", "in") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert any("no longer conducts" in finding and "reads out" in finding for finding in row.findings)


def test_magnet_near_when_absent_is_fail_dangerous() -> None:
    """Open drain, magnet near with filament out, pull-up: high in, low out; broken or magnet lost reads in."""
    row = assess(wired(OpenCollector(OUT), Pull.UP, LOW, kind=SensorKind.HALL))

    check_row(row, ("H", "L"), "in", fail_safe=False)
    assert ("out", "out") == concludes(row, Single.SIGNAL_TO_GROUND)
    assert any("no longer conducts" in finding and "reads in" in finding for finding in row.findings)


@pytest.mark.parametrize(
    ("when_in", "sound"), [(HIGH, ("H", "L")), (LOW, ("L", "H"))], ids=["high when in", "low when in"]
)
@pytest.mark.parametrize(("pull", "level"), [(Pull.UP, "H"), (Pull.DOWN, "L"), (Pull.NONE, FLOATS)])
def test_push_pull_is_driven_and_its_pull_shows_only_when_the_signal_is_off(
    when_in: Level, sound: tuple[str, str], pull: Pull, level: str
) -> None:
    """Push-pull: driven both ways with any pull; with the signal off the pull decides; supply lost is undefined."""
    row = assess(wired(PushPull(when_in), pull, LOW if when_in is HIGH else HIGH))

    assert sound == levels(row)
    assert (level, level) == levels(row, Single.UNPLUGGED) == levels(row, Single.SIGNAL_BROKEN)
    assert ("undefined", "undefined") == concludes(row, Single.SUPPLY_BROKEN)
    assert row.fail_safe is not True


def test_push_pull_against_its_resting_level_is_fail_dangerous() -> None:
    """Push-pull that is high with filament in, with a pull-up, reads in when its signal wire breaks: dangerous."""
    assert assess(wired(PushPull(HIGH), Pull.UP, LOW)).fail_safe is False


@pytest.mark.parametrize(("fault", "level"), [(Single.SIGNAL_TO_GROUND, "L"), (Single.SIGNAL_TO_SUPPLY, "H")])
@pytest.mark.parametrize("sensor", [OpenCollector(IN), OpenCollector(OUT), PushPull(HIGH), PushPull(LOW)], ids=repr)
def test_a_shorted_signal_outweighs_an_output_without_shorting_the_supply(
    sensor: Sensor, fault: Single, level: str
) -> None:
    """The table is silent on a shorted module output; physics: the wire wins, the output limits the current itself."""
    row = assess(wired(sensor, Pull.UP, HIGH))

    assert (level, level) == levels(row, fault)


def test_motion_wheel_is_declared_no_presence_input() -> None:
    """A motion wheel fails safe by its own firmware and is no presence input: no table, not usable, and it says why."""
    row = not_a_presence_input(SensorKind.MOTION_WHEEL)

    assert {None} == set(row.states.values())
    assert (False, None, None) == (row.usable, row.polarity, row.fail_safe)
    assert any("not a presence input" in finding for finding in row.findings)
    assert any("fails safe" in finding and "nuisance" in finding for finding in row.findings)


FAIL_SAFE_ROWS = [
    (two_wire(NO, GROUND), Pull.UP, LOW),
    (two_wire(NO, SUPPLY), Pull.DOWN, HIGH),
    (three_wire(SIGNAL, SUPPLY, GROUND), Pull.DOWN, HIGH),
    (three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP, LOW),
    (OpenCollector(IN), Pull.UP, LOW),
]


@pytest.mark.parametrize(("sensor", "pull", "wrong_absent"), FAIL_SAFE_ROWS, ids=repr)
def test_one_wrong_choice_swaps_in_and_out_and_makes_a_fail_safe_row_dangerous(
    sensor: Sensor, pull: Pull, wrong_absent: Level
) -> None:
    """With the absent level the wrong way round, in and out swap and every fail-safe row becomes dangerous."""
    row = assess(wired(sensor, pull, wrong_absent))

    assert ("out", "in") == concludes(row)
    assert Polarity.INVERTED is row.polarity
    assert row.fail_safe is False
    assert row.recommendation.startswith("Invert the firmware's absent level")


@pytest.mark.parametrize(
    ("sensor", "pull"),
    [
        (two_wire(NC, GROUND), Pull.UP),
        (two_wire(NC, SUPPLY), Pull.DOWN),
        (three_wire(SIGNAL, SUPPLY, GROUND), Pull.UP),
        (three_wire(SIGNAL, GROUND, SUPPLY), Pull.DOWN),
        (OpenCollector(OUT), Pull.UP),
    ],
    ids=repr,
)
def test_two_choices_that_cancel_look_right_and_are_dangerous(sensor: Sensor, pull: Pull) -> None:
    """A contact the wrong way round with the absent level set to suit reads right, and the finding says it is blind."""
    row = right_way_round(sensor, pull)

    assert ("in", "out") == concludes(row)
    assert row.fail_safe is False
    assert "Two choices cancel" in row.findings[0]


def test_the_usual_factory_setting_makes_any_sensor_that_works_fail_dangerous() -> None:
    """Pull-up with low taken for absent: whatever reads right with it reads in when unplugged."""
    sensors: list[Sensor] = [two_wire(NO, GROUND), two_wire(NC, GROUND), OpenCollector(IN), OpenCollector(OUT)]
    rows = [assess(wired(sensor, Pull.UP, LOW)) for sensor in sensors]

    working = [row for row in rows if row.polarity is Polarity.DIRECT]
    assert 2 == len(working)
    assert {False} == {row.fail_safe for row in working}
