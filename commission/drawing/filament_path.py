"""The filament path from the sensor to the nozzle, with the lengths that decide whether the pause comes in time.

Above the path stand the places (trip point, drive gear, nozzle); below it the lengths, each a bar that begins at the
trip point or ends at the gear, so that what does not fit can be seen to reach past the gear.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from textwrap import wrap

from commission.drawing.svg import Picture

_WIDTH, _LEFT, _RIGHT = 760, 230, 720
_PATH_Y = 90
_BAR = 34
_ROW = 16
_LETTER = 8.0
"""More than a letter is wide, so that labels judged apart are apart in any font."""
_COLUMNS = 48
_LABEL = 29
_TEXT_COLUMNS = 78


@dataclass(frozen=True)
class Bar:
    """One length along the path, in mm from the trip point."""

    label: str
    from_mm: float
    to_mm: float

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True)
class FilamentPath:
    """What is drawn; all lengths in millimetres of filament.

    Attributes:
        trip_to_gear_mm: from the trip point to the nip of the gear.
        gear_to_nozzle_mm: from there to the nozzle tip; None if not measured.
        trip_uncertainty_mm, leftover_mm, queue_mm, grip_mm: the lengths that must fit before the gear.
        refused: whether they do not.
        recounted_mm: what a retraction over the trip point adds to the leftover.
    """

    trip_to_gear_mm: float
    gear_to_nozzle_mm: float | None
    trip_uncertainty_mm: float
    leftover_mm: float
    queue_mm: float
    grip_mm: float
    refused: bool
    recounted_mm: float = 0.0

    def __post_init__(self) -> None:
        lengths = (self.trip_to_gear_mm, self.trip_uncertainty_mm, self.leftover_mm, self.queue_mm, self.grip_mm)
        if min(*lengths, self.recounted_mm) < 0 or (self.gear_to_nozzle_mm or 0) < 0:
            raise ValueError("Lengths along the path are from 0 mm up.")

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The lengths in the order in which they are used up, and the grip margin before the gear."""
        spent = self.trip_uncertainty_mm
        counted = spent + self.recounted_mm
        after_leftover = counted + self.leftover_mm
        recounted = (Bar("retraction", spent, counted),) if self.recounted_mm else ()
        return (
            Bar("trip uncertainty", 0.0, spent),
            *recounted,
            Bar("leftover", counted, after_leftover),
            Bar("queued moves", after_leftover, after_leftover + self.queue_mm),
            Bar("grip margin", self.trip_to_gear_mm - self.grip_mm, self.trip_to_gear_mm),
        )

    @property
    def end_mm(self) -> float:
        """How far the drawing reaches."""
        longest = max(self.trip_to_gear_mm, *(bar.to_mm for bar in self.bars))
        return max(longest, self.trip_to_gear_mm + (self.gear_to_nozzle_mm or 0.0), 1.0)

    @property
    def start_mm(self) -> float:
        """Where it begins: at the trip point, or further up when the grip margin reaches past it."""
        return min(0.0, *(bar.from_mm for bar in self.bars))

    @property
    def description(self) -> str:
        """The picture in one sentence."""
        nozzle = "" if self.gear_to_nozzle_mm is None else f", from there to the nozzle {self.gear_to_nozzle_mm:.1f} mm"
        bars = ", ".join(f"{bar.label} {bar.length_mm:.1f} mm" for bar in self.bars)
        fits = "they do not fit" if self.refused else "they fit"
        return f"From the trip point to the gear {self.trip_to_gear_mm:.1f} mm{nozzle}; {bars}: {fits}."


def path_text(path: FilamentPath) -> str:
    """The picture in plain characters, at most 78 columns wide."""
    at = _scale(path, _COLUMNS - 1)
    rule = ["-"] * _COLUMNS
    for _, where in _places(path):
        rule[at(where)] = "+"
    lines = [f"{'':{_LABEL}}{heads}" for heads in _heads(path, at)] + [f"{'spool':>{_LABEL - 1}} {''.join(rule)}"]
    for bar in path.bars:
        first, last = at(bar.from_mm), at(bar.to_mm)
        body = "" if bar.length_mm == 0 else "=" * max(1, last - first)
        label = f"{bar.label} {bar.length_mm:.1f} mm"
        lines.append(f"{label:>{_LABEL - 1}} {' ' * first}{body}")
    lines += wrap(path.description, _TEXT_COLUMNS, initial_indent="  ", subsequent_indent="  ")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _places(path: FilamentPath) -> list[tuple[str, float]]:
    """The places along the path, in order, in mm from the trip point."""
    places = [("trip", 0.0), ("gear", path.trip_to_gear_mm)]
    if path.gear_to_nozzle_mm is not None:
        places.append(("nozzle", path.trip_to_gear_mm + path.gear_to_nozzle_mm))
    return places


def _heads(path: FilamentPath, at: Callable[[float], int]) -> list[str]:
    """The names of the places, one above the other where they would touch."""
    starts = [(name, min(at(where), _COLUMNS - len(name))) for name, where in _places(path)]
    rows = _rows([(start, start + len(name) + 1) for name, start in starts])
    lines = [[" "] * _COLUMNS for _ in range(max(rows) + 1)]
    for (name, start), row in zip(starts, rows, strict=True):
        lines[row][start : start + len(name)] = name
    return ["".join(line).rstrip() for line in reversed(lines)]


def _rows(spans: Sequence[tuple[float, float]]) -> list[int]:
    """For each label the lowest row in which it touches none before it; the row next to the path is 0."""
    taken: list[tuple[int, float, float]] = []
    for first, last in spans:
        row = 0
        while any(where == row and first < end and start < last for where, start, end in taken):
            row += 1
        taken.append((row, first, last))
    return [row for row, _, _ in taken]


def path_svg(path: FilamentPath) -> str:
    """The picture as an SVG document."""
    at = _scale(path, _RIGHT - _LEFT)
    drawing = Picture("Filament path and reserve", path.description, _WIDTH, _PATH_Y + 60 + _BAR * len(path.bars))
    drawing.text(20, 28, "Filament path: what is used up before the pause", size=15, font_weight="bold")
    drawing.line(_LEFT - 30, _PATH_Y, _RIGHT, _PATH_Y, stroke_width=3)
    foot = _PATH_Y + 24 + _BAR * len(path.bars)
    labels = [(f"{name} {where:.1f} mm", _LEFT + at(where)) for name, where in _places(path)]
    halves = [_LETTER * len(label) / 2 for label, _ in labels]
    middles = [min(x, _WIDTH - half) for (_, x), half in zip(labels, halves, strict=True)]
    rows = _rows([(middle - half, middle + half) for middle, half in zip(middles, halves, strict=True)])
    for (label, x), middle, row in zip(labels, middles, rows, strict=True):
        drawing.dot(x, _PATH_Y, 5)
        drawing.text(middle, _PATH_Y - 14 - _ROW * row, label, text_anchor="middle")
    for where in (0.0, path.trip_to_gear_mm):
        x = _LEFT + at(where)
        drawing.line(x, _PATH_Y, x, foot, stroke_width=1, stroke_dasharray="3 4")
    for index, bar in enumerate(path.bars):
        _bar(drawing, bar, (_LEFT + at(bar.from_mm), _LEFT + at(bar.to_mm)), _PATH_Y + 24 + _BAR * index)
    said = "Refused: it does not fit before the gear." if path.refused else "It fits before the gear."
    drawing.text(20, foot + 22, said, font_weight="bold")
    return drawing.render()


def _bar(drawing: Picture, bar: Bar, ends: tuple[float, float], y: float) -> None:
    drawing.box(ends[0], y, max(1.0, ends[1] - ends[0]), 14, fill="none", stroke_width=2)
    drawing.text(_LEFT - 40, y + 12, f"{bar.label}: {bar.length_mm:.1f} mm", text_anchor="end")


def _scale(path: FilamentPath, width: int) -> Callable[[float], int]:
    start_mm, span_mm = path.start_mm, path.end_mm - path.start_mm
    return lambda where_mm: round((where_mm - start_mm) / span_mm * width)
