"""An open item of class A keeps a run from passing, be it raised in the run or left by the record."""

from dataclasses import replace
from datetime import date

import pytest

from commission.asking.message import Punch
from commission.asking.phase import Progress
from commission.asking.request import Hold, PhaseBegins, PhaseEnds
from commission.asking.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.meeting import NextCheck, UnsafeOpen
from commission.jobs.check import periodic_check
from commission.jobs.install import JobResult, install_run
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.unsafe import OnRecord, RaisedBefore, UnsafeItems
from commission.procedure.settings.record import Sheet
from commission.vocabulary import PunchClass, Verdict
from tests.procedure.path_hands import PathHands
from tests.procedure.test_no_pass_unjudged import DAY, HERE, LEFTOVER_MM, PLAN, SUBJECT, USUAL

KNOWN = Background(HERE, Calendar(DAY, DAY))
LEFT = "Found on 2031-03-01 and open since, class A: The wiring is fail-danger."
TOO_SHORT = {"reserve.trip_to_gear": "2", "function.now": False, "function.skip_reason": "later"}
"""The path from sensor to gear is too short for any leftover, which is unsafe; no function test shows its gate shut."""
A = PunchClass.UNSAFE


def installed(answers: dict[str, object] | None = None, known: Background = KNOWN) -> tuple[JobResult, PathHands]:
    """A sound unit installed, with these answers beside the usual ones."""
    hands = PathHands("sound", (), USUAL | (answers or {}), LEFTOVER_MM)
    sheet = Sheet("bench-3", date(2031, 3, 14).isoformat())
    return hands.carry_out(install_run(PLAN, "R. Okafor", known, sheet)), hands


def test_an_unsafe_item_fails_an_installation() -> None:
    """Everything else would make a conditional pass; no next date is agreed, and a finding says what stands against."""
    result, hands = installed(TOO_SHORT)
    found = hands.findings[UnsafeOpen]

    assert Verdict.FAIL is result.verdict
    assert (Verdict.FAIL, Verdict.CONDITIONAL) == (found.verdict, found.without)
    assert [item.text for item in hands.items if item.grade is A] == list(found.found)
    assert f"Open in this run, class A: {found.found[0]}" == found.sentences[0]
    assert hands.findings.get(NextCheck) is None


@pytest.mark.parametrize(
    ("on_record", "verdict", "unsettled"),
    [
        (OnRecord(), Verdict.PASS, 0),
        (OnRecord(beside_conditional=(LEFT,)), Verdict.PASS, 0),
        (OnRecord((LEFT,), (LEFT,)), Verdict.NOT_JUDGED, 1),
    ],
)
def test_an_item_on_record_holds_up_an_installation(on_record: OnRecord, verdict: Verdict, unsettled: int) -> None:
    """It counts where a run of this verdict does not clear it; the sentence from the record is in the finding."""
    result, hands = installed(known=replace(KNOWN, on_record=on_record))
    found = hands.findings.get(UnsafeOpen)

    assert (verdict, unsettled) == (result.verdict, result.unsettled)
    assert (LEFT in found.sentences if isinstance(found, UnsafeOpen) else True) is True
    assert (found is None) is (verdict is Verdict.PASS)


def test_an_item_on_record_holds_up_a_brief_check() -> None:
    """A brief check with hands does not look as deep as an installation: it is not judged beside that."""
    hands = PathHands("sound", (), USUAL, LEFTOVER_MM)
    subject = replace(SUBJECT, unsettled=(LEFT,), on_record=OnRecord((LEFT,), (LEFT,)))
    result = hands.carry_out(periodic_check(subject))
    judged = hands.findings[CheckJudged]

    assert (Verdict.NOT_JUDGED, 1) == (result.verdict, result.unsettled)
    assert (Verdict.NOT_JUDGED, (LEFT,)) == (judged.verdict, judged.unsettled)
    assert "What earlier runs found wrong stands; this one does not clear it:" in judged.sentences
    assert hands.findings.get(NextCheck) is None


def raised(*requests: object) -> UnsafeItems:
    """What is open after these requests, each fulfilled; a hold point is released."""

    def steps() -> Steps[None]:
        yield from (request for request in requests)  # type: ignore[misc]

    items = UnsafeItems()
    noted = items.noted(steps())
    response: object = None
    while True:
        try:
            request = noted.send(response)
        except StopIteration:
            return items
        response = HoldReleased() if isinstance(request, Hold) else None


def hold(key: str) -> Hold:
    """A hold point."""
    return Hold(key, "Power off", ("Do it.",), "Is it done?")


UNPLUGGED = Punch(A, "The sensor may be unplugged.", "Plug it in.", settled_by="unplug.reconnect")
HAZARD = Punch(A, "5 V on a pin for 3.3 V.", "Rewire.")


def test_a_released_hold_point_settles_its_items() -> None:
    """Only the items that name it; another hold point settles none."""
    assert [] == raised(UNPLUGGED, hold("unplug.reconnect")).found
    assert ["The sensor may be unplugged."] == [each.text for each in raised(UNPLUGGED, hold("unplug.1")).found]
    assert 1 == len(raised(hold("unplug.reconnect"), UNPLUGGED).found)
    assert 1 == len(raised(HAZARD, hold("unplug.reconnect")).found)


def test_items_of_other_classes_hold_up_nothing() -> None:
    """Class B is incomplete and C is minor."""
    assert [] == raised(Punch(PunchClass.INCOMPLETE, "B"), Punch(PunchClass.MINOR, "C")).found


def test_a_phase_done_again_raises_its_items_anew() -> None:
    """What it raised before is not pooled with what it raises now; items of other phases stay."""
    first = (PhaseBegins("wiring", "Wiring"), HAZARD, PhaseEnds("wiring"))
    assert 1 == len(raised(*first, PhaseBegins("loop_check", "Loop check")).found)
    assert [] == raised(*first, PhaseBegins("wiring", "Wiring")).found


def test_an_item_raised_before_a_run_is_taken_up_stays() -> None:
    """That of a phase that is done counts, that of a phase that comes again does not."""
    items = UnsafeItems()
    items.keep((RaisedBefore("wiring", "A hazard."), RaisedBefore("loop_check", "Broken off.")), Progress(("wiring",)))

    assert (["A hazard."], 1) == ([each.text for each in items.found], items.carried)
    assert Verdict.FAIL is items.beside(Verdict.PASS)


def test_what_interrupts_a_step_reaches_it() -> None:
    """The noted steps hear of it as the steps alone would, and may still raise an item."""

    def steps() -> Steps[str]:
        try:
            yield hold("unplug.1")
        except Interrupted:
            yield UNPLUGGED
        return "told"

    items = UnsafeItems()
    noted = items.noted(steps())
    noted.send(None)
    assert UNPLUGGED == noted.throw(Interrupted(Interruption(InterruptionKind.OPERATOR_STOP)))
    with pytest.raises(StopIteration) as ended:
        noted.send(None)
    assert ("told", 1) == (ended.value.value, len(items.found))
