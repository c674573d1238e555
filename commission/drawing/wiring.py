"""The wiring of a sensor to its input: which terminal goes to which, and what the sensor joins, in and out.

Terminals stand in one order (supply, signal, ground) and are named by function: colours and places in a connector
differ from maker to maker. A heavy bar in the column *in* or *out* joins the terminals that are connected then,
so that a short of the supply can be seen as a bar from supply to ground.
"""

from dataclasses import dataclass
from textwrap import wrap

from commission.drawing.svg import Picture

SUPPLY, SIGNAL, GROUND = ROWS = ("supply", "signal", "ground")
_TEXT_COLUMNS = 78


@dataclass(frozen=True)
class PullSymbol:
    """A pull resistor.

    Attributes:
        on_board: at the input; else on the sensor's module.
        up: to the voltage; else to ground.
        label: its name and value.
    """

    on_board: bool
    up: bool
    label: str


@dataclass(frozen=True)
class WiringPicture:
    """What is drawn.

    Attributes:
        board: the name of the input, as the operator knows it.
        sensor: the name of the sensor.
        far_ends: per wire, by its function at the board, the name of the sensor's terminal; a function that is
            missing is left empty at the board.
        joined_in: the two functions the sensor joins with filament in, if any.
        joined_out: likewise with filament out.
        pull: the resistor that gives the input its resting level.
        warnings: reasons not to connect it.
    """

    board: str
    sensor: str
    far_ends: dict[str, str]
    joined_in: tuple[str, str] | None
    joined_out: tuple[str, str] | None
    pull: PullSymbol | None = None
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        named = {*self.far_ends, *(self.joined_in or ()), *(self.joined_out or ())}
        if not named <= set(ROWS):
            raise ValueError(f"A terminal is supply, signal or ground; not {sorted(named - set(ROWS))}.")

    @property
    def description(self) -> str:
        """The picture in one sentence."""
        wires = [f"{row} to {self.far_ends[row]}" for row in ROWS if row in self.far_ends]
        empty = [f"{row} left empty" for row in ROWS if row not in self.far_ends]
        ends = [_joined("in", self.joined_in), _joined("out", self.joined_out)]
        pull = [self.pull.label] if self.pull else ["no pull resistor"]
        return f"{self.sensor} at {self.board}: " + "; ".join(wires + empty + pull + ends) + "."


def _joined(presence: str, joined: tuple[str, str] | None) -> str:
    what = f"{joined[0]} and {joined[1]} joined" if joined else "nothing joined"
    return f"with filament {presence} {what}"


def _bar(joined: tuple[str, str] | None) -> tuple[int, int] | None:
    """First and last row of the bar that joins two terminals."""
    if joined is None:
        return None
    rows = sorted(ROWS.index(row) for row in joined)
    return rows[0], rows[1]


# Terminal text -----------------------------------------------------------------------------------------------------


def wiring_text(picture: WiringPicture) -> str:
    """The picture in plain characters, at most 78 columns wide."""
    lines = [
        f"  {_cut(picture.board, 40):<42} {_cut(picture.sensor, 33)}",
        f"  {'':<20} {'':<20}  {'':<22} filament",
        f"  {'':<20} {'':<20}  {'':<22} in  out",
    ]
    for index, row in enumerate(ROWS):
        lines.append(_wire_line(picture, index, row))
        if index < len(ROWS) - 1:
            lines.append(f"  {'':<20} {'':<20}  {'':<22} {_marks(picture, index, between=True)}".rstrip())
    lines.append("")
    if picture.pull:
        place = "at the board" if picture.pull.on_board else "on the module"
        lines += _wrapped(f"{picture.pull.label}, {place}.")
    else:
        lines += _wrapped("No pull resistor.")
    for warning in picture.warnings:
        lines += ["", *_wrapped(f"!! {warning}")]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _wire_line(picture: WiringPicture, index: int, row: str) -> str:
    far_end = picture.far_ends.get(row)
    wire = "o" + "-" * 20 + "o " if far_end else "o  left empty          "
    return f"  {row:>19} {wire}{_cut(far_end or '', 21):<22} {_marks(picture, index, between=False)}"


def _marks(picture: WiringPicture, index: int, *, between: bool) -> str:
    bars = (_bar(picture.joined_in), _bar(picture.joined_out))
    marks = [_mark(bar, index, between=between) for bar in bars]
    return f"{marks[0]:<2}  {marks[1]}"


def _mark(bar: tuple[int, int] | None, index: int, *, between: bool) -> str:
    if bar is None or not bar[0] <= index <= bar[1] or (between and index == bar[1]):
        return ""
    return "|" if between or index not in bar else "#"


def _wrapped(text: str) -> list[str]:
    return wrap(text, _TEXT_COLUMNS - 2, initial_indent="  ", subsequent_indent="  ")


def _cut(text: str, columns: int) -> str:
    """At most so many characters; what would steer a terminal becomes a question mark."""
    shown = "".join(letter if letter.isprintable() else "?" for letter in text)
    return shown if len(shown) <= columns else shown[: columns - 1] + "~"


# SVG ---------------------------------------------------------------------------------------------------------------

_ROW_Y = (130, 200, 270)
_BOARD_RIGHT, _SENSOR_LEFT, _SENSOR_RIGHT = 240, 470, 770
_BOX_TOP, _BOX_BOTTOM = 42, 350
_BAR_X = {"in": 670, "out": 730}


def wiring_svg(picture: WiringPicture) -> str:
    """The picture as an SVG document."""
    warnings = [line for text in picture.warnings for line in wrap(text, 95)]
    height = _BOX_BOTTOM + 20 + (18 * len(warnings) + 14 if warnings else 0)
    drawing = Picture("Wiring of the filament sensor", picture.description, 800, height)
    _boxes(drawing, picture)
    for row, y in zip(ROWS, _ROW_Y, strict=True):
        _wire(drawing, row, y, picture.far_ends.get(row))
    for presence, joined in (("in", picture.joined_in), ("out", picture.joined_out)):
        _column(drawing, presence, joined)
    if picture.pull:
        _pull(drawing, picture.pull)
    else:
        drawing.text(36, 66, "no pull resistor", size=12)
    if warnings:
        drawing.box(20, _BOX_BOTTOM + 12, 750, 12 + 18 * len(warnings), stroke_width=3, stroke_dasharray="8 4")
    for index, line in enumerate(warnings):
        drawing.text(30, _BOX_BOTTOM + 32 + 18 * index, line, font_weight="bold")
    return drawing.render()


def _boxes(drawing: Picture, picture: WiringPicture) -> None:
    drawing.text(20, 30, _cut(picture.board, 40), size=13, font_weight="bold")
    drawing.text(_SENSOR_LEFT, 30, _cut(picture.sensor, 40), size=13, font_weight="bold")
    drawing.box(20, _BOX_TOP, _BOARD_RIGHT - 20, _BOX_BOTTOM - _BOX_TOP)
    drawing.box(_SENSOR_LEFT, _BOX_TOP, _SENSOR_RIGHT - _SENSOR_LEFT, _BOX_BOTTOM - _BOX_TOP)
    drawing.text((_BAR_X["in"] + _BAR_X["out"]) / 2, 66, "filament", text_anchor="middle")


def _wire(drawing: Picture, row: str, y: float, far_end: str | None) -> None:
    drawing.text(_BOARD_RIGHT - 14, y + 4, row, text_anchor="end")
    if far_end is None:
        drawing.dot(_BOARD_RIGHT, y, 5, fill="white")
        drawing.text(_BOARD_RIGHT + 14, y + 4, "left empty", font_style="italic")
        return
    drawing.line(_BOARD_RIGHT, y, _SENSOR_LEFT, y, stroke_width=2.5)
    drawing.dot(_BOARD_RIGHT, y, 5)
    drawing.dot(_SENSOR_LEFT, y, 5)
    drawing.text(_SENSOR_LEFT + 14, y + 4, _cut(far_end, 22))


def _column(drawing: Picture, presence: str, joined: tuple[str, str] | None) -> None:
    x, bar = _BAR_X[presence], _bar(joined)
    drawing.text(x, 86, presence, text_anchor="middle", font_weight="bold")
    for index, y in enumerate(_ROW_Y):
        if bar is None or not bar[0] <= index <= bar[1]:
            drawing.dot(x, y, 4, fill="white")
    if bar is None:
        drawing.text(x, 304, "open", text_anchor="middle", size=12)
        return
    drawing.line(x, _ROW_Y[bar[0]], x, _ROW_Y[bar[1]], stroke_width=5)
    for row in bar:
        drawing.dot(x, _ROW_Y[row], 6)
    drawing.text(x, 304, "joined", text_anchor="middle", size=12)


def _pull(drawing: Picture, pull: PullSymbol) -> None:
    """A zigzag from the signal row to its rail, inside the board or inside the sensor."""
    terminal_x, x, away = (_BOARD_RIGHT, 110, -16) if pull.on_board else (_SENSOR_LEFT, _SENSOR_LEFT + 155, 16)
    up = -1 if pull.up else 1
    turn_y, rail_y = _ROW_Y[1] + 16 * up, _ROW_Y[1] + 96 * up
    step = (rail_y - turn_y) / 8
    zigzag = [(x + (7 if index % 2 else -7), turn_y + step * index) for index in range(2, 7)]
    start = [(terminal_x, _ROW_Y[1]), (terminal_x + away, turn_y), (x, turn_y), (x, turn_y + step)]
    drawing.polyline([*start, *zigzag, (x, turn_y + step * 7), (x, rail_y)])
    drawing.line(x - 12, rail_y, x + 12, rail_y, stroke_width=3)
    label_x = 36 if pull.on_board else _SENSOR_LEFT + 14
    for index, line in enumerate(wrap(pull.label, 26)[:2]):
        drawing.text(label_x, (66 if pull.up else 320) + 16 * index, line, size=12)
