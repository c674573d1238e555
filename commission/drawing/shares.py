"""Shares of a whole as bars, each with its share in figures and what it stands for."""

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from commission.drawing.svg import Picture

_BAR_COLUMNS = 24
_TEXT_COLUMNS = 78
_LABEL_COLUMNS = _TEXT_COLUMNS - _BAR_COLUMNS - 10
_BAR_LEFT, _BAR_WIDTH, _LABEL_LEFT = 70, 260, 345


@dataclass(frozen=True)
class Share:
    """One part of the whole, 0 to 1, and what it is."""

    share: float
    label: str

    def __post_init__(self) -> None:
        if not -1e-9 <= self.share <= 1 + 1e-9:
            raise ValueError(f"A share lies between 0 and 1; {self.share} does not.")

    @property
    def percent(self) -> str:
        """The share in percent; what is small is not called nothing, and nothing is ever called all."""
        if 0 < self.share < 0.01:
            return "< 1 %"
        return "> 99 %" if self.share > 0.99 else f"{100 * self.share:.0f} %"

    @property
    def words(self) -> str:
        """The share in percent, in a sentence."""
        return self.percent.replace("<", "less than").replace(">", "more than")


def shares_text(shares: Sequence[Share]) -> list[str]:
    """One bar a share in plain characters, at most 78 columns wide; long labels go on below."""
    lines = []
    for part in shares:
        bar = "#" * round(part.share * _BAR_COLUMNS)
        first, *rest = wrap(_printable(part.label), _LABEL_COLUMNS) or [""]
        lines.append(f"{part.percent:>6}  {bar:<{_BAR_COLUMNS}}  {first}".rstrip())
        lines += [f"{'':>6}  {'':<{_BAR_COLUMNS}}  {line}" for line in rest]
    return lines


def shares_svg(title: str, shares: Sequence[Share]) -> str:
    """The bars as an SVG document."""
    labels = [wrap(part.label, 62) or [""] for part in shares]
    heights = [12 + 18 * len(lines) for lines in labels]
    told = "; ".join(f"{part.percent} {part.label}" for part in shares)
    drawing = Picture(title, f"{told}.", 800, 20 + sum(heights))
    top = 10.0
    for part, lines, height in zip(shares, labels, heights, strict=True):
        drawing.text(_BAR_LEFT - 10, top + 15, part.percent, text_anchor="end", size=12)
        drawing.box(_BAR_LEFT, top + 2, _BAR_WIDTH, 16)
        if part.share > 0:
            drawing.box(_BAR_LEFT, top + 2, max(1.0, _BAR_WIDTH * part.share), 16, fill="#444444")
        for index, line in enumerate(lines):
            drawing.text(_LABEL_LEFT, top + 15 + 18 * index, line, size=12)
        top += height
    return drawing.render()


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
