"""The unplug test: it is doubted where nothing changed, and the far end of the cable may be tried too."""

from typing import Any

import pytest

from commission.judge.plan import Plan
from commission.procedure.loop_check import loop_check
from commission.procedure.message import Punch
from commission.procedure.response import Interrupted, Interruption, InterruptionKind
from commission.procedure.unplug import read_start_up, unplug_test
from commission.vocabulary import Presence, PunchClass, Reading, SwitchBehaviour, Verdict
from tests.procedure.unit_hands import ScriptedHands

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
IN, DIRECT = Presence.IN, SwitchBehaviour.DIRECT


def hands_at(unit: str, **answers: Any) -> ScriptedHands:
    """An operator at a unit with filament in; `answers` by key, with __ for each dot."""
    given = {"far_end.now": False} | {key.replace("__", "."): each for key, each in answers.items()}
    hands = ScriptedHands(unit, given.get)
    hands.host.do("insert")
    return hands


def unplugged(hands: ScriptedHands, behaviour: SwitchBehaviour = DIRECT) -> Any:
    """The unplug test with filament in."""
    return hands.carry_out(unplug_test(PLAN, SWITCH, behaviour, IN))


def test_a_sound_unit_is_not_doubted() -> None:
    """What changes when it is unplugged was the sensor's own plug: no further question is asked."""
    hands = hands_at("sound")
    found = unplugged(hands)

    assert "still_plugged" not in hands.asked
    assert [Reading.INACTIVE] * 2 == [result.steady for result in found.at_board]
    assert found.at_sensor is None


def test_a_wrong_plug_is_found_out_and_the_right_one_looked_for() -> None:
    """With another plug pulled the reading follows the filament: it does not count, and the hold point comes again."""
    hands = hands_at("sound")
    hands.places["unplug.1"] = []

    def move(key: str) -> None:
        if key == "still_plugged":
            hands.places["unplug.1"] = [("unplug", "board")]
            hands.host.printer.perform("withdraw")

    hands.before_watch = move
    found = unplugged(hands)

    assert 2 == hands.asked.count("unplug.1")
    assert [Reading.INACTIVE] * 2 == [result.steady for result in found.at_board]
    assert any("still plugged in" in line for line in hands.told)


def test_a_plug_that_is_not_found_leaves_the_broken_wire_not_judged() -> None:
    """Three wrong plugs end the test without a finding: an open item, and never fail-danger from a wrong plug."""
    hands = hands_at("sound", wiggle__where="in", moving__how="no")
    for power_up in (1, 2):
        hands.places[f"unplug.{power_up}"] = []

    def move(key: str) -> None:
        if key == "still_plugged":
            hands.host.printer.perform("withdraw")
        if key == "unplugged.1":
            hands.host.do("insert")

    hands.before_watch = move
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    verdicts = {criterion.name: criterion.verdict for criterion in found.acceptance.criteria}
    assert 3 == hands.asked.count("unplug.1")
    assert Verdict.NOT_JUDGED is verdicts["unplugged"]
    assert any("went on changing" in item.text for item in hands.items)


def test_two_errors_that_cancel_stand_after_the_doubt() -> None:
    """It reads in plugged in and unplugged, and does not follow the filament: it is really off, and fail-danger."""
    hands = hands_at("two-errors-cancel")
    hands.before_watch = lambda key: hands.host.printer.perform("withdraw") if key == "still_plugged" else None
    found = unplugged(hands)

    assert 1 == hands.asked.count("still_plugged")
    assert [Reading.ACTIVE] * 2 == [result.steady for result in found.at_board]


def test_what_never_followed_the_filament_is_not_doubted() -> None:
    """A switch that is stuck reads the same plugged in and unplugged: moving the filament would show nothing."""
    hands = hands_at("thin-filament")
    found = unplugged(hands, SwitchBehaviour.STUCK_INACTIVE)

    assert "still_plugged" not in hands.asked
    assert [Reading.INACTIVE] * 2 == [result.steady for result in found.at_board]


@pytest.mark.parametrize(
    ("unit", "reading"),
    [("sound", Reading.INACTIVE), ("cable-chafed", Reading.ACTIVE), ("two-errors-cancel", Reading.ACTIVE)],
)
def test_the_far_end_reads_what_the_units_file_works_out(unit: str, reading: Reading) -> None:
    """Unplugged at the sensor only a cable that holds the line reads otherwise than unplugged at the board."""
    hands = hands_at(unit, far_end__now=True)
    found = unplugged(hands, SwitchBehaviour.UNDECIDED)

    assert found.at_sensor is not None
    assert reading is found.at_sensor.steady
    assert hands.asked.index("unplugged.2") < hands.asked.index("far_end") < hands.asked.index("unplug.reconnect")


def test_a_plug_left_in_at_the_sensor_is_not_taken_for_a_cable_that_holds_the_line() -> None:
    """Still plugged in at the sensor it reads in as before; the filament is moved, and the right plug looked for."""
    hands = hands_at("sound", far_end__now=True)
    hands.places["far_end.hold"] = [("plug",)]

    def move(key: str) -> None:
        if key == "still_plugged":
            hands.places["far_end.hold"] = [("plug",), ("unplug", "sensor")]
            hands.host.printer.perform("withdraw")

    hands.before_watch = move
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
        hands.findings["unplugged_at_sensor"].sentences
    )


def test_a_sensor_that_was_not_plugged_in_again_is_plugged_in_with_the_power_off() -> None:
    """What differs after the power cycle is asked about; a sensor that is out is no reason to plug it in by hand."""
    hands = hands_at("sound", start_up__as_before="out")
    hands.host.do("unplug", "board")
    hands.carry_out(read_start_up(PLAN, SWITCH, IN, DIRECT))

    assert hands.asked.index("unplug.reconnect") > hands.asked.index("start_up.as_before")
    assert 2 == hands.asked.count("start_up")
    assert "active" == hands.findings["start_up"].facts["reading"]
    assert [] == hands.items


def test_filament_that_was_put_right_at_start_up_is_read_once_more() -> None:
    """Filament may be moved with the power on: the second look counts, and no power is taken off."""
    hands = hands_at("sound", start_up__as_before="now")
    hands.host.do("withdraw")

    def put_in(key: str) -> None:
        if key == "start_up" and "start_up.as_before" in hands.asked:
            hands.host.do("insert")

    hands.before_watch = put_in
    hands.carry_out(read_start_up(PLAN, SWITCH, IN, DIRECT))

    assert "unplug.reconnect" not in hands.asked

    assert 2 == hands.asked.count("start_up")
    assert "active" == hands.findings["start_up"].facts["reading"]
    assert [] == hands.items


def test_where_the_filament_is_is_asked_where_nobody_knows() -> None:
    """After a wiggle that was left out the operator says where the filament is, and that is what is expected."""
    hands = hands_at("sound", start_up__where="out", start_up__as_before="yes")
    hands.carry_out(read_start_up(PLAN, SWITCH, None, DIRECT))

    facts = hands.findings["start_up"].facts
    assert ("out", "active", "inactive") == tuple(facts[name] for name in ("presence", "reading", "expected"))
    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]


@pytest.mark.parametrize("at", ["unplug.1", "unplugged.2", "unplug.reconnect"])
def test_a_test_that_was_broken_off_says_how_the_sensor_was_left(at: str) -> None:
    """Wherever it ends before the sensor is plugged in again, that it may still be unplugged is an open item."""
    steps = unplug_test(PLAN, SWITCH, DIRECT, IN)
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
