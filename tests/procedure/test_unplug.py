"""The unplug test: the filament is moved to see that it was unplugged; the far end of the cable may be tried too."""

from typing import Any

import pytest

from commission.asking.message import Punch
from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.evidence.findings.loop import StartUp, UnpluggedAtBoard, UnpluggedAtSensor, UnpluggedSetAside
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.loop.start_up import read_start_up
from commission.procedure.loop.unplug import UNPLUG_STEPS, unplug_test
from commission.vocabulary import Presence, PunchClass, Reading, SwitchBehaviour, Verdict
from tests.procedure.unit_hands import ScriptedHands

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
DIRECT = SwitchBehaviour.DIRECT


def hands_at(unit: str, **answers: Any) -> ScriptedHands:
    """An operator at a unit with filament in; `answers` by key, with __ for each dot."""
    given = {"far_end.now": False} | {key.replace("__", "."): each for key, each in answers.items()}
    hands = ScriptedHands(unit, given.get)
    hands.host.do("insert")
    return hands


def unplugged(hands: ScriptedHands) -> Any:
    """The unplug test with filament in."""
    return hands.carry_out(unplug_test(PLAN, SWITCH))


MOVES = ["still_plugged.insert", "still_plugged.withdraw"] * 2


def test_the_filament_is_moved_in_every_power_up() -> None:
    """Each power-up is read hands off, then while the filament goes in, out, in and out; each dwell counts."""
    hands = hands_at("sound")
    found = unplugged(hands)

    read = [key for key in hands.asked if key.startswith(("unplugged.", "still_plugged"))]
    assert ["unplugged.1", *MOVES, "unplugged.2", *MOVES] == read
    assert [Reading.INACTIVE] * 2 == [result.steady for result in found.at_board]
    assert [5 * 21] * 2 == [len(result.readings) for result in found.at_board]
    assert [(True, PowerSeen.POWER_OFF)] * 2 == [(result.watched, result.power) for result in found.at_board]
    assert found.at_sensor is None


@pytest.mark.parametrize("power_up", [1, 2])
def test_a_wrong_plug_is_found_out_and_the_right_one_looked_for(power_up: int) -> None:
    """In either power-up the reading then follows the filament: it counts for nothing, and is asked for again."""
    hands = hands_at("sound")
    hold = f"unplug.{power_up}"
    hands.places[hold] = [("plug",)]

    def look_again(key: str) -> None:
        if hands.asked.count(hold) == 2:
            hands.places[hold] = [("unplug", "board")]

    hands.before_hold = look_again
    found = unplugged(hands)

    assert 2 == hands.asked.count(hold)
    assert [Reading.INACTIVE] * 2 == [result.steady for result in found.at_board]
    assert any("the sensor is still plugged in" in line for line in hands.told)
    assert f"unplugged.{power_up}" == hands.findings[UnpluggedSetAside].key
    assert UNPLUG_STEPS == hands.held[hold][-1].steps


def test_a_plug_that_is_not_found_leaves_the_broken_wire_not_judged() -> None:
    """Three wrong plugs end the test without a finding: an open item, and never fail-to-danger from a wrong plug."""
    hands = hands_at("sound", moving__how="no")
    for power_up in (1, 2):
        hands.places[f"unplug.{power_up}"] = []
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    verdicts = {criterion.name: criterion.verdict for criterion in found.acceptance.criteria}
    assert 3 == hands.asked.count("unplug.1")
    assert Verdict.NOT_JUDGED is verdicts["unplugged"]
    assert any("went on following" in item.text for item in hands.items)


def test_a_second_power_up_that_was_never_unplugged_is_no_pass() -> None:
    """One good power-up is not two: where the plug went back in, the criterion is not judged."""
    hands = hands_at("sound", moving__how="no")
    hands.places["unplug.2"] = [("plug",)]
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    verdicts = {criterion.name: criterion.verdict for criterion in found.acceptance.criteria}
    assert 3 == hands.asked.count("unplug.2")
    assert Verdict.NOT_JUDGED is verdicts["unplugged"]


def test_two_errors_that_cancel_are_found_unplugged() -> None:
    """It reads in plugged in and unplugged, and does not follow the filament: it is really off, and fail-to-danger."""
    hands = hands_at("two-errors-cancel")
    found = unplugged(hands)

    assert 1 == hands.asked.count("unplug.1")
    assert [Reading.ACTIVE] * 2 == [result.steady for result in found.at_board]


def test_what_changes_but_does_not_follow_is_unsteady() -> None:
    """One move forgotten with the wrong plug out is a mixture: no sensor that is off changes, so it fails."""
    hands = hands_at("two-errors-cancel", moving__how="no")
    hands.places["unplug.1"] = hands.places["unplug.2"] = []

    def forget(key: str) -> None:
        third = [each for each in hands.asked if each in MOVES][-4:] == MOVES[2:] + MOVES[:1]
        hands.deeds["still_plugged.insert"] = [] if third else [("insert",)]

    hands.before_watch = forget
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    criterion = next(each for each in found.acceptance.criteria if each.name == "unplugged")
    assert Verdict.FAIL is criterion.verdict, criterion
    assert "changed, and not as the filament moved" in criterion.observed


@pytest.mark.parametrize("unseen", [("unplug.1",), ("unplug.2",), ("unplug.1", "unplug.2")])
def test_a_power_off_that_was_not_seen_makes_it_conditional(unseen: tuple[str, ...]) -> None:
    """Released with the power on, it rests on the operator's word: that is said, stands on record, and is no pass."""
    hands = hands_at("sound", moving__how="no")
    hands.powers_off = lambda key: key not in unseen
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    criterion = next(each for each in found.acceptance.criteria if each.name == "unplugged")
    power = tuple(PowerSeen.WORD if f"unplug.{n}" in unseen else PowerSeen.POWER_OFF for n in (1, 2))
    assert Verdict.CONDITIONAL is criterion.verdict
    assert "rests on the operator's word" in criterion.observed
    assert power == hands.findings[UnpluggedAtBoard].power
    assert [(PunchClass.INCOMPLETE, True)] == [(item.grade, "lights go out" in item.cure) for item in hands.items]
    assert len(unseen) == sum("did not see the power go off" in line for line in hands.told)


def test_a_native_port_says_no_banner_and_stays_on_the_operators_word() -> None:
    """Its port goes, but nobody hears it start: what is seen is too little, so the criterion is conditional."""
    hands = hands_at("native-port")
    found = unplugged(hands)

    assert [PowerSeen.WORD] * 2 == [result.power for result in found.at_board]


def test_a_start_up_that_nobody_saw_is_conditional() -> None:
    """What is read with the power never off is no start-up reading: it rests on the operator's word."""
    hands = hands_at("sound", moving__how="no")
    hands.powers_off = lambda key: key != "unplug.reconnect"
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    criterion = next(each for each in found.acceptance.criteria if each.name == "start-up")
    assert Verdict.CONDITIONAL is criterion.verdict
    assert "rests on the operator's word" in criterion.observed


@pytest.mark.parametrize(
    ("unit", "reading"),
    [("sound", Reading.INACTIVE), ("cable-chafed", Reading.ACTIVE), ("two-errors-cancel", Reading.ACTIVE)],
)
def test_the_far_end_reads_what_the_units_file_works_out(unit: str, reading: Reading) -> None:
    """Unplugged at the sensor only a cable that holds the line reads otherwise than unplugged at the board."""
    hands = hands_at(unit, far_end__now=True)
    found = unplugged(hands)

    assert found.at_sensor is not None
    assert reading is found.at_sensor.steady
    assert hands.asked.index("unplugged.2") < hands.asked.index("far_end") < hands.asked.index("unplug.reconnect")


def test_a_plug_left_in_at_the_sensor_is_not_taken_for_a_cable_that_holds_the_line() -> None:
    """Still plugged in at the sensor the reading follows the filament, and the right plug is looked for."""
    hands = hands_at("sound", far_end__now=True)
    hands.places["far_end.hold"] = [("plug",)]

    def look_again(key: str) -> None:
        if hands.asked.count("far_end.hold") == 2:
            hands.places["far_end.hold"] = [("plug",), ("unplug", "sensor")]

    hands.before_hold = look_again
    found = unplugged(hands)

    assert 2 == hands.asked.count("far_end.hold")
    assert found.at_sensor is not None
    assert Reading.INACTIVE is found.at_sensor.steady


def test_a_cable_that_holds_the_line_fails_the_check() -> None:
    """The far end is a criterion of its own where it was tried, with the reason in words."""
    hands = hands_at("cable-chafed", far_end__now=True, moving__how="no")
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    far_end = next(each for each in found.acceptance.criteria if each.name == "unplugged at the sensor")
    assert Verdict.FAIL is far_end.verdict
    assert "the cable holds it" in far_end.observed


def test_an_input_that_rests_at_in_is_not_blamed_on_the_cable() -> None:
    """Where it reads in unplugged at the board too, the input rests there, and nothing is said of a short."""
    hands = hands_at("two-errors-cancel", far_end__now=True)
    unplugged(hands)

    assert ("Unplugged at the sensor, the input read in, steadily, as it did unplugged at the board.",) == (
        hands.findings[UnpluggedAtSensor].sentences
    )


def test_a_sensor_that_was_not_plugged_in_again_is_plugged_in_with_the_power_off() -> None:
    """What differs after the power cycle is asked about; a sensor that is out is no reason to plug it in by hand."""
    hands = hands_at("sound", start_up__as_before="out")
    hands.host.do("unplug", "board")
    hands.carry_out(read_start_up(PLAN, SWITCH, DIRECT, PowerSeen.POWER_OFF))

    assert hands.asked.index("unplug.reconnect") > hands.asked.index("start_up.as_before")
    assert 2 == hands.asked.count("start_up")
    assert Reading.ACTIVE is hands.findings[StartUp].reading
    assert [] == hands.items


def test_filament_that_was_put_right_at_start_up_is_read_once_more() -> None:
    """Filament may be moved with the power on: the second look counts, and no power is taken off."""
    hands = hands_at("sound", start_up__as_before="now")
    hands.host.do("withdraw")

    def put_in(key: str) -> None:
        if key == "start_up" and "start_up.as_before" in hands.asked:
            hands.host.do("insert")

    hands.before_watch = put_in
    hands.carry_out(read_start_up(PLAN, SWITCH, DIRECT, PowerSeen.POWER_OFF))

    assert "unplug.reconnect" not in hands.asked

    assert 2 == hands.asked.count("start_up")
    assert Reading.ACTIVE is hands.findings[StartUp].reading
    assert [] == hands.items


def test_the_filament_is_in_again_at_start_up() -> None:
    """It is put in while the power is off: a sensor that was not plugged in again then reads otherwise."""
    hands = hands_at("sound", moving__how="no")
    hands.places["unplug.reconnect"] = [("insert",)]
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    start = hands.findings[StartUp]
    verdicts = {criterion.name: criterion.verdict for criterion in found.acceptance.criteria}
    assert (Presence.IN, Reading.INACTIVE, Reading.ACTIVE) == (start.presence, start.reading, start.expected)
    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]
    assert Verdict.CONDITIONAL is verdicts["start-up"]


@pytest.mark.parametrize("at", ["unplug.1", "still_plugged.withdraw", "unplugged.2", "unplug.reconnect"])
def test_a_test_that_was_broken_off_says_how_the_sensor_was_left(at: str) -> None:
    """Wherever it ends before the sensor is plugged in again, that it may still be unplugged is an open item."""
    steps = unplug_test(PLAN, SWITCH)
    hands = hands_at("sound")
    stop = Interrupted(Interruption(InterruptionKind.OPERATOR_STOP, "stopped by Ctrl-C"))

    def broken_off() -> Any:
        response = None
        while True:
            request = steps.send(response)
            if getattr(request, "key", "") == at:
                told = steps.throw(stop)
                with pytest.raises(Interrupted):
                    steps.send(None)
                return told
            response = yield request

    item = hands.carry_out(broken_off())

    assert isinstance(item, Punch)
    assert (PunchClass.UNSAFE, True) == (item.grade, "may still be unplugged" in item.text)
    assert "unplug.reconnect" == item.settled_by
