"""Phase: what the chosen input is called, and who else may use it."""

from collections.abc import Mapping, Sequence

from commission.asking.form import Closing, Form, FormRow
from commission.asking.message import Punch, Tell, Weight
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.power import HANDS
from commission.asking.request import Choose, Enter, Option, Release
from commission.asking.steps import Steps, ask, choose, enter, establish, release
from commission.dialect.commands import Effect, pin_report
from commission.dialect.pins import Pin, pins_of
from commission.evidence.findings.wiring import InputClaims, PinReported
from commission.vocabulary import Pull, PunchClass
from commission.wiring.claims import Claim, InputNote, claims
from commission.wiring.declaration import declared_absent

CLAIMS = Phase(
    "input_claims",
    "Input: what it is called, and who else uses it",
    "the input checklist",
    frozenset({Voiding.WIRING}),
)
RELEASE = "claims.pin_report"
CORRECT = "correct"
LOOK_UP = Punch(
    PunchClass.INCOMPLETE,
    "It was not found out what else is on the sensor's input.",
    "Look the pin up in the board's drawing and in the firmware's pin table.",
)
STANDS = (Option("keep", "keep it"), Option("again", "answer again", "a slip in the answers"))
LATER = (
    "Header and pin stand in the record now. A slip that shows later: press Ctrl-C, start the same command again, and "
    "answer no where it asks whether what you noted is right. It is asked again then; the record keeps both.",
)
LEAVE_CLOSED = "Answer from the board's drawing, or from what you noted with the power off: leave the cover closed now."

NAME = Enter("claims.name", "What is printed beside the header the sensor goes to?", lines=(LEAVE_CLOSED,))
PIN = Enter("claims.pin", "Which pin is it in the firmware, as in 42 or PA9? (empty: not known)", optional=True)


@steps_of(CLAIMS)
def input_claims(answers: Mapping[str, str]) -> Steps[InputNote]:
    """Note the input, look for conflicts, and read one pin where the operator releases it.

    Args:
        answers: the declared wiring, for pull and absent level; empty when none was declared.
    """
    name, pin = yield from _header()
    while (found := (yield from _claims(name, pin))) is None:
        name, pin = yield from _header(name, pin)
    second = yield from _pin_report(pin) if pin else _no_pin()
    note = InputNote(name, pin, Pull(answers.get("pull", "none")), declared_absent(answers), found, second)
    yield from _record(note, pull_known="pull" in answers)
    yield Tell(LATER)
    return note


def _header(name: str | None = None, pin: str | None = None) -> Steps[tuple[str, str]]:
    """Header and pin on one sheet; with what stood there before where that is corrected."""
    rows = (FormRow(NAME, "Beside the header stands", name), FormRow(PIN, "Its pin in the firmware", pin, "not known"))
    form = Form("claims.sheet", "The input", lambda _given: rows, (LEAVE_CLOSED,), Closing.FILLED)
    return (yield from on_a_form(form, _name_and_pin))


def _name_and_pin() -> Steps[tuple[str, str]]:
    name = yield from enter(NAME)
    return name, (yield from enter(PIN))


def _claims(name: str, pin: str) -> Steps[tuple[Claim, ...] | None]:
    """Every claim that stands; None where header or pin was a slip. The list may be answered again."""
    while True:
        picks = (yield from choose(_also(name, pin))).split(",")
        if CORRECT in picks:
            return None
        found = tuple(claim for claim in claims() if claim.name in picks)
        for claim in found:
            weight = Weight.DANGER if claim.weight is PunchClass.UNSAFE else Weight.CAUTION
            yield Tell((claim.conflict, claim.cure, HANDS), weight=weight)
        if not found or (yield from _kept(found)):
            if "unknown" in picks:
                yield LOOK_UP
            return found


def _kept(found: Sequence[Claim]) -> Steps[bool]:
    lines = tuple(f"  {claim.short}" for claim in found)
    stands = choose(Choose("claims.stands", "Noted of this input. Does it stand?", STANDS, lines))
    return (yield from stands) == "keep"


def _also(name: str, pin: str) -> Choose:
    """One question for all of them; it says what they are asked of, and takes a slip there as an answer."""
    options = [Option("none", "nothing of this")]
    options += [Option(claim.name, claim.short) for claim in claims()]
    options.append(Option("unknown", "I do not know"))
    options.append(Option(CORRECT, "header or pin above is a slip: correct it"))
    noted = (f"Noted: header {name}, pin {pin or 'not known'}.",)
    alone = frozenset({"none", CORRECT})
    question = "What else may be on this input?"
    return Choose("claims.also", question, tuple(options), noted, several=True, alone=alone)


def _no_pin() -> Steps[str]:
    yield Tell(("Without the pin's name it cannot be looked up in the printer's own report.",))
    return ""


def _pin_report(pin: str) -> Steps[str]:
    """The pin's second name as the printer reports it; empty when there is none, or no report."""
    try:
        command = pin_report(pin)
    except ValueError as error:
        yield Tell((f"The printer is not asked about it: {error}.",), weight=Weight.NOTE)
        return ""
    lines = (
        f"The printer is asked what it uses pin {pin} for: one pin, once. Nothing is watched, driven or changed.",
        "On some boards a pin report takes long, or restarts the board. Many firmwares do not offer it.",
    )
    asked = Release(RELEASE, f"one report about pin {pin}", lines, frozenset({Effect.READ_ONLY}))
    if not (yield from release(asked)):
        return ""
    reported = pins_of((yield from ask(command, 10.0, RELEASE)).lines)
    names = tuple(name for each in reported for name in each.names)
    yield from establish(PinReported(sentences=(_said(pin, reported),), pin=pin, names=names))
    return ", ".join(names[1:])


def _said(pin: str, reported: tuple[Pin, ...]) -> str:
    if not reported:
        return f"The printer gave no report about pin {pin}."
    names = [name for each in reported for name in each.names]
    level = next((f"; it reads {each.level.value}" for each in reported if each.level), "")
    return f"The printer reports pin {pin} as {' and '.join(names) or 'unused'}{level}."


def _record(note: InputNote, *, pull_known: bool) -> Steps[None]:
    pull = f"pull: {note.pull.value}" if pull_known else "pull: not declared"
    absent = f"level treated as no filament: {note.absent.value if note.absent else 'not known'}"
    said = f"Input {note.name_on_board}, pin {note.pin or 'not known'}, {pull}, {absent}."
    yield from establish(InputClaims.of(note, pull_known=pull_known, sentences=(said, *note.conflicts)))
    for claim in note.claims:
        yield Punch(
            claim.weight, f"Input {note.name_on_board}, {claim.name.replace('-', ' ')}: {claim.conflict}", claim.cure
        )
    if note.second_name:
        yield Punch(PunchClass.INCOMPLETE, note.conflicts[-1], "Free the pin, or use another input.")
