"""How a resistor is laid against the pull of a free header: between two leads that are led out of the housing."""

from dataclasses import dataclass
from textwrap import wrap

from commission.drawing.svg import Picture
from commission.drawing.wiring import GROUND, ROWS, SIGNAL, SUPPLY

_TEXT_COLUMNS = 78
_LEAD, _OUTSIDE = 24, 46


@dataclass(frozen=True)
class PullProofPicture:
    """What is drawn.

    Attributes:
        board: the name of the input, as the operator knows it.
        to: the terminal the second lead goes to: ground, or supply for a pull-down.
        first: the resistor that is laid between the leads first.
        then: the one that takes its place.
        cautions: what goes with it.
    """

    board: str
    to: str
    first: str
    then: str
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.to not in {SUPPLY, GROUND}:
            raise ValueError(f"The second lead goes to supply or to ground, not to {self.to!r}.")

    @property
    def untouched(self) -> str:
        """The terminal that no lead goes to."""
        return GROUND if self.to == SUPPLY else SUPPLY

    @property
    def description(self) -> str:
        """The picture in one sentence."""
        return (
            f"The sensor is unplugged at {self.board}. One lead is clipped to signal and one to {self.to}; "
            f"{self.untouched} is left alone. Outside the housing {self.first} is laid between their free ends, "
            f"then {self.then}."
        )


def pull_proof_text(picture: PullProofPicture) -> str:
    """The picture in plain characters, at most 78 columns wide."""
    head = _printable(picture.board)[:40]
    lines = [f"  {head + ', sensor unplugged':<{_OUTSIDE}}outside the housing", ""]
    for index, row in enumerate(ROWS):
        lines.append(_row(picture, row))
        if index < len(ROWS) - 1:
            between = {row, ROWS[index + 1]} == {SIGNAL, picture.to}
            lines.append(f"  {'':<{_OUTSIDE}}[ {picture.first} ]  then  [ {picture.then} ]" if between else "")
    for caution in picture.cautions:
        lines += ["", *wrap(f"!! {caution}", _TEXT_COLUMNS - 2, initial_indent="  ", subsequent_indent="  ")]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _row(picture: PullProofPicture, row: str) -> str:
    if row == picture.untouched:
        return f"  {row:>12} o  nothing touches this terminal"
    wire = "-" * (_OUTSIDE - 15)
    return f"  {row:>12} o<{wire}o"


def pull_proof_svg(picture: PullProofPicture) -> str:
    """The picture as an SVG document."""
    cautions = [line for text in picture.cautions for line in wrap(text, 95)]
    drawing = Picture("Proving the pull", picture.description, 800, 300 + (18 * len(cautions) + 14 if cautions else 0))
    places = {row: 90.0 + 70 * index for index, row in enumerate(ROWS)}
    drawing.text(20, 30, _printable(picture.board)[:60], size=13, font_weight="bold")
    drawing.text(130, 62, "sensor unplugged", text_anchor="middle", size=12)
    drawing.box(20, 42, 220, 238)
    drawing.text(560, 30, "outside the housing", text_anchor="middle", size=13, font_weight="bold")
    drawing.line(400, 42, 400, 280, stroke_dasharray="8 4")
    for row, y in places.items():
        drawing.text(226, y + 4, row, text_anchor="end")
        if row == picture.untouched:
            drawing.dot(240, y, 5, fill="white")
            drawing.text(254, y + 4, "nothing touches this", font_style="italic", size=12)
            continue
        drawing.dot(240, y, 5)
        drawing.line(240, y, 560, y, stroke_width=2.5)
        drawing.dot(560, y, 5)
    _resistor(drawing, places[SIGNAL], places[picture.to])
    middle = (places[SIGNAL] + places[picture.to]) / 2
    drawing.text(590, middle - 6, f"first {_printable(picture.first)}")
    drawing.text(590, middle + 14, f"then {_printable(picture.then)} in its place")
    for index, line in enumerate(cautions):
        drawing.text(30, 308 + 18 * index, line, font_weight="bold")
    return drawing.render()


def _resistor(drawing: Picture, one_y: float, other_y: float) -> None:
    top, bottom = sorted((one_y, other_y))
    drawing.line(560, top, 560, top + 15)
    drawing.box(550, top + 15, 20, bottom - top - 30, fill="white")
    drawing.line(560, bottom - 15, 560, bottom)


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
