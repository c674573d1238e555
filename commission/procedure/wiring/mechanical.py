"""Phase: the mechanical sheet, before the electrical check: many a sensor that misreads was never reached right."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from commission.asking.form import Closing, Form, FormRow
from commission.asking.message import Punch
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Option
from commission.asking.steps import Steps, choose, confirm, enter, establish
from commission.evidence.findings.wiring import MechanicalCheck, SheetLine
from commission.vocabulary import PunchClass, Verdict

MECHANICAL = Phase(
    "mechanical_check",
    "Mechanical check: does the filament reach the switch, and nothing else?",
    "the mechanical sheet",
    frozenset({Voiding.WIRING}),
)
DONE, NOT_DONE, NOT_APPLICABLE = "done", "not_done", "not_applicable"
A_CONTACT = "It tells something of a light gate only; this sensor is a contact."
LOOK = "Look at each of them now. A number opens its line, with a hint and the other answers."
ALL_SO = "Have you looked at each of them, and is it so?"
FILAMENT = Enter("mechanical.filament", "Which filaments were tried? (empty: not noted)", optional=True)
MARKS = {DONE: "done", NOT_DONE: "not done", NOT_APPLICABLE: "not applicable"}


@dataclass(frozen=True)
class Item:
    """One line of the sheet; `of_light` marks one that tells something of a light gate only."""

    name: str
    question: str
    hint: str
    cure: str
    of_light: bool = False


@dataclass(frozen=True)
class Drag:
    """Limits of what the sensor may add to the force that draws the filament, in newton."""

    question: str
    hint: str
    target_n: float
    limit_n: float
    soft_limit_n: float
    cure: str

    def judge(self, drag_n: float, *, soft: bool) -> tuple[Verdict, str]:
        """Hold a measured drag against the limits; soft filament bears less."""
        said = f"The sensor adds {drag_n:g} N of drag; "
        if soft and drag_n > self.soft_limit_n:
            return Verdict.FAIL, f"{said}with soft filament {self.soft_limit_n:g} N are the limit."
        if drag_n > self.limit_n:
            return Verdict.FAIL, f"{said}{self.limit_n:g} N are the limit."
        if drag_n > self.target_n:
            return Verdict.CONDITIONAL, f"{said}it is below the limit of {self.limit_n:g} N and above the aim of " + (
                f"{self.target_n:g} N."
            )
        return Verdict.PASS, f"{said}the aim is {self.target_n:g} N at most."


@dataclass(frozen=True)
class Dragged:
    """What came of the drag: its line and, only where it was measured, the force, the filament and the verdict."""

    line: SheetLine
    newton: float | None = None
    soft: bool | None = None
    verdict: Verdict | None = None


@cache
def sheet() -> tuple[tuple[Item, ...], Drag]:
    """The lines of the sheet and the limits of drag, from mechanical.toml."""
    data = tomllib.loads(files(__package__).joinpath("mechanical.toml").read_text(encoding="utf-8"))
    return tuple(Item(name, **entry) for name, entry in data["items"].items()), Drag(**data["drag"])


@steps_of(MECHANICAL)
def mechanical(switch: str = "", *, has_contact: bool = False) -> Steps[MechanicalCheck]:
    """Go through the sheet.

    Args:
        switch: whose reading is shown meanwhile; empty for none.
        has_contact: the sensor is known to be a contact, so that no light gate is asked about.
    """
    asked = Form(
        "mechanical.sheet",
        "The mechanical sheet",
        lambda _given: _rows(switch, has_contact=has_contact),
        (LOOK,),
        Closing.YES,
        ALL_SO,
        watch=switch,
    )
    return (yield from on_a_form(asked, lambda: _line_by_line(switch, has_contact=has_contact)))


def _rows(switch: str, *, has_contact: bool) -> tuple[FormRow, ...]:
    items, drag = sheet()
    asked = [item for item in items if not (item.of_light and has_contact)]
    ticks = [FormRow(_ticked(item, switch), item.question, DONE) for item in asked]
    dragged = FormRow(_dragged(drag), drag.question, "declared")
    return (*ticks, dragged, FormRow(FILAMENT, "Filaments tried", ""))


def _line_by_line(switch: str, *, has_contact: bool) -> Steps[MechanicalCheck]:
    items, drag = sheet()
    lines: list[SheetLine] = []
    for item in items:
        skipped = item.of_light and has_contact
        lines.append(_not_applicable(item) if skipped else (yield from _tick(item, switch)))
    dragged = yield from _drag(drag)
    lines.append(dragged.line)
    tried = yield from enter(FILAMENT)
    done = sum(line.mark == MARKS[DONE] for line in lines)
    spared = [line.name.replace("_", " ") for line in lines if line.mark == MARKS[NOT_APPLICABLE]]
    said = f"{done} of {len(lines)} lines done" + (f", not applicable: {', '.join(spared)}" if spared else "")
    open_lines = [f"Not done: {line.question} {line.reason}" for line in lines if line.mark == MARKS[NOT_DONE]]
    found = MechanicalCheck(
        sentences=(f"Mechanical sheet: {said}.", *open_lines),
        lines=tuple(lines),
        filament=tried,
        drag_in_newton=dragged.newton,
        soft_filament=dragged.soft,
        drag_verdict=dragged.verdict,
    )
    yield from establish(found)
    return found


def _ticked(item: Item, switch: str) -> Choose:
    options = (
        Option(DONE, "done", "looked at, and it is so"),
        Option(NOT_DONE, "not done", "it is not so, or was not looked at; you say why"),
        Option(NOT_APPLICABLE, "not applicable"),
    )
    return Choose(f"mechanical.{item.name}", item.question, options, (item.hint,), watch=switch)


def _tick(item: Item, switch: str) -> Steps[SheetLine]:
    mark = yield from choose(_ticked(item, switch))
    return (yield from _line(item.name, item.question, mark, item.cure))


def _not_applicable(item: Item) -> SheetLine:
    return SheetLine(name=item.name, question=item.question, mark=MARKS[NOT_APPLICABLE], reason=A_CONTACT)


def _line(name: str, question: str, mark: str, cure: str) -> Steps[SheetLine]:
    reason = ""
    if mark == NOT_DONE:
        reason = yield from enter(Enter("mechanical.reason", "Why not?"))
        yield Punch(PunchClass.INCOMPLETE, f"Mechanical sheet, not done: {question} {reason}", cure)
    return SheetLine(name=name, question=question, mark=MARKS[mark], reason=reason)


def _dragged(drag: Drag) -> Choose:
    options = (
        Option("measured", "measured with a scale"),
        Option("declared", "felt by hand: it runs freely"),
        Option(NOT_DONE, "not done", "it does not run freely, or was not tried; you say why"),
    )
    return Choose("mechanical.drag", drag.question, options, (drag.hint,))


def _drag(drag: Drag) -> Steps[Dragged]:
    """The line of the sheet, and what was measured where it was."""
    how = yield from choose(_dragged(drag))
    if how == NOT_DONE:
        return Dragged((yield from _line("drag", drag.question, NOT_DONE, drag.cure)))
    if how == "declared":
        return Dragged(_done("drag", drag.question, "Declared by feel, not measured."))
    soft = yield from confirm(Confirm("mechanical.soft", "Is soft, flexible filament used on this printer?"))
    request = Enter("mechanical.drag_n", "How much drag does the sensor add?", EntryKind.NUMBER, "N", 0, 100)
    drag_n = float((yield from enter(request)))
    verdict, sentence = drag.judge(drag_n, soft=soft)
    if verdict is Verdict.FAIL:
        yield Punch(PunchClass.INCOMPLETE, sentence, drag.cure)
    return Dragged(_done("drag", drag.question, sentence), drag_n, soft, verdict)


def _done(name: str, question: str, reason: str) -> SheetLine:
    return SheetLine(name=name, question=question, mark=MARKS[DONE], reason=reason)
