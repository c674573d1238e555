"""The sheets of the phases: typed on one screen it comes to the same as questions one by one, and is kept alike."""

from datetime import date
from typing import Any

import pytest

from commission.asking.on_a_form import known
from commission.asking.replay import played_back
from commission.asking.request import Confirm, Hold
from commission.asking.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, confirm
from commission.desk.forms import Filling
from commission.evidence.findings.meeting import Consent, NextCheck, SignOff
from commission.evidence.findings.wiring import MechanicalCheck, MeterCheck
from commission.procedure.function.reserve import offered_reserve
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.wiring.asked import wiring_sheet
from commission.procedure.wiring.declaration import assessed, wiring
from commission.procedure.wiring.mechanical import mechanical
from commission.procedure.wiring.meter import meter
from commission.vocabulary import Verdict
from tests.support.scripted_phase import ScriptedPhase

TODAY = date(2031, 3, 14)
WIRED = {
    "sensor": "switch",
    "wires": "2",
    "contact": "NO",
    "to": "ground",
    "pressed-when": "in",
    "pull": "up",
    "pull-by": "board",
    "absent": "high",
    "logic": "3.3",
    "supply": "3.3",
}


def released(request: object) -> Any:
    """Every hold point is released."""
    return HoldReleased(port="fake") if isinstance(request, Hold) else None


def test_a_wiring_takes_one_line_and_one_look() -> None:
    """Contact, pull and level are typed; the rest is usual and shown; the drawing is looked at before it stands."""
    alone = ScriptedPhase({f"wiring.{name}": answer for name, answer in WIRED.items()} | {"wiring.stands": "keep"})
    together = ScriptedPhase({"wiring.stands": "keep"}, typed={"wiring.sheet": ["NO, up, high"]})

    one_by_one, filled = alone.play(wiring()), together.play(wiring())

    assert ["wiring.stands"] == filled.asked
    assert one_by_one.result == filled.result
    assert WIRED == dict(filled.result.answers)  # type: ignore[union-attr]


def test_what_is_wired_otherwise_brings_its_own_rows() -> None:
    """Three wires ask for the ends of the switch; nothing that decides the reading has a usual answer."""
    filling = Filling(wiring_sheet({}))
    filling.give(filling.sheet.rows({})[1].question, "3")

    missing = [row.question.key.removeprefix("wiring.") for row in filling.missing]

    assert ["common", "no-side", "nc-side", "pull", "absent"] == missing


def test_a_mechanical_sheet_is_closed_by_one_yes() -> None:
    """The yes says that each line was looked at; without it nothing is done."""
    played = ScriptedPhase(typed={"mechanical.sheet": ["y"]}).play(mechanical(has_contact=True))

    found = played.findings.get(MechanicalCheck)
    assert [] == played.asked
    assert found is not None
    assert "Mechanical sheet: 8 of 9 lines done, not applicable: clearest." == found.sentences[0]


def test_a_meter_sheet_is_read_in_one_line() -> None:
    """Four readings of ohms and the voltage of the header, in the order in which they are measured."""
    installation = assessed(WIRED).installation
    assert installation is not None
    phase = ScriptedPhase(other=released, typed={"meter.sheet": ["1 1 2 1 3300mV"]})

    played = phase.play(meter(installation))

    found = played.findings.get(MeterCheck)
    assert [] == played.asked
    assert found is not None
    assert Verdict.PASS is found.verdict
    assert ["open", "open", "near zero", "open", "3.3 V"] == [line.measured for line in found.lines]


def test_a_reading_that_does_not_fit_is_asked_again() -> None:
    """What the line gives is taken once: measured again, it is asked alone."""
    installation = assessed(WIRED).installation
    assert installation is not None
    answers = {"meter.again": "again", "meter.signal_ground_in": "joined"}
    phase = ScriptedPhase(answers, other=released, typed={"meter.sheet": ["1 1 1 1 3.3"]})

    played = phase.play(meter(installation))

    assert ["meter.again", "meter.signal_ground_in"] == played.asked


def test_a_reserve_takes_two_lengths_and_a_look() -> None:
    """The usual values stand beside them and are kept by Enter."""
    played = ScriptedPhase(typed={"reserve.sheet": ["60 mm, 45", ""]}).play(offered_reserve(20.0))

    one_by_one = {"reserve.trip_to_gear": "60", "reserve.gear_to_nozzle": "45", "reserve.job": "short"}
    assert ["reserve.now"] == played.asked
    assert ScriptedPhase(one_by_one).play(offered_reserve(20.0)).result == played.result


def test_a_sign_off_is_one_typed_yes() -> None:
    """Dates, remark and statement stand on one sheet; the port stays shut to nobody unless that is said."""
    played = ScriptedPhase(typed={"sign_off.sheet": ["y"]}).play(sign_off("R. Okafor", Calendar(TODAY, TODAY)))

    signed, consent, due = (played.findings.get(kind) for kind in (SignOff, Consent, NextCheck))
    assert [] == played.asked
    assert isinstance(signed, SignOff)
    assert signed.agreed
    assert isinstance(consent, Consent)
    assert not consent.granted
    assert isinstance(due, NextCheck)
    assert due.agreed


def test_a_phase_filled_in_on_a_sheet_is_worked_out_again() -> None:
    """The book has each answer under its own key, so a run that is taken up asks nothing again."""
    phase = ScriptedPhase({"wiring.stands": "keep"}, typed={"wiring.sheet": ["NO, up, high"]})
    done = phase.play(wiring()).result

    assert done == played_back(wiring(), phase.remembered.of("wiring"))


def test_an_answer_from_a_sheet_is_given_once() -> None:
    """Asked a second time, it is put to the person; what interrupts the question goes to the steps."""

    def twice() -> Steps[list[bool]]:
        first = yield from confirm(Confirm("ready", "Ready?"))
        try:
            return [first, (yield from confirm(Confirm("ready", "Ready?")))]
        except Interrupted:
            return [first]

    steps = known(twice(), {"ready": False})
    assert "Known" == type(next(steps)).__name__
    assert isinstance(steps.send(False), Confirm)
    with pytest.raises(StopIteration) as end:
        steps.throw(Interrupted(Interruption(InterruptionKind.OPERATOR_STOP)))
    assert [False] == end.value.value
