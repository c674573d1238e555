"""The sheets before the electrical check: mechanics, the meter, and what else is on the input."""

from collections.abc import Callable, Mapping

import pytest

from commission.asking.response import Interrupted, Interruption, InterruptionKind
from commission.evidence.findings.wiring import InputClaims, MechanicalCheck, MeterCheck, PinReported
from commission.jobs.wiring_share import prepare_wiring
from commission.procedure.wiring.claims import input_claims
from commission.procedure.wiring.declaration import assessed
from commission.procedure.wiring.mechanical import A_CONTACT, mechanical, sheet
from commission.procedure.wiring.meter import Metered, meter
from commission.vocabulary import Level, Pull, PunchClass, Verdict
from commission.wiring.installation import Installation
from tests.procedure.unit_hands import ScriptedHands

THREE_WIRES = {
    "sensor": "switch",
    "common": "signal",
    "no-side": "ground",
    "nc-side": "supply",
    "pull": "up",
    "absent": "high",
}
RIGHT = {
    "meter.supply_ground_in": "open",
    "meter.supply_ground_out": "open",
    "meter.signal_ground_in": "joined",
    "meter.signal_ground_out": "open",
    "meter.header_v": "3.31",
    "meter.reason": "no meter at hand",
}


def answers(known: Mapping[str, object]) -> Callable[[str], object]:
    """An operator who answers these requests so, and all others as usual; a list is used up one by one."""

    def answer(key: str) -> object:
        given = known.get(key)
        return given.pop(0) if isinstance(given, list) else given

    return answer


def installation() -> Installation:
    """The declared wiring."""
    found = assessed(THREE_WIRES).installation
    assert found is not None

    return found


def metered(**changes: object) -> tuple[Metered, ScriptedHands]:
    """The meter check, with what differs from a sound sensor."""
    given = RIGHT | {f"meter.{name}": answer for name, answer in changes.items()}
    hands = ScriptedHands("three-wire", answers(given))
    return hands.carry_out(meter(installation())), hands


def test_a_sound_sensor_passes_the_meter_and_is_plugged_in_with_power_off() -> None:
    """Every line as predicted and the header as declared: pass, and a power hold point before the plug goes in."""
    found, hands = metered()

    assert Metered(Verdict.PASS, short=False) == found
    assert "meter.plug_in" in hands.asked
    assert 4 == len(hands.findings[MeterCheck].observations)


@pytest.mark.parametrize(
    "change", [{"supply_ground_in": "joined"}, {"header_v": "24"}, {"signal_ground_out": "joined"}]
)
def test_nothing_is_plugged_in_over_a_failed_line(change: dict[str, object]) -> None:
    """A joined supply, 24 V at the header or a signal that never opens: fail, class A, no hold point for the plug."""
    found, hands = metered(**change)

    assert Verdict.FAIL is found.verdict
    assert "meter.plug_in" not in hands.asked
    assert [PunchClass.UNSAFE] == [item.grade for item in hands.items]


def test_a_joined_supply_is_called_a_short() -> None:
    """Supply and ground near zero in one position of the switch are a short, and said so."""
    found, hands = metered(supply_ground_out="joined")

    assert found.short
    assert any("shorts the supply" in said for said in hands.findings[MeterCheck].sentences)


def test_a_line_that_was_skipped_is_not_judged_and_has_its_reason() -> None:
    """What was not measured is no pass; the reason stands beside it."""
    found, hands = metered(signal_ground_in="skip")
    lines = {line.name: line for line in hands.findings[MeterCheck].lines}

    assert Verdict.NOT_JUDGED is found.verdict
    assert "no meter at hand" == lines["signal to ground, filament in"].reason
    assert 3 == len(hands.findings[MeterCheck].observations)


def test_a_value_is_held_against_the_limits() -> None:
    """Three ohms from signal to ground with filament in are a closed contact; three thousand are none."""
    good, _ = metered(signal_ground_in="value", ohm="3")
    bad, _ = metered(signal_ground_in="value", ohm="3000")

    assert (Verdict.PASS, Verdict.FAIL) == (good.verdict, bad.verdict)


def test_a_slip_is_measured_again_and_both_readings_stand_in_the_record() -> None:
    """One volt typed for three point three: the corrected reading counts, and the first one is still a line."""
    found, hands = metered(header_v=["1", "3.31"], again="again")
    lines = [line for line in hands.findings[MeterCheck].lines if line.name == "voltage of the header"]

    assert Verdict.PASS is found.verdict
    assert [("1 V", False), ("3.31 V", True)] == [(line.measured, line.stands) for line in lines]
    assert any("measured again" in said for said in hands.findings[MeterCheck].sentences)
    assert "meter.plug_in" in hands.asked


def test_a_contact_measured_again_is_weighed_once() -> None:
    """The probe slipped at the signal: the diagnosis is given the reading that counts, and no short is left behind."""
    found, hands = metered(supply_ground_in=["joined", "open"], again="again")

    assert Metered(Verdict.PASS, short=False) == found
    assert 4 == len(hands.findings[MeterCheck].observations)


def test_the_third_reading_stands() -> None:
    """Three readings that do not fit are no slip any more: it is not offered a fourth time."""
    found, hands = metered(header_v="24", again="again")

    assert Verdict.FAIL is found.verdict
    assert (3, 2) == (hands.asked.count("meter.header_v"), hands.asked.count("meter.again"))


def test_the_cable_is_freed_with_the_power_off_first() -> None:
    """Whether it was plugged in or not, it comes off the board at a power hold point before the first reading."""
    _, hands = metered()

    assert hands.asked.index("meter.unplug") < hands.asked.index("meter.supply_ground_in")


def test_after_a_failed_line_the_printer_is_closed_without_the_sensor() -> None:
    """The printer is not left open on USB: a hold point closes it, and the sensor stays off the board."""
    _, hands = metered(supply_ground_out="joined")

    assert "meter.leave_out" in hands.asked
    assert not hands.host.printer.plant.cable.plugged_at_board


def test_a_meter_check_that_is_broken_off_says_how_the_printer_was_left() -> None:
    """Stopped between the hold points the printer stands open, the sensor unplugged: an unsafe item with what to do."""

    def stops(key: str) -> object:
        if key == "meter.signal_ground_out":
            raise Interrupted(Interruption(InterruptionKind.OPERATOR_STOP))
        return RIGHT.get(key)

    hands = ScriptedHands("three-wire", stops)
    with pytest.raises(Interrupted):
        hands.carry_out(meter(installation()))

    item = hands.items[-1]
    assert (PunchClass.UNSAFE, "meter.unplug") == (item.grade, item.settled_by)
    assert "Leave the sensor unplugged." in item.cure
    assert "Close the cover" in item.cure


def test_without_a_meter_the_sensor_is_plugged_in_with_the_power_off() -> None:
    """Nobody knows then where its plug is: it is asked, and with a no the power is taken off for it."""
    hands = ScriptedHands("sound", answers({"sensor.plugged_in": False, "mechanical.now": False}))
    hands.answer_with(lambda key: False if key.endswith(".now") or key == "sensor.plugged_in" else None)
    hands.host.do("unplug", "board")
    hands.carry_out(prepare_wiring("filament"))

    assert "sensor.plug_in" in hands.asked
    assert hands.host.printer.plant.cable.plugged_at_board


def test_the_mechanical_sheet_comes_once_the_sensor_is_plugged_in() -> None:
    """It has the reading watched, so it is gone through behind the meter check, which plugs the sensor in."""
    wiring = {f"wiring.{name}": answer for name, answer in (THREE_WIRES | {"wires": "3", "pull-by": "board"}).items()}
    right = RIGHT | wiring | {"claims.now": False, "mechanical.drag": "declared"}
    hands = ScriptedHands("three-wire", answers(right))
    hands.carry_out(prepare_wiring("filament"))

    assert hands.asked.index("meter.plug_in") < hands.asked.index("mechanical.place")
    assert "sensor.plugged_in" not in hands.asked


def test_the_mechanical_sheet_has_every_line_of_the_trade() -> None:
    """Place, thinnest, softest, clearest and curled filament, rubbing, strain relief, distance to motors, and drag."""
    hands = ScriptedHands("sound", answers({"mechanical.drag": "declared"}))
    hands.carry_out(mechanical())
    names = [line.name for line in hands.findings[MechanicalCheck].lines]

    wanted = ["place", "thinnest", "softest", "clearest", "curled", "rubbing", "strain", "apart", "drag"]
    assert wanted == names
    assert [] == hands.items


def test_a_contact_is_not_asked_about_light() -> None:
    """Clear filament tells something of a light gate only: for a contact the line does not apply, with the reason."""
    hands = ScriptedHands("sound", answers({"mechanical.drag": "declared"}))
    hands.carry_out(mechanical(has_contact=True))
    lines = {line.name: line for line in hands.findings[MechanicalCheck].lines}

    assert "mechanical.clearest" not in hands.asked
    assert ("not applicable", A_CONTACT) == (lines["clearest"].mark, lines["clearest"].reason)


def test_a_line_not_done_has_a_reason_and_opens_an_item_with_its_cure() -> None:
    """Not done is recorded with why, and stays open with what to do; not applicable opens nothing."""
    given = {
        "mechanical.strain": "not_done",
        "mechanical.clearest": "not_applicable",
        "mechanical.reason": "no tie at hand",
        "mechanical.drag": "declared",
    }
    hands = ScriptedHands("sound", answers(given))
    hands.carry_out(mechanical())
    lines = {line.name: line for line in hands.findings[MechanicalCheck].lines}

    assert ("not done", "no tie at hand") == (lines["strain"].mark, lines["strain"].reason)
    assert "not applicable" == lines["clearest"].mark
    assert ["Tie the cable down"] == [item.cure[:18] for item in hands.items]


@pytest.mark.parametrize(
    ("drag_n", "soft", "verdict"),
    [
        (0.0, False, Verdict.PASS),
        (1.0, False, Verdict.PASS),
        (1.1, False, Verdict.CONDITIONAL),
        (2.0, False, Verdict.CONDITIONAL),
        (2.1, False, Verdict.FAIL),
        (0.5, True, Verdict.PASS),
        (0.6, True, Verdict.FAIL),
    ],
)
def test_drag_is_held_against_the_estimates_of_the_trade(drag_n: float, *, soft: bool, verdict: Verdict) -> None:
    """At most 1 N is the aim, 2 N the limit, 0.5 N the limit with soft filament (common practice, no source)."""
    _, drag = sheet()

    assert verdict is drag.judge(drag_n, soft=soft)[0]


def test_a_measured_drag_above_the_limit_opens_an_item() -> None:
    """Three newton, measured, are too much; the number is in the record."""
    given = {"mechanical.drag": "measured", "mechanical.soft": False, "mechanical.drag_n": "3"}
    hands = ScriptedHands("sound", answers(given))
    hands.carry_out(mechanical())

    assert 3.0 == hands.findings[MechanicalCheck].drag_in_newton
    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]


def test_what_does_not_apply_is_named() -> None:
    """A line that does not apply is not one that was forgotten: it is named beside the count."""
    hands = ScriptedHands("sound", answers({"mechanical.clearest": "not_applicable", "mechanical.drag": "declared"}))
    hands.carry_out(mechanical("filament"))

    assert (
        "Mechanical sheet: 8 of 9 lines done, not applicable: clearest."
        == (hands.findings[MechanicalCheck].sentences[0])
    )


def test_a_slip_on_the_input_checklist_can_be_put_right() -> None:
    """What was noted is shown; answered again, only the second list stands and is an open item."""
    picks = iter(["driver-stall-output", "buzzer"])
    stands = iter(["again", "keep"])
    hands = ScriptedHands("sound")

    def answer(key: str) -> str | None:
        return {"claims.also": lambda: next(picks), "claims.stands": lambda: next(stands)}.get(
            key, lambda: "X-MAX" if key == "claims.name" else None
        )()

    hands.answer_with(answer)
    hands.carry_out(input_claims({}))

    assert ("buzzer",) == hands.findings[InputClaims].claims
    assert ["buzzer" in item.text for item in hands.items] == [True]


def test_claims_are_listed_in_one_answer_and_each_is_an_open_item() -> None:
    """Two claims on the input are two open items with their cures, and both are in the record."""
    hands = ScriptedHands("sound", answers({"claims.name": "X-MAX", "claims.also": "buzzer,high-voltage-header"}))
    hands.carry_out(input_claims(THREE_WIRES))

    assert ["claims.also", "claims.stands"] == [key for key in hands.asked if key.startswith("claims.")][-2:]
    assert {PunchClass.UNSAFE, PunchClass.INCOMPLETE} == {item.grade for item in hands.items}
    assert ("high-voltage-header", "buzzer") == hands.findings[InputClaims].claims
    assert (Pull.UP, Level.HIGH) == (hands.findings[InputClaims].pull, hands.findings[InputClaims].absent)


def test_header_and_pin_are_corrected_after_their_sheet_is_closed() -> None:
    """The next question shows them and takes a slip as its answer; the finding has what is right."""
    names, pins, also = iter(["X-MIN", "X-MAX"]), iter(["41", ""]), iter(["correct", "none"])
    hands = ScriptedHands("sound")
    given = {"claims.name": names, "claims.pin": pins, "claims.also": also}
    hands.answer_with(lambda key: next(given[key]) if key in given else None)
    note = hands.carry_out(input_claims({}))

    assert ("X-MAX", "") == (note.name_on_board, note.pin)
    assert ["claims.name", "claims.pin", "claims.also"] * 2 == [key for key in hands.asked if key in given]
    assert [] == hands.sent
    assert "X-MAX" == hands.findings[InputClaims].name_on_board


def test_what_is_not_known_beside_a_claim_stays_open() -> None:
    """A list may end in not knowing: the claim and the gap are an item each, and a list given up leaves none."""
    also, stands = iter(["buzzer,unknown", "buzzer,unknown"]), iter(["again", "keep"])
    hands = ScriptedHands("sound")
    given = {"claims.name": iter(["X-MAX"]), "claims.pin": iter([""]), "claims.also": also, "claims.stands": stands}
    hands.answer_with(lambda key: next(given[key]) if key in given else None)
    hands.carry_out(input_claims({}))

    assert 1 == sum("not found out what else" in item.text for item in hands.items)
    assert 1 == sum("buzzer" in item.text for item in hands.items)


def test_a_sensor_is_taken_off_an_unsafe_input() -> None:
    """A header with 12 or 24 V ends the preparation: the sensor is unplugged, and no meter or sheet comes after it."""
    picks = {"claims.name": "X-MAX", "claims.also": "high-voltage-header", "wiring.now": False}
    hands = ScriptedHands("sound", {"wiring.skip_reason": "known", **picks}.get)
    hands.host.do("plug")
    prepared = hands.carry_out(prepare_wiring("filament"))

    assert prepared.forbidden
    assert not hands.host.printer.plant.cable.plugged_at_board
    assert {"meter.now", "mechanical.now"}.isdisjoint(hands.asked)


def test_one_pin_is_read_by_release_and_its_second_user_shown() -> None:
    """The unit whose header shares its line names both users in its report: the second is an open item."""
    hands = ScriptedHands("input-driven", answers({"claims.name": "X-MAX", "claims.pin": "42"}))
    note = hands.carry_out(input_claims({}))

    assert "E0_STALL_PIN" == note.second_name
    assert ["M43 P42"] == hands.sent
    assert any("E0_STALL_PIN" in item.text for item in hands.items)


@pytest.mark.parametrize(("pin", "granted"), [("42", False), ("the third one", True), ("", True)])
def test_no_pin_is_read_without_a_release_and_a_pin(pin: str, *, granted: bool) -> None:
    """Without the release, or without the name of one pin, nothing is asked of the printer."""
    given = {"claims.name": "X-MAX", "claims.pin": pin, "claims.pin_report": granted}
    hands = ScriptedHands("input-driven", answers(given))
    hands.carry_out(input_claims({}))

    assert [] == hands.sent


def test_a_printer_without_pin_reports_leaves_the_question_open() -> None:
    """A firmware that does not know the report says nothing of the pin, and that is what the record says."""
    hands = ScriptedHands("sound", answers({"claims.name": "X-MAX", "claims.pin": "42"}))
    note = hands.carry_out(input_claims({}))

    assert "" == note.second_name
    assert "gave no report" in hands.findings[PinReported].sentences[0]


def test_not_knowing_what_else_is_there_is_an_open_item() -> None:
    """Silence about the input is no clean sheet."""
    hands = ScriptedHands("sound", answers({"claims.name": "X-MAX", "claims.also": "unknown"}))
    hands.carry_out(input_claims({}))

    assert [PunchClass.INCOMPLETE] == [item.grade for item in hands.items]


def test_a_board_that_goes_down_while_the_lever_is_tried_is_a_suspected_short() -> None:
    """The mechanical sheet has the filament moved: a board lost meanwhile ends it with the words for a short."""
    hands = ScriptedHands("sound")

    def answer(key: str) -> object:
        if key == "mechanical.thinnest":
            raise Interrupted(Interruption(InterruptionKind.BOARD_RESTARTED))
        return key == "mechanical.now" if key.endswith(".now") else None

    hands.answer_with(answer)
    with pytest.raises(Interrupted):
        hands.carry_out(prepare_wiring("filament"))

    assert [PunchClass.UNSAFE] == [item.grade for item in hands.items if "Suspected supply short" in item.text]
