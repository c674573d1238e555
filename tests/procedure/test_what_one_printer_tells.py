"""What is made of a single word of the record or of the printer: another pin's users, and settings that do not come."""

import pytest

from commission.asking.request import Ask, Request
from commission.dialect.family import Family
from commission.evidence.findings.base import Finding
from commission.evidence.findings.settings import SettingsAsText
from commission.evidence.findings.wiring import InputClaims, PinReported
from commission.procedure.settings.as_text import NONE_PRINTED, settings_as_text
from commission.procedure.wiring.pin_look import pin_look
from commission.session import End, Exchange
from commission.vocabulary import Pull
from tests.dialect.printers import printer
from tests.procedure.settings_bench import SHEET
from tests.support.scripted_phase import ScriptedPhase

PIN, OTHER_PIN = "42", "43"
USERS = ("SENSOR_PIN", "BED_PIN")
CLAIMED = InputClaims(
    name_on_board="X-MAX", pin=PIN, pull=Pull.UP, absent=None, claims=("limit-switch",), second_name=""
)


def ended(end: End) -> ScriptedPhase:
    """A phase in which each question to the printer ends so, without a line."""

    def answer(request: Request) -> object:
        return Exchange(request.command, (), (), end, 0.0, 0.0) if isinstance(request, Ask) else None

    return ScriptedPhase({"pin.number": PIN, "pin.also": "output"}, other=answer)


@pytest.mark.parametrize("noted", [CLAIMED, PinReported(pin=PIN, names=USERS)])
def test_the_record_speaks_of_one_pin(noted: Finding) -> None:
    """A pin that the record gives to another is refused at once; of the next pin the person is asked."""
    phase = ended(End.ACKNOWLEDGED)
    phase.recalled = [noted]

    same = phase.play(pin_look(printer(Family.D)))
    phase.answers = {**phase.answers, "pin.number": OTHER_PIN}
    other = phase.play(pin_look(printer(Family.D)))

    assert (False, ["pin.number"]) == (same.result, same.asked)
    assert (False, ["pin.number", "pin.also"]) == (other.result, other.asked)


def test_settings_that_do_not_come_are_none() -> None:
    """A printer that falls silent, or says nothing, has printed no settings: no file is written, and that is said."""
    for end in (End.SILENT, End.ENDLESS, End.ACKNOWLEDGED):
        played = ended(end).play(settings_as_text(printer(Family.B), SHEET))

        assert SettingsAsText(sentences=NONE_PRINTED, lines=(), file="") == played.result
        assert ["There is no record from which single settings could be put back."] == [
            item.text for item in played.items
        ]
