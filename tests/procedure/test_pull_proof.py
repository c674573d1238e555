"""The proof of the pull, carried out on simulated units by hands that lay resistors and read meters."""

from dataclasses import replace
from datetime import date
from random import Random
from typing import Any

import pytest

from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.pull import PullProof, PullProofBy
from commission.evidence.findings.wiring import Wiring, WiringAssessed
from commission.jobs.check import periodic_check
from commission.judge.condition import Measured
from commission.judge.evidence import PullResult
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.loop.pull_items import CURE_PULL, CURE_WEAK, PULL_NOT_PROVEN, pull_still_open
from commission.procedure.loop.pull_proof import proven_pull
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.wiring.declaration import assessed
from commission.vocabulary import PullConclusion, PunchClass, Reading, Verdict
from commission.wiring.installation import Terminal
from tests.procedure.unit_hands import LAID, ScriptedHands
from tests.support.fake_workshop import FakeWorkshop, Unit

SWITCH = "filament"
PLAN = Plan(seed=20)
IN, OUT = Reading.ACTIVE, Reading.INACTIVE
PROVEN, WEAK, NOT_FITTED, NOT_JUDGED = PullConclusion
LEFT_OUT = PullProofBy.LEFT_OUT


def hands_at(unit: str, **answers: Any) -> ScriptedHands:
    """An operator at a unit; `answers` by key, with __ for each dot; by resistors, and a plug at one end only."""
    usual = {"far_end.now": False, "moving.how": "no", "pull.meter.now": False}
    given = usual | {key.replace("__", "."): each for key, each in answers.items()}
    return ScriptedHands(unit, given.get)


def proof(hands: ScriptedHands) -> PullResult | None:
    """The proof with the sensor unplugged, as in the unplug test."""
    hands.host.do("unplug", "board")
    return hands.carry_out(proven_pull(PLAN, SWITCH))


def conclusion(hands: ScriptedHands) -> PullConclusion | None:
    """What the proof comes to."""
    result = proof(hands)
    return None if result is None else result.conclusion


def test_a_sound_unit_passes_with_its_pull_proven() -> None:
    """Nothing, 1 kΩ, 220 kΩ, 1 kΩ: the reading changes with the small one alone, and the whole check is a pass."""
    hands = hands_at("sound")
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    kept = hands.findings[PullProof]
    read = (kept.free, kept.small, kept.large, kept.small_again, kept.large_again)
    assert (OUT, IN, OUT, IN, None) == read
    assert (PullProofBy.RESISTORS, PROVEN, Terminal.GROUND) == (kept.how, kept.conclusion, kept.to)
    assert Verdict.PASS is found.acceptance.verdict
    assert [] == hands.items


@pytest.mark.parametrize(("how", "on_word"), [("resistors", True), ("volts", False), ("meter", False)])
def test_what_rests_on_the_operators_word_is_said(how: str, *, on_word: bool) -> None:
    """Readings do not tell 220 kΩ from open leads, with a sound pull; a voltage or a current does."""
    measured = {"pull__small__volts": "0.1", "pull__large__volts": "2.9", "pull__small_again__volts": "0.1"}
    hands = hands_at("sound", pull__how=how, pull__current="90", **measured)
    result = proof(hands)

    assert result is not None
    assert result.proven
    assert on_word is ("rests on the operator's word" in result.sentence)
    assert on_word is ("rests on the operator's word" in " ".join(hands.findings[PullProof].sentences))


@pytest.mark.parametrize("unit", ["three-wire-unheld", "pull-weak"])
def test_an_input_that_nothing_holds_fails_the_proof_alone(unit: str) -> None:
    """It reads right plugged in and unplugged; 220 kΩ, laid twice, turns it: a fail, class A, and its cure."""
    hands = hands_at(unit)
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    failed = [each.name for each in found.acceptance.criteria if each.verdict is Verdict.FAIL]
    assert ["pull"] == failed
    assert Verdict.FAIL is found.acceptance.verdict
    assert [(PunchClass.UNSAFE, CURE_WEAK)] == [(item.grade, item.cure) for item in hands.items]
    assert 1 == hands.asked.count("pull.large_again")


@pytest.mark.parametrize("how", ["resistors", "meter", "volts"])
def test_without_a_proof_it_is_conditional_and_an_item(how: str) -> None:
    """Left out, or begun and not carried through: why, in one sentence, a B item, and no full pass."""
    answers: dict[str, Any] = {"resistors": {"pull__how": "left_out"}}.get(how, {"pull__how": how})
    hands = hands_at("sound", **answers)
    found = hands.carry_out(loop_check(PLAN, SWITCH))

    pull = next(each for each in found.acceptance.criteria if each.name == "pull")
    assert (Verdict.CONDITIONAL, 1) == (found.acceptance.verdict, pull.observed.count("."))
    assert [(PunchClass.INCOMPLETE, PULL_NOT_PROVEN, CURE_PULL)] == [
        (item.grade, item.text, item.cure) for item in hands.items
    ]
    assert (LEFT_OUT, None) == (hands.findings[PullProof].how, hands.findings[PullProof].conclusion)


def test_leads_that_touch_nothing_are_looked_for_three_times() -> None:
    """1 kΩ that changes nothing was not fitted: said each time, and the result is no proof and no fail."""
    hands = hands_at("sound")
    hands.laid = {}

    assert NOT_FITTED is conclusion(hands)
    assert 3 == hands.asked.count("pull.clips")
    assert 2 == hands.told.count("Nothing was fitted")
    assert "pull.lay.large" not in hands.asked


def test_leads_found_at_the_second_try_prove_the_pull() -> None:
    """Clipped to another header first: looked for again with the power off, and proven."""
    hands = hands_at("sound")
    hands.laid = {}

    def found(key: str) -> None:
        if key == "pull.clips" and hands.asked.count(key) == 2:
            hands.laid = dict(LAID)

    hands.before_hold = found

    assert PROVEN is conclusion(hands)
    assert 2 == hands.asked.count("pull.clips")


def test_the_small_resistor_left_on_is_no_weak_pull() -> None:
    """Who forgets to change it once is asked to look: the two looks differ, and it is not judged, which is no fail."""
    hands = hands_at("sound")
    hands.laid["pull.lay.large"] = []

    assert NOT_JUDGED is conclusion(hands)
    assert (IN, OUT) == (hands.findings[PullProof].large, hands.findings[PullProof].large_again)


def test_leads_that_let_go_under_the_large_resistor_prove_nothing() -> None:
    """1 kΩ once more must change it again: else 220 kΩ may have touched nothing."""
    hands = hands_at("three-wire-unheld")
    hands.laid["pull.lay.large"] = hands.laid["pull.lay.small_again"] = [("take-away",)]

    assert NOT_JUDGED is conclusion(hands)


@pytest.mark.parametrize(
    ("microampere", "expected"), [("83", PROVEN), ("16", PROVEN), ("12", WEAK), ("3300", NOT_JUDGED)]
)
def test_a_meter_proves_the_pull_as_well(microampere: str, expected: PullConclusion) -> None:
    """From 15 µA through 1 kΩ; the supply by mistake gives far more than any pull."""
    hands = hands_at("sound", pull__how="meter", pull__current=microampere)

    assert expected is conclusion(hands)
    assert float(microampere) == pytest.approx(1e6 * (hands.findings[PullProof].current_a or 0.0))
    assert "pull.free" not in hands.asked


def test_a_large_sound_pull_is_proven_by_the_meter() -> None:
    """A pull of 150 kΩ gives way to 220 kΩ; asked for, 21.9 µA through 1 kΩ prove it (3.3 V / 151 kΩ)."""
    hands = hands_at("pull-weak", pull__meter__now=True, pull__current="21.9")

    assert PROVEN is conclusion(hands)
    assert PullProofBy.METER is hands.findings[PullProof].how


@pytest.mark.parametrize(("large", "expected"), [("2.9", PROVEN), ("1.2", WEAK)])
def test_voltages_prove_the_pull_as_well(large: str, expected: PullConclusion) -> None:
    """Across 1 kΩ next to nothing, across 220 kΩ most of the logic voltage."""
    volts = {"pull__small__volts": "0.08", "pull__large__volts": large, "pull__small_again__volts": "0.08"}
    hands = hands_at("sound", pull__how="volts", **volts)

    assert expected is conclusion(hands)
    assert (0.08, float(large)) == (hands.findings[PullProof].small_v, hands.findings[PullProof].large_v)


def declared(hands: ScriptedHands, **words: str) -> None:
    """The wiring as this run has it on record."""
    usual = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "logic": "3.3", "supply": "3.3"}
    answers = usual | {key.replace("_", "-"): word for key, word in words.items()}
    assessment = WiringAssessed.of(assessed(answers).assessment)
    hands.findings.keep(Wiring(sentences=(), answers=answers, assessment=assessment, margins=(), assumptions=()))


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"pull": "none"}, "none to prove"),
        ({"pull": "up", "pull_by": "module"}, "goes away with the plug"),
        ({"pull": "down", "to": "supply", "supply": "24"}, "24 V: no resistor goes there"),
        ({"pull": "down", "to": "supply", "logic": "5", "supply": "5"}, "5 V: no resistor goes there"),
    ],
)
def test_what_cannot_be_proven_safely_is_left_out_with_the_reason(words: dict[str, str], why: str) -> None:
    """Nothing is clipped on where there is no pull at the board, or no terminal but one of 5 or 24 V."""
    hands = hands_at("sound")
    declared(hands, **words)

    assert proof(hands) is None
    assert why in hands.findings[PullProof].sentences[0]
    assert "pull.clips" not in hands.asked


@pytest.mark.parametrize(
    ("measured", "why"),
    [("24", "24 V: no resistor"), ("5", "5 V: no resistor"), ("0.2", "is not the logic supply"), ("", "not measured")],
)
def test_the_supply_is_measured_before_a_resistor_goes_to_it(measured: str, why: str) -> None:
    """Against a pull-down, whatever was declared: a supply that is not the input's own ends the proof unlaid."""
    hands = hands_at("sound", pull__supply=measured)
    declared(hands, pull="down", to="supply")

    assert proof(hands) is None
    assert why in hands.findings[PullProof].sentences[0]
    assert [] == [key for key in hands.asked if key.startswith(("pull.lay", "pull.free"))]


def test_a_good_supply_is_what_the_resistor_goes_to() -> None:
    """3.3 V measured: the proof goes on, against the pull-down, with a third lead for the meter."""
    hands = hands_at("sound", pull__supply="3.3")
    declared(hands, pull="down", to="supply")
    proof(hands)

    assert Terminal.SUPPLY is hands.findings[PullProof].to
    assert any("third lead" in step for step in hands.held["pull.clips"][0].steps)
    assert "pull.lay.small" in hands.asked


def test_a_wiring_that_is_not_on_record_is_asked_for() -> None:
    """The way the pull goes and the logic voltage are enough; who does not know them leaves the proof out."""
    knows, not_known = hands_at("sound"), hands_at("sound", pull__direction="none")

    assert PROVEN is conclusion(knows)
    assert ["pull.direction", "pull.logic", "pull.how"] == [key for key in knows.asked if key][:3]
    assert conclusion(not_known) is None


def test_the_hold_point_says_what_is_dangerous() -> None:
    """Never a 5 V or 24 V pin; hands with everything out; mains only behind the cover and by the competent."""
    hands = hands_at("sound")
    proof(hands)
    said = " ".join((*hands.held["pull.clips"][0].cautions, *hands.held["pull.clips"][0].steps))

    for words in ("never to a pin of 5 V or 24 V", "mains and USB both out", "Plug only the USB cable in", "competent"):
        assert words in said
    assert "[ 1 kΩ ]  then  [ 220 kΩ ]" in " ".join(hands.lines)


@pytest.mark.parametrize(("before", "items"), [(None, 1), (LEFT_OUT, 1), (WEAK, 1), (PROVEN, 0)])
def test_the_item_is_carried_until_the_pull_is_proven(before: Any, items: int) -> None:
    """A pass of earlier rules has no proof: the next check gains the item, class B; so it does after one left out."""
    hands = hands_at("sound")
    if before is not None:
        how, found = (LEFT_OUT, None) if before is LEFT_OUT else (PullProofBy.RESISTORS, before)
        hands.earlier.keep(PullProof(sentences=(), how=how, conclusion=found))
    hands.carry_out(pull_still_open())

    assert [(PunchClass.INCOMPLETE, PULL_NOT_PROVEN)] * items == [(item.grade, item.text) for item in hands.items]


HERE = Surroundings("bench-3", PortIdentity("", "", "", "memory"))
BRIEF = Subject(
    HERE,
    "R. Okafor",
    date(2031, 3, 14),
    Plan(seed=20, cycles=6, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10),
    history=(Measured("2030-03-14"),),
    steady_s=1.0,
)


def checked(subject: Subject, **answers: Any) -> FakeWorkshop:
    """A periodic check of a sound sensor, with every question answered with yes but for these."""
    given = {"far_end.now": False, "sensor.plugged_in": True} | {
        key.replace("__", "."): each for key, each in answers.items()
    }
    workshop = FakeWorkshop(Random(1), Unit(), given, yes=1.0)  # noqa: S311 - repeatable, not secret
    assert workshop.carry_out(periodic_check(subject)) is not None
    return workshop


def items(workshop: FakeWorkshop) -> list[tuple[PunchClass, str]]:
    """The open items on the pull."""
    return [(item.grade, item.cure) for item in workshop.items if item.text == PULL_NOT_PROVEN]


@pytest.mark.parametrize("unattended", [False, True])
def test_a_check_without_the_unplug_test_carries_the_item(unattended: bool) -> None:
    """Brief or unattended, after a pass that proved no pull: a B item, and the pull is no part of its verdict."""
    workshop = checked(replace(BRIEF, unattended=unattended))
    names = [criterion.name for criterion in workshop.findings[CheckJudged].criteria]

    assert [(PunchClass.INCOMPLETE, CURE_PULL)] == items(workshop)
    assert "pull" not in names
    assert [] == items(checked(replace(BRIEF, history=())))


def test_a_full_check_offers_the_proof_and_judges_it() -> None:
    """Left out there it is conditional, with the item once; the question comes after the power-ups."""
    workshop = checked(replace(BRIEF, full=True), pull__how="left_out", pull__direction="up", pull__logic="3.3")
    pull = [each for each in workshop.findings[CheckJudged].criteria if each.name == "pull"]

    assert [Verdict.CONDITIONAL] == [each.verdict for each in pull]
    assert [(PunchClass.INCOMPLETE, CURE_PULL)] == items(workshop)
    assert workshop.asked.index("unplugged.2") < workshop.asked.index("pull.how")
