"""The diagnosis on the simulated units: the simulator shares no line with the predictions it is judged by."""

import pytest

from commission.asking.response import Interrupted
from commission.evidence.findings import loop
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.wiring import NoMeter
from commission.judge.diagnosis import Observation
from commission.judge.plan import Plan
from commission.procedure.cause.bench_tests import OFF_AT_BOARD
from commission.procedure.cause.diagnose import diagnose, weigh
from commission.procedure.cause.find_cause import find_cause
from commission.procedure.cause.weighed import Weighed
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.wiring.candidates import bench_tests
from commission.procedure.wiring.declaration import assessed
from commission.vocabulary import PunchClass
from commission.wiring.installation import WiringError
from tests.procedure.unit_hands import ScriptedHands
from tests.support.sweeps import a_part

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
THREE_WIRES = {
    "sensor": "switch",
    "common": "signal",
    "no-side": "ground",
    "nc-side": "supply",
    "pull": "up",
    "absent": "high",
}
LIGHT_GATE = {"sensor": "open-collector", "conducts-when": "in", "pull": "up", "absent": "high"}

# the unit, how it should be wired, and what the first class must hold
UNITS = [
    ("sound", TWO_WIRES, {"as-declared"}),
    ("inverted-right-contact", TWO_WIRES, {"logic-flipped", "words-reversed"}),
    ("inverted-by-contact", TWO_WIRES, {"contact-swapped"}),
    ("two-errors-cancel", TWO_WIRES, {"contact-and-logic"}),
    ("stuck-active", TWO_WIRES, {"lever-stuck", "output-always"}),
    ("stuck-inactive", TWO_WIRES, {"signal-broken", "ground-broken", "output-dead"}),
    ("pull-missing", TWO_WIRES, {"pull-missing"}),
    ("loose-wire", TWO_WIRES, {"loose"}),
    ("motor-noise", TWO_WIRES, {"motor-noise"}),
    ("thin-filament", TWO_WIRES, {"lever-not-reached"}),
    ("input-driven", TWO_WIRES, {"driven-low", "pin-dead-low", "pull-other-way"}),
    ("cable-chafed", TWO_WIRES, {"signal-to-ground"}),
    ("three-wire", THREE_WIRES, {"as-declared", "supply-missing"}),
    ("three-wire-no-signal", THREE_WIRES, {"signal-broken", "ground-broken", "output-dead"}),
    ("three-wire-no-ground", THREE_WIRES, {"signal-broken", "ground-broken", "output-dead"}),
    ("three-wire-no-supply", THREE_WIRES, {"as-declared", "supply-missing"}),
    ("optical", LIGHT_GATE, {"as-declared"}),
]


SOME = a_part(UNITS, one_in=3)


def first_class(hands: ScriptedHands) -> set[str]:
    """The members of the class in front."""
    return set(hands.findings[Diagnosis].classes[0].members)


@pytest.mark.swept
@pytest.mark.parametrize(
    ("unit", "answers", "members"), a_part(UNITS, one_in=3), ids=lambda each: each if isinstance(each, str) else ""
)
def test_the_fault_of_each_unit_comes_out_in_front(unit: str, answers: dict[str, str], members: set[str]) -> None:
    """Begun from nothing, it decides for the class with the unit's own fault; a sound one stays likeliest."""
    hands = ScriptedHands(unit)

    hands.carry_out(diagnose(assessed(answers), [], PLAN, SWITCH))

    found = hands.findings[Diagnosis]
    assert members == first_class(hands)
    assert found.decided is not bool({"as-declared"} & members)
    assert found.classes[0].weight > (0.6 if "as-declared" in members else 0.9)


@pytest.mark.parametrize(
    ("unit", "members"),
    [
        ("floating", {"wrong-input-floating"}),
        ("sticky-lever", {"lever-sticky"}),
        ("noisy-contact", {"intermittent"}),
        ("motor-noise", {"motor-noise"}),
        ("pull-missing", {"pull-missing"}),
        ("stuck-active", {"lever-stuck", "output-always"}),
        ("two-errors-cancel", {"contact-and-logic"}),
    ],
)
def test_a_loop_check_is_a_beginning(unit: str, members: set[str]) -> None:
    """Begun from what the loop check saw, it names the fault of units that one look cannot tell."""
    hands = ScriptedHands(unit, lambda key: "motors" if key == "moving.how" else None)
    hands.carry_out(loop_check(PLAN, SWITCH))
    seen = hands.carry_out(seen_before())

    hands.carry_out(diagnose(assessed(TWO_WIRES), seen, PLAN, SWITCH))

    assert members == first_class(hands)


def test_the_cures_of_motor_noise_begin_with_the_way_of_the_cable() -> None:
    """Caught by the wiggle with the machine moving, it is cured by leading the cable away first."""
    hands = ScriptedHands("motor-noise", lambda key: "motors" if key == "moving.how" else None)
    hands.carry_out(loop_check(PLAN, SWITCH))
    seen = hands.carry_out(seen_before())
    hands.carry_out(diagnose(assessed(TWO_WIRES), seen, PLAN, SWITCH))

    first = hands.findings[Diagnosis].classes[0]
    assert "away from those of motors" in first.cures[0]
    assert "noise" not in " ".join(one.test for one in hands.findings[loop.TestsDone].observations)


def test_without_a_release_the_machine_does_not_move() -> None:
    """A test that moves the machine is a test of its own, and is left out where it is not released."""
    hands = ScriptedHands("motor-noise", lambda key: False if key == "moving.release" else None)
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert "moving.release" in hands.asked
    assert [] == hands.sent


def test_a_dirty_lens_is_told_from_a_dead_cable_by_nothing_at_hand() -> None:
    """A light gate that never conducts forms one class with broken wires, and the cures name the lens."""
    hands = ScriptedHands("optical-dirty")

    hands.carry_out(diagnose(assessed(LIGHT_GATE), [], PLAN, SWITCH))

    cures = " ".join(hands.findings[Diagnosis].classes[0].cures)
    assert {"output-dead", "signal-broken"} <= first_class(hands)
    assert "Clean the lens" in cures
    assert any("they look the same" in said for said in hands.findings[Diagnosis].sentences)


def test_a_board_that_goes_down_in_a_test_ends_the_diagnosis() -> None:
    """The supply shorted by the switch is found by the first insertion; nothing is tried after it, and it is unsafe."""
    hands = ScriptedHands("supply-short")

    with pytest.raises(Interrupted):
        hands.carry_out(diagnose(assessed(THREE_WIRES), [], PLAN, SWITCH))

    assert {"exchanged"} == first_class(hands)
    assert PunchClass.UNSAFE in {item.grade for item in hands.items}
    assert not [key for key in hands.asked[hands.asked.index("diagnose.filament_in") + 1 :] if "next" in key]


def test_without_a_meter_the_meter_is_asked_for_once() -> None:
    """Once the meter cannot be had none of its readings is asked for again, and the classes are as coarse as that."""
    hands = ScriptedHands("input-driven")
    questions: list[str] = []

    def answer(key: str) -> str | None:
        if key != "diagnose.next":
            return None
        questions.append(hands.question)
        return "cannot" if "meter" in hands.question else None

    hands.answer_with(answer)
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert 1 == sum("meter," in question for question in questions)


def test_a_meter_that_was_not_there_before_is_not_asked_for() -> None:
    """Who said earlier in the run that no meter is at hand is not asked for one."""
    hands = ScriptedHands("input-driven")
    hands.findings.keep(NoMeter())
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert not [question for question in hands.questions if "meter," in question]
    assert "diagnose.meter.hold" not in hands.asked


def test_a_reading_of_the_meter_that_was_left_out_is_not_asked_for_again() -> None:
    """Each of the readings was skipped: none of them is asked for a second time."""
    wanted: list[str] = []

    def answer(key: str) -> str | None:
        if key == "diagnose.next" and "meter," in hands.question:
            wanted.append(hands.question)
        return "skip" if key.startswith("diagnose.meter_") else None

    hands = ScriptedHands("input-driven", answer)
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert hands.asked.count("diagnose.meter.hold") == len(wanted) > 0
    assert len(set(wanted)) == len(wanted)


def test_a_second_look_comes_first() -> None:
    """Before a hand is moved the operator looks whether it is as declared, and is shown what was declared."""
    hands = ScriptedHands("inverted-by-contact")
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))
    looks = [key for key in hands.asked if key.startswith("diagnose.look_")]
    first_watch = next(place for place, key in enumerate(hands.asked) if key == "diagnose.filament_in")

    assert {"diagnose.look_contact", "diagnose.look_level"} <= set(looks)
    assert all(hands.asked.index(look) < first_watch for look in looks)


def test_what_a_look_denies_is_declared_anew() -> None:
    """The contact turns out to be the other one: it is declared anew, and what was read is weighed once more."""
    answers = {"diagnose.look_contact": "otherwise", "wiring.contact": "NC", "wiring.absent": "high"}
    answers |= {"wiring.sensor": "switch", "wiring.wires": "2", "wiring.to": "ground", "wiring.pressed-when": "in"}
    answers |= {"wiring.pull": "up", "wiring.pull-by": "board", "wiring.logic": "3.3"}
    hands = ScriptedHands("inverted-by-contact", answers.get)
    weighed = hands.carry_out(find_cause(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert "diagnose.declare_again" in hands.asked
    assert "NC" == weighed.declared.answers["contact"]
    assert not weighed.denied
    assert "as-declared" in first_class(hands)


def test_a_wiring_that_must_not_be_plugged_in_is_not_tested() -> None:
    """The look finds another wiring, and declared anew it shorts the supply: that is said, and no test is asked for."""
    answers = {"diagnose.look_contact": "otherwise", "wiring.sensor": "switch", "wiring.wires": "3"}
    answers |= {"wiring.common": "ground", "wiring.no-side": "supply", "wiring.nc-side": "signal"}
    answers |= {"wiring.pressed-when": "in", "wiring.pull": "up", "wiring.pull-by": "board"}
    answers |= {"wiring.absent": "high", "wiring.logic": "3.3", "wiring.supply": "3.3"}
    hands = ScriptedHands("inverted-by-contact", answers.get)
    weighed = hands.carry_out(find_cause(assessed(TWO_WIRES), [], PLAN, SWITCH))
    after = hands.asked[hands.asked.index("diagnose.declare_again") + 1 :]

    assert [] == [key for key in after if key.startswith("diagnose.")]
    assert weighed.denied


def test_a_cable_off_the_board_is_plugged_in_before_it_is_read() -> None:
    """The sensor was unplugged from the first, and it is declared anew: where its plug is has not been forgotten."""
    answers = {"diagnose.look_contact": "otherwise", "wiring.contact": "NC", "wiring.absent": "high"}
    answers |= {"wiring.sensor": "switch", "wiring.wires": "2", "wiring.to": "ground", "wiring.pressed-when": "in"}
    answers |= {"wiring.pull": "up", "wiring.pull-by": "board", "wiring.logic": "3.3"}
    turns = iter(["stop", "now"])

    def answer(key: str) -> str | None:
        return next(turns, "stop") if key == "diagnose.next" else answers.get(key)

    hands = ScriptedHands("inverted-by-contact", answer)
    hands.carry_out(find_cause(assessed(TWO_WIRES), [], PLAN, SWITCH, OFF_AT_BOARD))
    after = hands.asked[hands.asked.index("diagnose.declare_again") :]

    first = next(key for key in after if key.startswith("diagnose.filament_"))

    assert first.endswith(".hold")
    assert first.removesuffix(".hold") in after


def test_a_test_by_hand_waits_until_the_hand_is_ready() -> None:
    """The lever worked by hand is asked for by a question of its own, and taken twice."""
    hands = ScriptedHands("thin-filament")
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))
    place = hands.asked.index("diagnose.worked_by_hand.ready")

    assert ["diagnose.worked_by_hand"] * 2 == hands.asked[place + 1 : place + 3]
    worked = [one for one in hands.findings[loop.TestsDone].observations if "by hand" in one.test]
    assert {42} == {one.readings for one in worked}


def test_two_shots_that_disagree_say_nothing() -> None:
    """The lever pressed in one shot and not in the other is no observation."""
    hands = ScriptedHands("thin-filament")
    pressed: list[tuple[str, ...]] = [("withdraw",), ("press-lever",)]
    presses = iter([pressed, pressed[:1]] * 10)

    def press(key: str) -> None:
        if key == "diagnose.worked_by_hand":
            hands.deeds[key] = next(presses)

    hands.before_watch = press
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert any("do not agree" in told for told in hands.told)
    tests = {one.test for one in hands.findings[loop.TestsDone].observations}
    assert "lever worked by hand, filament out" not in tests


def test_ten_trials_with_filament_out_come_before_a_sensor_is_sound() -> None:
    """From nothing, a sound sensor is withdrawn from ten times at least, and is still only likely."""
    hands = ScriptedHands("sound")
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))
    sentences = " ".join(hands.findings[Diagnosis].sentences)

    assert hands.asked.count("diagnose.filament_out") >= 10
    assert "Not decided; likeliest" in sentences


@pytest.mark.parametrize("unit", ["sound", "stuck-inactive", "pull-missing"])
def test_no_screen_speaks_of_bits_or_priors_or_certainty(unit: str) -> None:
    """Neither what is told nor what is found names the arithmetic; nothing is 100 %, and one fault is assumed."""
    hands = ScriptedHands(unit)
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))
    said = " ".join([*hands.told, *hands.questions, *hands.findings[Diagnosis].sentences])

    assert [] == [word for word in ("bits", "prior", "100 %", "posterior", "entropy") if word in said]
    assert "One fault is assumed" in said


def test_a_test_that_is_done_several_times_is_said_to_be() -> None:
    """Withdrawals are asked for in series, most tests once; how often is said only where it is more than once."""
    hands = ScriptedHands("sound")
    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))
    series = [line for line in hands.questions if line.startswith("It is asked for ")]
    tests = [line for line in hands.questions if line.startswith("Do this test now: ")]

    assert 0 < len(series) < len(tests)
    assert all(int(line.split()[4]) > 1 for line in series)


def test_it_may_be_stopped_and_stands_as_it_is() -> None:
    """Stopped at the first test nothing but looks was tried: nothing is decided, and no item is opened."""
    hands = ScriptedHands("sound", lambda key: "stop" if key == "diagnose.next" else None)

    weighed = hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    assert not weighed.choice.diagnosis.decided
    assert [] == hands.items
    assert all("second look" in one.test for one in weighed.seen)


def test_the_cable_is_plugged_in_again_at_the_end() -> None:
    """However many plugs were pulled, both ends are plugged in when the diagnosis ends."""
    hands = ScriptedHands("cable-chafed")

    hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    cable = hands.host.printer.plant.cable
    assert "diagnose.reconnect.hold" in hands.asked
    assert (True, True) == (cable.plugged_at_board, cable.plugged_at_sensor)


def test_on_paper_the_next_test_is_named_and_none_is_asked() -> None:
    """Weighing alone asks for nothing; it records where things stand and which test would tell most."""
    hands = ScriptedHands("sound")
    seen = [Observation("filament in", 0, 5), Observation("filament out", 0, 5)]

    hands.carry_out(weigh(assessed(TWO_WIRES), seen, asks=False))

    found = hands.findings[Diagnosis]
    assert found.next_test in {test.name for test in bench_tests()}
    assert {""} == set(hands.asked)
    assert 1.0 == pytest.approx(sum(group.weight for group in found.classes) + found.unlikely_together)


def test_a_dangerous_test_is_named_and_not_asked() -> None:
    """After a restart with filament in, every test that would short the supply again is left out, by name."""
    hands = ScriptedHands("sound")
    seen = [Observation("filament in", 0, 5, restarted=True)]

    hands.carry_out(weigh(assessed(THREE_WIRES), seen, asks=False))

    found = hands.findings[Diagnosis]
    assert "filament in" in found.unsafe
    assert "meter" in (found.next_test or "")


def test_a_motion_wheel_has_no_wiring_to_diagnose() -> None:
    """What is no presence input is refused, and so is a weighing of nothing by nothing."""
    with pytest.raises(WiringError, match="no presence input"):
        Weighed(assessed({"sensor": "motion-wheel"}), (), tuple(bench_tests()))
    with pytest.raises(ValueError, match="not judged"):
        Weighed(assessed(TWO_WIRES), (), ())
