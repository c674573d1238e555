"""A wiggle counts only where the filament was in: that is looked at first, and asked where readings differ."""

from collections.abc import Callable
from typing import Any

import pytest

from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.loop import Wiggle, WiggleLeftOut, WiggleMisread, WiggleSetAside
from commission.judge.plan import Plan
from commission.procedure.cause.diagnose import diagnose
from commission.procedure.loop.loop_check import LoopChecked, loop_check
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.loop.wiggle import wiggle_by_hand
from commission.procedure.wiring.declaration import assessed
from commission.vocabulary import Reading, Verdict
from tests.procedure.unit_hands import ScriptedHands

SWITCH = "filament"
PLAN = Plan(seed=20, cycles=6, wiggle_s=20, wiggle_readings=200)
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
WORKED = "cable and plugs worked by hand, filament in"


def hands_with(answers: dict[str, Any], **deeds: list[tuple[str, ...]]) -> ScriptedHands:
    """An operator at a sound unit whose filament is out; `deeds` by the key of a watch, with _ for each dot."""
    given = {"moving.how": "no", "far_end.now": False} | answers
    hands = ScriptedHands("sound", lambda key: _used_up(given.get(key)))
    hands.deeds |= {key.replace("__", "."): each for key, each in deeds.items()}
    return hands


def _used_up(answer: Any) -> Any:
    return answer.pop(0) if isinstance(answer, list) else answer


def checked(hands: ScriptedHands) -> LoopChecked:
    """The loop check; its wiggle begins after the last trial, which leaves the filament out."""
    return hands.carry_out(loop_check(PLAN, SWITCH))


def puts_in(hands: ScriptedHands, at: str) -> Callable[[str], None]:
    """Push the filament in when this question comes."""

    def look(key: str) -> None:
        if key == "wiggle.before" and at in hands.asked:
            hands.host.do("insert")

    return look


def test_filament_that_was_forgotten_is_asked_for_before_anything_counts() -> None:
    """Begun with filament out, the wiggle waits until it is in, and then it is clean."""
    hands = hands_with({"wiggle.presence": "again"}, wiggle__before=[], wiggle=[("shake", "20")])
    hands.before_watch = puts_in(hands, "wiggle.put_in")
    found = checked(hands)

    assert 2 == hands.asked.count("wiggle.before")
    assert 1 == hands.asked.count("wiggle")
    assert (0, 0) == (hands.findings[Wiggle].changes, hands.findings[Wiggle].misreads)
    (said,) = hands.briefly[Wiggle]
    assert said.startswith("0 unwanted changes in 20.0 s, ")
    assert said in hands.findings[Wiggle].sentences, "the record has the shortest glitch too"
    assert Verdict.CONDITIONAL is found.acceptance.verdict


def test_filament_that_is_never_put_in_leaves_the_wiggle_out_with_a_reason() -> None:
    """After three looks that read out the wiggle is left out: not judged, no misread, and no evidence of the cable."""
    hands = hands_with({"wiggle.presence": ["again", "again", "leave"], "wiggle.reason": "nothing to insert"})
    hands.deeds["wiggle.before"] = []
    found = checked(hands)

    assert 3 == hands.asked.count("wiggle.before")
    assert "wiggle" not in hands.asked
    assert "nothing to insert" == hands.findings[WiggleLeftOut].reason
    assert Verdict.NOT_JUDGED is found.acceptance.verdict
    assert [] == [one for one in hands.carry_out(seen_before()) if one.test == WORKED]


def test_at_the_last_look_it_cannot_be_put_in_once_more() -> None:
    """The tries are bounded: the third time only two answers are offered."""
    steps = wiggle_by_hand(PLAN, SWITCH)
    hands = hands_with({"wiggle.presence": ["again", "again", "in"]})
    hands.deeds["wiggle.before"] = []
    taken = hands.carry_out(steps)

    assert taken is not None
    assert {Reading.INACTIVE} == {reading.reading for reading in taken.readings}
    assert WiggleMisread in hands.findings


def test_filament_that_is_in_and_reads_out_is_a_misread_and_no_loose_connection() -> None:
    """Where the operator says it is in, the check fails; the diagnosis is told of filament in, not of the cable."""
    hands = hands_with({"wiggle.presence": "in"})
    hands.deeds["wiggle.before"] = []
    found = checked(hands)

    wiggle = next(criterion for criterion in found.acceptance.criteria if criterion.name == "wiggle")
    kept = hands.carry_out(seen_before())
    assert Verdict.FAIL is wiggle.verdict
    assert [] == [one for one in kept if one.test == WORKED]
    assert [0] == [one.positives for one in kept if one.test == "filament in" and one.positives < one.readings]


@pytest.mark.parametrize(
    "deed", [[("withdraw",)], [("break-wire", "signal")]], ids=["the filament slips out", "a wire breaks"]
)
def test_a_wiggle_that_ends_on_out_is_asked_about(deed: list[tuple[str, ...]]) -> None:
    """A filament that slipped and a wire that broke read alike: only the operator tells them apart."""
    slipped = deed == [("withdraw",)]
    hands = hands_with({"wiggle.where": "out" if slipped else "in"}, wiggle=[])
    hands.host.do("insert")
    tried = [deed]

    def act(key: str) -> None:
        hands.deeds["wiggle"] = tried.pop() if key == "wiggle" and tried else []

    hands.before_watch = act
    checked(hands)

    assert (2 if slipped else 1) == hands.asked.count("wiggle")
    assert slipped == (WiggleSetAside in hands.findings)
    assert slipped == ("wiggle.put_in" in hands.asked)
    assert (0 if slipped else 200) == hands.findings[Wiggle].misreads


def test_a_wiggle_without_filament_is_not_taken_for_a_loose_connection() -> None:
    """The class in front after a wiggle that was all out, declared as filament in, is not the loose connection."""
    hands = hands_with({"wiggle.where": "in"}, wiggle=[("withdraw",)])
    checked(hands)
    seen = hands.carry_out(seen_before())
    hands.answer_with(lambda key: "stop" if key == "diagnose.next" else None)
    hands.carry_out(diagnose(assessed(TWO_WIRES), seen, PLAN, SWITCH))

    found = hands.findings[Diagnosis]
    weights = {member: group.weight for group in found.classes for member in group.members}
    assert "loose" in {*weights, *found.unlikely}
    assert "loose" not in found.classes[0].members
    assert weights.get("loose", 0.0) < 0.15


@pytest.mark.parametrize("was_in", [True, False])
def test_the_diagnosis_asks_too_where_the_filament_was(*, was_in: bool) -> None:
    """Steadily out in the diagnosis' own wiggle is weighed as filament in, if it was in; else it is done again."""
    hands = hands_with({})
    deeds: list[list[tuple[str, ...]]] = [[("withdraw",)], [("insert",), ("shake", "20")]]

    def act(key: str) -> None:
        if key == "diagnose.cable_worked":
            hands.deeds[key] = deeds.pop(0)

    hands.before_watch = act

    def answer(key: str) -> str | bool | None:
        return _only(hands, WORKED) if key == "diagnose.next" else was_in if key == "diagnose.was_in" else None

    hands.answer_with(answer)
    weighed = hands.carry_out(diagnose(assessed(TWO_WIRES), [], PLAN, SWITCH))

    seen = [(one.test, one.positives) for one in weighed.seen if "second look" not in one.test]
    assert [("filament in", 0) if was_in else (WORKED, 200)] == seen


def _only(hands: ScriptedHands, test: str) -> str:
    """Do this test when it is asked for, once; say of any other that it cannot be done."""
    wanted = test in hands.question
    done = "diagnose.cable_worked" in hands.asked
    return "stop" if done else "now" if wanted else "cannot"


def test_before_the_machine_moves_it_is_looked_at_too() -> None:
    """With the filament pulled out between the two wiggles, nothing moves until it is in again."""
    hands = hands_with({"moving.how": "motors", "moving_wiggle.presence": "again"}, moving_wiggle__before=[])

    def act(key: str) -> None:
        if key == "moving_wiggle.before":
            hands.host.do("insert" if "moving_wiggle.put_in" in hands.asked else "withdraw")

    hands.before_watch = act
    found = checked(hands)

    assert 2 == hands.asked.count("moving_wiggle.before")
    assert hands.asked.index("moving_wiggle.put_in") < hands.asked.index("moving.release")
    moving = [criterion for criterion in found.acceptance.criteria if "machine" in criterion.name]
    assert [Verdict.PASS] == [criterion.verdict for criterion in moving]
