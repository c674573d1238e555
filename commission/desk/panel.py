"""What stands on the screen while the operator's hands are busy: pure text, line by line, for any size of terminal.

The word and the countdown are drawn large where there is room; a smaller terminal gets the word only, a still smaller
one spaced capitals. When the dwell begins the word gives way to *keep still*, so that the change is seen from across
the bench. Below the frame stand the place in the work, the reading, what was noted, and the keys.
"""

import math
from dataclasses import dataclass
from textwrap import wrap

from commission.asking.request import TakeTrial, Watch
from commission.desk import wording
from commission.desk.base import Mark, Status
from commission.desk.letters import large, spaced

WIDEST = 80
# Frame, a large word, the line under it, and the four lines below the frame; a second large word needs eight more.
_ROWS_FOR_ONE = 15
_ROWS_FOR_TWO = 23

Line = tuple[str, str]
"""A style (`bold`, `reverse` or none) and a text without line end."""

_BETWEEN = "   "
"""Stands between two keys."""


@dataclass(frozen=True)
class Space:
    """What the terminal offers.

    Attributes:
        columns: its width.
        rows: its height.
        blocks: whether it can show block and line-drawing characters.
    """

    columns: int
    rows: int
    blocks: bool = True

    @property
    def width(self) -> int:
        """The width used: never all columns, as some terminals wrap after the last one."""
        return max(20, min(self.columns, WIDEST) - 1)

    @property
    def inner(self) -> int:
        """The width between the sides of the frame."""
        return self.width - 4

    def enlarged(self, word: str, rows_needed: int) -> list[str]:
        """The word drawn large; nothing where it does not fit."""
        drawn = large(word, "█" if self.blocks else "#")
        return drawn if len(drawn[0]) <= self.inner and self.rows >= rows_needed else []

    def capitals(self, text: str) -> str:
        """The text in spaced capitals, or in plain ones where those do not fit."""
        return spaced(text) if len(spaced(text)) <= self.inner else text.upper()


def panel(
    request: TakeTrial | Watch, status: Status, noted: tuple[Mark, ...], space: Space, where: str = ""
) -> list[Line]:
    """The whole panel, not higher than the terminal; how far the run is stands on the upper edge of its frame."""
    below = [
        ("bold", _place(request, status)),
        ("bold", _reading(request, status)),
        *(("reverse" if noted or status.note else "", line) for line in _remarks(status, noted, space)),
        *(("", line) for line in _keys(request, space)),
    ]
    room = max(0, space.rows - len(below) - 1)
    lines = [*_frame(_framed(request, status, space), space, where)[:room], *below]
    return [(style, text[: space.width]) for style, text in lines]


def _keys(request: TakeTrial | Watch, space: Space) -> list[str]:
    """The keys that work, on two lines where one is too narrow: none of them may be cut off."""
    if isinstance(request, Watch) and not request.marks:
        return [wording.WATCH_KEYS_LINE]
    if len(wording.KEYS_LINE) <= space.width:
        return [wording.KEYS_LINE]
    keys = wording.KEYS_LINE.split(_BETWEEN)
    return [_BETWEEN.join(keys[:2]), _BETWEEN.join(keys[2:])]


def _reading(request: TakeTrial | Watch, status: Status) -> str:
    """What is read; during a trial it is not shown before the dwell is over."""
    return wording.HIDDEN if isinstance(request, TakeTrial) else f"Reading: {wording.reading(status, capitals=True)}"


def _framed(request: TakeTrial | Watch, status: Status, space: Space) -> list[str]:
    if isinstance(request, Watch):
        title = space.capitals(wording.clean(request.title))
        told = [part for line in request.lines for part in wrap(wording.clean(line), space.inner)]
        if status.word:
            how = told if status.word == request.word else []
            return [title, "", *_word(wording.clean(status.word), space), *how]
        return [title, *told, *_countdown(status.seconds_left, space)]
    if _dwelling(status):
        return _keep_still(request, space)
    word, rest = wording.order(request.instruction)
    left_s = request.countdown_s if status.seconds_left is None else status.seconds_left
    return [*_word(word, space), space.capitals(rest), *_countdown(left_s, space)]


def _dwelling(status: Status) -> bool:
    return bool(status.progress) and not status.seconds_left


def _keep_still(request: TakeTrial, space: Space) -> list[str]:
    second = space.enlarged("STILL", _ROWS_FOR_TWO)
    told = f"after: {' '.join(wording.order(request.instruction)).lower()}"
    if not second:
        return [*_word("KEEP STILL", space), told]
    return [*space.enlarged("KEEP", _ROWS_FOR_TWO), "", told, "", *second]


def _word(word: str, space: Space) -> list[str]:
    drawn = space.enlarged(word, _ROWS_FOR_ONE)
    return [*drawn, ""] if drawn else [space.capitals(word)]


def _countdown(left_s: float | None, space: Space) -> list[str]:
    digits = space.enlarged(str(math.ceil(left_s)), _ROWS_FOR_TWO) if left_s is not None else []
    return ["", *digits] if digits else []


def _place(request: TakeTrial | Watch, status: Status) -> str:
    where = wording.place(request) if isinstance(request, TakeTrial) else "Watch"
    left = f"{math.ceil(status.seconds_left)} s left" if status.seconds_left else ""
    return "   ".join(part for part in (where, left, wording.clean(status.progress)) if part)


def _frame(lines: list[str], space: Space, where: str) -> list[Line]:
    across, down, corners = ("─", "│", "┌┐└┘") if space.blocks else ("-", "|", "++++")
    level = across * (space.width - 2)
    head = f"{across} {where} "[: space.width - 2].ljust(space.width - 2, across) if where else level
    body = [("bold", f"{down} {line[: space.inner].center(space.inner)} {down}") for line in lines]
    return [("", corners[0] + head + corners[1]), *body, ("", corners[2] + level + corners[3])]


def _remarks(status: Status, noted: tuple[Mark, ...], space: Space) -> list[str]:
    """What was noted and what is to be done, on two lines where one is too narrow and there is room for them."""
    marks = [f"noted: {mark.value}" for mark in dict.fromkeys(noted)]
    told = "   ".join(part for part in (*marks, wording.clean(status.note)) if part)
    if len(told) <= space.width or space.rows < _ROWS_FOR_ONE:
        return [told]
    return wrap(told, space.width)[:2]
