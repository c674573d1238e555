"""The whole loop check on simulated units: the second wiggle, the start-up reading, and what is kept of it."""

import pytest

from commission.asking.phase import Progress, Voiding
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, establish
from commission.evidence.findings import loop
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.loop import MovingWiggleLeftOut, StartUp
from commission.evidence.findings.wiring import PredictedAndMeasured
from commission.jobs.wiring_share import explained, follow_up, prepare_wiring
from commission.judge.plan import Plan
from commission.procedure.cause.predicted import NOT_AS_DECLARED
from commission.procedure.loop.loop_check import LoopChecked, loop_check
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.vocabulary import FailSafe, Presence, PunchClass, Reading, SwitchBehaviour, Verdict
from tests.procedure.unit_hands import ScriptedHands

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


SHORTED: dict[str, object] = {
    **{f"wiring.{name}": answer for name, answer in TWO_WIRES.items() if name != "to"},
    "wiring.wires": "2",
    "claims.name": "RUNOUT",
    "claims.also": "none",
    "meter.reason": "not reached",
    "meter.signal_ground_in": "open",
    "meter.signal_ground_out": "joined",
}
"""A wiring that is declared as it should be, and a meter that reads it the wrong way round."""


def checked(unit: str, how: str = "no", **others: object) -> tuple[LoopChecked, ScriptedHands]:
    """A loop check on this unit; `how` is what the second wiggle runs."""
    hands = ScriptedHands(unit, lambda key: how if key == "moving.how" else others.get(key.replace(".", "_")))
    return hands.carry_out(loop_check(PLAN, SWITCH)), hands


@pytest.mark.parametrize(
    ("unit", "behaviour", "fail_safe"),
    [
        ("sound", SwitchBehaviour.DIRECT, FailSafe.SAFE),
        ("three-wire", SwitchBehaviour.DIRECT, FailSafe.SAFE),
        ("three-wire-no-supply", SwitchBehaviour.DIRECT, FailSafe.SAFE),
        ("optical", SwitchBehaviour.DIRECT, FailSafe.SAFE),
        ("two-errors-cancel", SwitchBehaviour.DIRECT, FailSafe.DANGER),
        ("inverted-by-contact", SwitchBehaviour.INVERTED, FailSafe.SAFE),
        ("inverted-right-contact", SwitchBehaviour.INVERTED, FailSafe.DANGER),
        ("thin-filament", SwitchBehaviour.STUCK_INACTIVE, FailSafe.SAFE),
        ("optical-dirty", SwitchBehaviour.STUCK_INACTIVE, FailSafe.SAFE),
        ("three-wire-no-ground", SwitchBehaviour.STUCK_INACTIVE, FailSafe.SAFE),
        ("cable-chafed", SwitchBehaviour.STUCK_ACTIVE, FailSafe.SAFE),
        ("input-driven", SwitchBehaviour.STUCK_ACTIVE, FailSafe.DANGER),
    ],
)
def test_polarity_and_rest_of_each_unit(unit: str, behaviour: SwitchBehaviour, fail_safe: FailSafe) -> None:
    """Polarity and fail-safe finding are what the unit's own file works out from its wiring."""
    found, _ = checked(unit)

    assert (behaviour, fail_safe) == (found.behaviour, found.fail_safe)


@pytest.mark.parametrize("unit", ["floating", "floating-sticks", "pull-missing", "two-errors-cancel", "input-driven"])
@pytest.mark.parametrize("seed", range(5))
def test_what_does_not_read_steadily_out_unplugged_never_passes(unit: str, seed: int) -> None:
    """Whatever it reads with filament in and out, by whatever chance of the power-up, there is no pass for it."""
    hands = ScriptedHands(unit, lambda key: "no" if key == "moving.how" else None, seed=seed)
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    assert found.acceptance.verdict not in (Verdict.PASS, Verdict.CONDITIONAL)


def test_the_start_up_reading_is_taken_after_the_power_cycle() -> None:
    """Plugged in again, with the filament as it was left, the sound unit reads in at start-up as before."""
    _, hands = checked("sound")

    assert hands.asked.index("unplug.reconnect") < hands.asked.index("start_up")
    start = hands.findings[StartUp]
    assert (Presence.IN, Reading.ACTIVE, Reading.ACTIVE) == (start.presence, start.reading, start.expected)


def test_a_start_up_that_reads_otherwise_is_an_open_item() -> None:
    """A wire that breaks while the sensor is plugged in again shows at start-up, and stays open."""
    hands = ScriptedHands("sound")

    def answer(key: str) -> str | None:
        if key == "start_up":
            hands.host.do("break-wire", "signal")
        return "no" if key == "moving.how" else None

    hands.before_watch = answer
    hands.answer_with(answer)
    hands.carry_out(loop_check(PLAN, SWITCH))

    assert Reading.INACTIVE is hands.findings[StartUp].reading
    assert any("After the power cycle" in item.text for item in hands.items)


def test_everything_that_was_read_is_kept_for_a_diagnosis() -> None:
    """Each standing trial, the wiggle and all unplugged power-ups are kept, each power-up under its own number."""
    _, hands = checked("sound")
    kept = hands.carry_out(seen_before())

    assert {0, 1, 2, 3} == {one.power_up for one in kept}
    assert [("unplugged at the sensor", 3)] == [(one.test, one.power_up) for one in kept if "sensor" in one.test]
    assert 1 == sum(one.test == "cable and plugs worked by hand, filament in" for one in kept)
    assert 12 <= sum(one.test.startswith("filament") for one in kept)


def test_a_board_that_goes_down_is_kept_as_a_restart_and_weighed_at_once() -> None:
    """The short ends the loop check; the restart is kept, and with a declared wiring the diagnosis stands beside it."""
    hands = ScriptedHands("supply-short")
    wired = {"sensor": "switch", "common": "signal", "no-side": "ground", "nc-side": "supply"}
    answers = wired | {"pull": "up", "absent": "high"}
    hands.carry_out(_declare(answers))

    with pytest.raises(Interrupted):
        hands.carry_out(explained(loop_check(PLAN, SWITCH)))

    assert [True] == [one.restarted for one in hands.findings[loop.TestsDone].observations]
    assert ("exchanged",) == hands.findings[Diagnosis].classes[0].members
    assert PunchClass.UNSAFE in {item.grade for item in hands.items}


def test_trials_outlast_a_link_that_is_lost_in_the_unplug_test() -> None:
    """What was read before the power went off is kept for a diagnosis, though the phase came to no end."""
    hands = ScriptedHands("thin-filament")

    def lose(key: str) -> None:
        if key == "unplugged.1":
            hands.host.do("usb", "out")
            hands.host.do("mains", "off")

    hands.before_watch = lose
    with pytest.raises(Interrupted):
        hands.carry_out(loop_check(PLAN, SWITCH))

    kept = hands.carry_out(seen_before())
    assert {"filament in", "filament out"} == {one.test for one in kept}
    assert 12 <= len(kept)


def _declare(answers: dict[str, str]) -> Steps[None]:
    yield from establish(wiring_found(assessed(answers)))


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("motors", {"G91", "G1", "G90"}),
        ("fan", {"G91", "G1", "G90", "M106", "M107"}),
        ("heat", {"G91", "G1", "G90", "M106", "M107", "M104", "M140"}),
    ],
)
def test_only_what_was_released_runs_in_the_second_wiggle(how: str, words: set[str]) -> None:
    """Motors alone, the fan too, or the hotend as well: nothing else goes out, and the absolute mode comes back."""
    found, hands = checked("sound", how)

    assert words == {text.split()[0] for text in hands.sent}
    assert "steadiness while the machine moves" in {criterion.name for criterion in found.acceptance.criteria}


def test_the_hotend_is_off_again_after_the_second_wiggle() -> None:
    """The heater's last word is off, and the target reads zero."""
    _, hands = checked("sound", "heat")

    assert "M104 S0" == [text for text in hands.sent if text.startswith("M104")][-1]
    assert 0 == hands.host.printer.state()["targets_c"]["hotend"]  # type: ignore[index]


@pytest.mark.parametrize(("unit", "verdict"), [("sound", Verdict.PASS), ("motor-noise", Verdict.FAIL)])
def test_only_the_hands_off_wiggle_catches_what_motors_do(unit: str, verdict: Verdict) -> None:
    """By hand both are clean; with the machine moving the disturbed one changes and the sound one does not."""
    found, _ = checked(unit, "motors")

    verdicts = {criterion.name: criterion.verdict for criterion in found.acceptance.criteria}
    assert verdict is verdicts["steadiness while the machine moves"]
    assert Verdict.CONDITIONAL is verdicts["wiggle"]
    assert Verdict.FAIL not in {each for name, each in verdicts.items() if name != "steadiness while the machine moves"}


@pytest.mark.parametrize("refused", ["moving_how", "moving_release"])
def test_nothing_moves_without_a_release(refused: str) -> None:
    """Left out, or not released, no command goes out, and the record says that it was not done."""
    _, hands = checked("sound", "no" if refused == "moving_how" else "motors", **{refused: False})

    assert [] == hands.sent
    assert MovingWiggleLeftOut in hands.findings


def test_measured_agrees_with_predicted_on_a_sound_unit_and_not_on_a_swapped_one() -> None:
    """Declared alike, the sound unit reads as predicted in every state, the one with the other contact does not."""
    agree, told = {}, {}
    for unit in ("sound", "inverted-by-contact"):
        found, hands = checked(unit)
        hands.carry_out(_declare(TWO_WIRES))
        hands.answer_with({"diagnose.now": False}.get)
        hands.carry_out(follow_up(found, PLAN, SWITCH))
        agree[unit] = [row.agrees for row in hands.findings[PredictedAndMeasured].rows]
        told[unit] = hands.briefly[PredictedAndMeasured]

    assert {"sound": [True] * 4, "inverted-by-contact": [False, False, True, True]} == agree
    assert 1 == len(told["sound"])
    assert 3 == len(told["inverted-by-contact"])
    assert all(": NOT as predicted." in said for said in told["inverted-by-contact"][:2]), "told whole, and first"


def test_a_failed_check_leads_to_the_diagnosis_and_a_clean_one_does_not() -> None:
    """After a fail the cause is looked for, beginning from the trials; after a clean check nobody is asked."""
    asked = {}
    for unit in ("sound", "cable-chafed"):
        found, hands = checked(unit)
        hands.carry_out(_declare(TWO_WIRES))
        hands.answer_with(lambda _key: None)
        hands.carry_out(follow_up(found, PLAN, SWITCH))
        asked[unit] = "diagnose.now" in hands.asked

    assert {"sound": False, "cable-chafed": True} == asked
    assert ("signal-to-ground",) == hands.findings[Diagnosis].classes[0].members
    cause, differs = hands.items[-2:]
    assert cause.text.startswith("Diagnosis: ")
    assert (NOT_AS_DECLARED, cause.cure) == (differs.text, differs.cure), "no diagnosis is advised after it was done"


def test_every_phase_may_be_left_out_with_a_reason() -> None:
    """Four offers, four refusals, four reasons on record; nothing is forbidden by what was not looked at."""
    reasons = {f"{name}.skip_reason": f"no time for {name}" for name in ("wiring", "claims", "mechanical", "meter")}
    hands = ScriptedHands("sound", lambda key: False if key.endswith(".now") else reasons.get(key))
    prepared = hands.carry_out(prepare_wiring(SWITCH))

    assert not prepared.forbidden
    assert ["wiring.now", "claims.now", "mechanical.now"] == [key for key in hands.asked if key.endswith(".now")]


def test_what_stands_of_a_broken_off_run_is_not_offered_again() -> None:
    """Taken up again with the wiring untouched, no phase is asked for; a failed meter check still forbids."""
    hands = ScriptedHands("sound", SHORTED.get)
    assert hands.carry_out(prepare_wiring(SWITCH)).forbidden
    hands.asked.clear()
    hands.answer_with(lambda key: pytest.fail(f"{key} was asked"))
    prepared = hands.carry_out(prepare_wiring(SWITCH, Progress(hands.remembered.done)))

    assert ("wiring", "input_claims", "meter_check") == hands.remembered.done
    assert prepared.forbidden


def test_a_wiring_that_was_touched_is_offered_again() -> None:
    """Taken up again after somebody worked on the wires, what was declared and measured before counts no more."""
    hands = ScriptedHands("sound", lambda key: False if key.endswith(".now") else None)
    hands.carry_out(prepare_wiring(SWITCH, Progress(("wiring", "meter_check"), frozenset({Voiding.WIRING}))))

    assert "wiring.now" in hands.asked
