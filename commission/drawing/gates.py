"""The row of gates in front of a pause: open, shut or unknown, told by shape and word and never by colour alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Literal

from commission.drawing.svg import Picture

State = Literal["open", "shut", "unknown"]
_MARKS: dict[State, str] = {"open": "[   ]", "shut": "[###]", "unknown": "[ ? ]"}
_COLUMNS = 78
TOO_LATE = "It pauses, but too late"
_TITLE = 40
_WIDTH, _ROW, _TOP = 760, 34, 56
_POST_LEFT, _POST_RIGHT = 30, 90


@dataclass(frozen=True)
class GateSymbol:
    """One gate as it is drawn.

    Attributes:
        title: its name.
        reason: what was seen of it.
        how: how that was established, in a word or two.
        cure: what opens it where it is shut; empty where that is not to be said.
        only_late: shut, it lets the pause come, but too late.
    """

    title: str
    state: State
    reason: str = ""
    how: str = ""
    cure: str = ""
    only_late: bool = False

    @property
    def stops(self) -> bool:
        """Whether the way to the pause ends here."""
        return self.state == "shut" and not self.only_late


def gates_text(row: Sequence[GateSymbol]) -> str:
    """The gates as plain characters, first to last, at most 78 columns wide; behind the row what opens them."""
    lines = []
    blocked = False
    for gate in row:
        way = " " if blocked else "|"
        named = f"  {way} {_MARKS[gate.state]} {gate.state:<8}{_shown(gate.title):<{_TITLE}}  {_shown(gate.how)}"
        lines.append(named.rstrip()[:_COLUMNS])
        if gate.state == "shut" and not blocked:
            lines += _wrapped(f"here it {'stops' if gate.stops else 'is delayed'}: {_shown(gate.reason)}")
        blocked = blocked or gate.stops
    return "\n".join(["  runout", *lines, f"  {'x' if blocked else 'v'} {_end(row)}", *_cures(row)]) + "\n"


def gates_said(row: Sequence[GateSymbol]) -> tuple[str, ...]:
    """The gates in sentences: what the way comes to, each gate with its state, and what opens it."""
    states = [f"{_shown(gate.title)}: {gate.state}{f', {_shown(gate.how)}' if gate.how else ''}." for gate in row]
    cures = [
        f"To open '{_shown(gate.title)}': {_shown(gate.cure)}" for gate in row if gate.state == "shut" and gate.cure
    ]
    return (_ending(row), *states, *cures)


def _end(row: Sequence[GateSymbol]) -> str:
    """What the way comes to, in a few words."""
    if any(gate.stops for gate in row):
        return "no pause"
    if any(gate.state == "shut" for gate in row):
        return "pauses, but too late"
    return "pause" if all(gate.state == "open" for gate in row) else "pause, as far as is known"


def _cures(row: Sequence[GateSymbol]) -> list[str]:
    lines: list[str] = []
    for state, said in (("shut", "cure"), ("unknown", "cure if it is shut")):
        for gate in row:
            if gate.state == state and gate.cure:
                lines += _wrapped(f"{_shown(gate.title)}; {said}: {_shown(gate.cure)}", first="  - ", then="    ")
    return lines


def _wrapped(text: str, first: str = "      ", then: str = "      ") -> list[str]:
    return wrap(text, _COLUMNS, initial_indent=first, subsequent_indent=then)


def gates_svg(row: Sequence[GateSymbol]) -> str:
    """The gates as an SVG document: a way from top to bottom that ends at the first gate that stops it."""
    shut = next((gate for gate in row if gate.stops), None)
    said = "; ".join(f"{gate.title}: {gate.state}" for gate in row)
    drawing = Picture("Gates in front of the pause", f"{said}.", _WIDTH, _TOP + _ROW * len(row) + 40)
    drawing.text(20, 28, "From the runout to the pause", size=15, font_weight="bold")
    middle = (_POST_LEFT + _POST_RIGHT) / 2
    stop = len(row) if shut is None else row.index(shut)
    drawing.line(middle, _TOP - 16, middle, _TOP + _ROW * stop + (14 if shut is None else 0), stroke_width=3)
    for index, gate in enumerate(row):
        _gate(drawing, gate, _TOP + _ROW * index)
    drawing.text(_POST_RIGHT + 24, _TOP + _ROW * len(row) + 22, _ending(row), font_weight="bold")
    return drawing.render()


def _ending(row: Sequence[GateSymbol]) -> str:
    shut = min((gate for gate in row if gate.state == "shut"), key=lambda gate: gate.only_late, default=None)
    if shut is not None:
        return f"{TOO_LATE}: '{shut.title}'." if shut.only_late else f"No pause: it stops at '{shut.title}'."
    unknown = sum(gate.state == "unknown" for gate in row)
    return f"No gate is known to be shut; {unknown} not known." if unknown else "Every gate is open."


def _gate(drawing: Picture, gate: GateSymbol, y: float) -> None:
    for x in (_POST_LEFT, _POST_RIGHT):
        drawing.line(x, y - 10, x, y + 10, stroke_width=4)
    if gate.state == "shut":
        drawing.line(_POST_LEFT, y, _POST_RIGHT, y, stroke_width=6)
    elif gate.state == "unknown":
        drawing.line(_POST_LEFT, y, _POST_RIGHT, y, stroke_width=2, stroke_dasharray="4 5")
    drawing.text(_POST_RIGHT + 24, y + 5, f"{gate.state}: {gate.title}")


def _shown(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
