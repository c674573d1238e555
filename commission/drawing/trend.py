"""A measured value over the checks of a printer, with its limit: as SVG, and as text for a terminal.

Each check is a point and a label; the limit is a dashed line with its value written on it. A check that measured
nothing leaves its place empty: a gap is data too. Nothing is told by colour.
"""

import math
from dataclasses import dataclass
from itertools import groupby

from commission.drawing.svg import Picture

_WIDTH, _HEIGHT = 640.0, 240.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 100.0, 20.0, 40.0, 60.0
_BAR_COLUMNS = 40
_MOST_LABELS = 12
FEWEST = 2
"""Checks that make a trend."""


@dataclass(frozen=True)
class Trend:
    """One value over all checks.

    Attributes:
        title: what is measured.
        unit: of the values.
        labels: of the checks, oldest first.
        values: one a check; None where it was not measured.
        limit: beyond which it is too much; None when there is none.
        digits: decimals to print.
    """

    title: str
    unit: str
    labels: tuple[str, ...]
    values: tuple[float | None, ...]
    limit: float | None = None
    digits: int = 0

    def __post_init__(self) -> None:
        if len(self.labels) != len(self.values):
            raise ValueError(f"The trend of {self.title} has {len(self.labels)} labels for {len(self.values)} values.")
        if any(value is not None and not (math.isfinite(value) and value >= 0) for value in (*self.values, self.limit)):
            raise ValueError(f"The trend of {self.title} holds a value that is not a finite number from 0 up.")

    @property
    def is_drawn(self) -> bool:
        """Whether it makes a picture: one check is a point, and told by its findings."""
        return len(self.labels) >= FEWEST

    @property
    def top(self) -> float:
        """The largest number that must find room; above 0."""
        numbers = [value for value in (*self.values, self.limit) if value is not None]
        return max(numbers, default=0.0) or 1.0

    def written(self, value: float | None) -> str:
        """A value with its unit."""
        return "not measured" if value is None else f"{value:.{self.digits}f} {self.unit}".rstrip()

    @property
    def description(self) -> str:
        """The picture in one sentence."""
        points = "; ".join(
            f"{label}: {self.written(value)}" for label, value in zip(self.labels, self.values, strict=True)
        )
        limit = "no limit" if self.limit is None else f"limit {self.written(self.limit)}"
        return f"{self.title} over {len(self.labels)} checks, {limit}. {points}."


def as_svg(trend: Trend) -> str:
    """The trend as one SVG document."""
    picture = Picture(trend.title, trend.description, _WIDTH, _HEIGHT)
    bottom = _HEIGHT - _BOTTOM
    picture.text(_LEFT, 22, trend.title, size=15, font_weight="bold")
    picture.line(_LEFT, _TOP, _LEFT, bottom)
    picture.line(_LEFT, bottom, _WIDTH - _RIGHT, bottom)
    picture.text(_LEFT - 6, bottom, trend.written(0.0), size=11, text_anchor="end")
    picture.text(_LEFT - 6, _TOP + 4, trend.written(trend.top), size=11, text_anchor="end")
    if trend.limit is not None:
        y = _y(trend, trend.limit)
        picture.line(_LEFT, y, _WIDTH - _RIGHT, y, stroke_dasharray="6 4", stroke_width=1)
        label_y = y - 4 if y > _TOP + 16 else y + 13
        picture.text(_WIDTH - _RIGHT, label_y, f"limit {trend.written(trend.limit)}", size=11, text_anchor="end")
    _points(picture, trend)
    _labels(picture, trend, bottom)
    return picture.render()


def _points(picture: Picture, trend: Trend) -> None:
    places = [(_x(trend, i), value) for i, value in enumerate(trend.values)]
    for measured, run in groupby(places, key=lambda place: place[1] is not None):
        points = [(x, _y(trend, value)) for x, value in run if value is not None]
        if measured and len(points) > 1:
            picture.polyline(points)
        for x, y in points:
            picture.dot(x, y, 3.5)


def _labels(picture: Picture, trend: Trend, bottom: float) -> None:
    step = max(1, math.ceil(len(trend.labels) / _MOST_LABELS))
    for i, label in enumerate(trend.labels):
        if i % step == 0 or (i == len(trend.labels) - 1 and i % step > step // 2):
            x = _x(trend, i)
            turned = f"rotate(-35 {x:g} {bottom + 14:g})"
            picture.text(x, bottom + 14, label, size=11, text_anchor="end", transform=turned)


def _x(trend: Trend, index: int) -> float:
    room = _WIDTH - _RIGHT - _LEFT
    return _LEFT + room * (index + 0.5) / max(1, len(trend.values))


def _y(trend: Trend, value: float) -> float:
    return _TOP + (_HEIGHT - _BOTTOM - _TOP) * (1 - value / trend.top)


def as_text(trend: Trend) -> list[str]:
    """The trend as lines of plain text, a bar a check; `|` marks the limit, `!` a value beyond it."""
    if not trend.labels:
        return [f"{trend.title}: no check is on record."]
    head = trend.title if trend.limit is None else f"{trend.title} (limit {trend.written(trend.limit)}, at |)"
    room = max(len(label) for label in trend.labels)
    pairs = zip(trend.labels, trend.values, strict=True)
    return [head, *(f"  {label:<{room}}  {_bar(trend, value)}  {trend.written(value)}" for label, value in pairs)]


def _bar(trend: Trend, value: float | None) -> str:
    filled = 0 if value is None else _column(trend, value)
    columns = ["=" if i < filled else " " for i in range(_BAR_COLUMNS)]
    if trend.limit is not None:
        beyond = value is not None and value > trend.limit
        columns[min(_BAR_COLUMNS - 1, _column(trend, trend.limit))] = "!" if beyond else "|"
    return "".join(columns)


def _column(trend: Trend, value: float) -> int:
    return round(_BAR_COLUMNS * value / trend.top)
