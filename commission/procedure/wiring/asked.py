"""The questions about the wiring as a person is asked them: alone, by `commission wiring`, or on one sheet."""

from collections.abc import Mapping

from commission.asking.form import Answer, Answers, Closing, Form, FormRow
from commission.asking.request import Choose, Enter, EntryKind, Option
from commission.wiring.declaration import UNKNOWN, Question, next_question
from commission.wiring.installation import LEAST_SUPPLY_V, MOST_SUPPLY_V, WiringError
from commission.wiring.parts import SensorKind, parts

TAKEN = {
    "absent": "the level that suits the wiring is assumed, and named; the check shows what the firmware has",
    "own-pull": "it is assumed to be there",
}
_MEANINGS = {
    "NO": "normally open: open while nothing presses the lever",
    "NC": "normally closed: closed while nothing presses the lever",
    "up": "to the logic voltage: the usual one for a contact to ground",
    "down": "to ground",
    "none": "no resistor at all",
    "board": "in the controller or beside the header: it stays when the plug is pulled",
    "module": "on the sensor's own board: it goes away with the plug",
    "switch": "a bare lever switch, or one on a small board",
    "beam": "a flag in a light beam",
    "2": "two wires",
    "3": "three wires",
    "3.3": "most boards of today",
    "5": "older boards",
}
_UNITS = {"logic": "V"}
_SHOWN = {"2": "signal and one more", "3": "signal, ground and supply"}
"""No line begins with a second figure: whoever has two wires would type 2, and get the second line."""
_LABELS = {
    "sensor": "Sensor",
    "inside": "Ball and lever work",
    "wires": "Wires to it",
    "contact": "Contact used",
    "to": "Joins the signal to",
    "common": "Common terminal goes to",
    "no-side": "Normally-open terminal goes to",
    "nc-side": "Normally-closed terminal goes to",
    "pressed-when": "Lever is pressed with filament",
    "conducts-when": "Output conducts with filament",
    "output-when-in": "Output with filament in",
    "pull": "Pull resistor",
    "pull-by": "That resistor sits on the",
    "absent": "Firmware's level for no filament",
    "logic": "Logic voltage",
    "supply": "Voltage at its supply terminal",
    "own-pull": "Module has a pull-up of its own",
    "input": "Class of input",
}
_TITLE = "How is the sensor wired?"
_LINES = ("A number opens its question, with what the answers mean. Nothing is assessed before all is there.",)


def asked_as(question: Question) -> Choose | Enter:
    """A question as a person is asked it, in a run and by `commission wiring` alone."""
    key = f"wiring.{question.name}"
    if not question.choices:
        return Enter(
            key,
            f"{question.text} (Enter = {question.default})",
            EntryKind.NUMBER,
            unit="V",
            least=LEAST_SUPPLY_V,
            most=MOST_SUPPLY_V,
            optional=True,
            lines=question.cautions,
        )
    options = [Option(choice, *_option(question, choice)) for choice in question.choices if choice != UNKNOWN]
    then = TAKEN.get(question.name, "the wiring is then not assessed")
    return Choose(key, question.text, (*options, Option(UNKNOWN, "I do not know", then)))


def meaning_of(question: Question, choice: str) -> str:
    """What an answer means, in a few words; empty where it speaks for itself."""
    return parts().sensors[SensorKind(choice)].title if question.name == "sensor" else _MEANINGS.get(choice, "")


def _option(question: Question, choice: str) -> tuple[str, str]:
    shown = _SHOWN.get(choice, choice) if question.name == "wires" else choice
    label = f"{shown} {_UNITS.get(question.name, '')}".rstrip()
    usual = "the usual one" if choice == question.default else ""
    return label, "; ".join(filter(None, (meaning_of(question, choice), usual)))


def wiring_sheet(before: Mapping[str, str]) -> Form:
    """All of it on one sheet; it is closed once it is filled in, for then it is drawn, and may be answered again.

    Args:
        before: what was answered just now, where it is answered again.
    """
    return Form("wiring.sheet", _TITLE, lambda given: _rows(given, before), _LINES, Closing.FILLED)


def _rows(given: Answers, before: Mapping[str, str]) -> tuple[FormRow, ...]:
    """The rows that these answers lead to; a row that has none yet leads on as its first answer would."""
    rows: list[FormRow] = []
    answers: dict[str, str] = {}
    while (question := _next(answers)) is not None:
        request = asked_as(question)
        usual = before.get(question.name, (question.default if question.choices else "") or None)
        usual = "" if not question.choices and usual is None else usual
        row = FormRow(request, _LABELS[question.name], usual, f"{question.default} V")
        rows.append(row)
        answer = _given(given, row) or question.default or question.choices[0]
        if answer == UNKNOWN and UNKNOWN not in question.choices:
            break  # it is not assessed then
        answers[question.name] = answer
    return tuple(rows)


def _given(given: Answers, row: FormRow) -> str:
    answer: Answer | None = given.get(row.question.key, row.usual)
    return "" if answer is None else str(answer)


def _next(answers: Mapping[str, str]) -> Question | None:
    try:
        return next_question(answers)
    except WiringError:  # said once it is assessed
        return None
