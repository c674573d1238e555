"""A soak on one line: hours from left to right, changes as crosses, and where nothing was watched a gap."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from commission.drawing.svg import Picture

COLUMNS = 72
_LEFT, _WIDTH, _TOP, _BAR = 12.0, 720.0, 34.0, 20.0
HOUR_S = 3600.0
MARK, WATCHED, BESIDE_PRINT, PAUSE = "X", "=", "p", "."
KEY = f"{WATCHED} watched at rest, {BESIDE_PRINT} watched beside a print, {PAUSE} not watched, {MARK} changed"


@dataclass(frozen=True)
class Piece:
    """A stretch that was watched, in seconds from the beginning; `printing` says whether beside a print."""

    began_s: float
    ended_s: float
    printing: bool = False


@dataclass(frozen=True)
class SoakLine:
    """What is drawn: the length of the whole in seconds, what of it was watched, and when the reading changed."""

    seconds: float
    pieces: tuple[Piece, ...]
    changes_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.seconds > 0:
            raise ValueError("A soak that took no time cannot be drawn.")

    @property
    def pauses(self) -> tuple[tuple[float, float], ...]:
        """Where nothing was watched: beginning and end, longer than a second."""
        ends = [0.0, *(piece.ended_s for piece in self.pieces)]
        begins = [*(piece.began_s for piece in self.pieces), self.seconds]
        return tuple((end, begin) for end, begin in zip(ends, begins, strict=True) if begin - end > 1.0)

    @property
    def description(self) -> str:
        """The picture in words."""
        changed = ", ".join(map(hours, self.changes_s[:12])) + (" and more" if len(self.changes_s) > 12 else "")
        paused = ", ".join(f"{hours(begin)} to {hours(end)}" for begin, end in self.pauses[:12])
        return (
            f"A soak of {hours(self.seconds)} (hours:minutes:seconds). "
            f"{f'The reading changed at {changed}.' if changed else 'The reading did not change.'} "
            f"{f'Not watched: {paused}.' if paused else 'It was watched all the time.'}"
        )


def hours(at_s: float) -> str:
    """A time as hours, minutes and seconds, as in `1:02:03`."""
    whole = int(at_s)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def soak_text(line: SoakLine) -> str:
    """The line in plain characters, with the hours below it and what the signs mean."""
    column_s = line.seconds / COLUMNS
    signs = [PAUSE] * COLUMNS
    for piece in line.pieces:
        for column in range(int(piece.began_s / column_s), min(COLUMNS, ceil(piece.ended_s / column_s))):
            signs[column] = BESIDE_PRINT if piece.printing else WATCHED
    for begin, end in line.pauses:
        signs[min(COLUMNS - 1, int((begin + end) / 2 / column_s))] = PAUSE
    for at_s in line.changes_s:
        signs[min(COLUMNS - 1, int(at_s / column_s))] = MARK
    scale = f"0:00:00{hours(line.seconds):>{COLUMNS - 7}}"
    return "\n".join(("".join(signs), scale, KEY))


def soak_svg(line: SoakLine) -> str:
    """The same as one SVG, black on white."""
    picture = Picture("A soak on one line", line.description, _LEFT + _WIDTH + _LEFT, _TOP + _BAR + 34)
    picture.text(_LEFT, 20, "Grey: watched; dark: beside a print; white: not watched; cross: changed.", size=12)
    scale = _WIDTH / line.seconds
    for piece in line.pieces:
        fill = "#9a9a9a" if piece.printing else "#e0e0e0"
        width = max(0.5, (piece.ended_s - piece.began_s) * scale)
        picture.box(_LEFT + piece.began_s * scale, _TOP, width, _BAR, fill=fill, stroke="none")
    picture.line(_LEFT, _TOP + _BAR, _LEFT + _WIDTH, _TOP + _BAR)
    for at_s in _ticks(line.seconds):
        x = _LEFT + at_s * scale
        picture.line(x, _TOP + _BAR, x, _TOP + _BAR + 5)
        picture.text(x, _TOP + _BAR + 18, hours(at_s), size=11, text_anchor="middle" if at_s else "start")
    for at_s in line.changes_s:
        x, y = _LEFT + at_s * scale, _TOP + _BAR / 2
        picture.line(x - 5, y - 5, x + 5, y + 5, stroke_width=2.5)
        picture.line(x - 5, y + 5, x + 5, y - 5, stroke_width=2.5)
    return picture.render()


def _ticks(seconds: float) -> Sequence[float]:
    """Whole hours, at most ten of them; quarters of an hour in a short soak."""
    step_s = 900.0 if seconds < 2 * HOUR_S else HOUR_S * max(1, ceil(seconds / HOUR_S / 10))
    return [step_s * number for number in range(int(seconds / step_s) + 1)]
