"""A panel of the desk as it is read off the screen: what is in its frame, and the lines below it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from scripts.walking.eyes import in_words

WIDEST = 80
_TOP, _BOTTOM = "┌└"
_PLACE = re.compile(r"Prompt \d+ of \d+")
_REMARK = 2
"""Below the frame stand the place in the work, the reading, a remark, and the keys."""


@dataclass(frozen=True)
class Panel:
    """The last panel on a screen.

    Attributes:
        framed: the lines in its frame, with its sides.
        below: the lines below it.
    """

    framed: Sequence[str]
    below: Sequence[str]

    @classmethod
    def of(cls, screen: Sequence[str]) -> "Panel":
        """The panel on this screen; without a line where there is none."""
        tops = [place for place, row in enumerate(screen) if row.startswith(_TOP)]
        rows = list(screen[tops[-1] + 1 :]) if tops else list(screen)
        end = next((place for place, row in enumerate(rows) if row.startswith(_BOTTOM)), -1)
        return cls(rows[: max(end, 0)], rows[end + 1 :])

    @property
    def says(self) -> str:
        """What it says, without the countdown and without the remark."""
        return " ".join(word for word in in_words(self.framed).split() if not word.isdigit())

    @property
    def asks(self) -> str:
        """What it wants of the hands: the same words at another prompt are another wish."""
        place = _PLACE.search(" ".join(self.below))
        if place:
            return f"{place[0]}: {'' if 'KEEP' in self.says else self.says}"
        return f"{self.says} {' '.join(self.below[_REMARK : _REMARK + 1])}"

    def cut(self, columns: int) -> list[str]:
        """The lines that are as long as their place, so that something of them may be missing.

        In the frame that is the first line, the title; what stands below it was broken to fit.
        """
        width = min(columns, WIDEST) - 1
        full = [row for row in self.framed[:1] if row[2:3].strip() and row[-3:-2].strip()]
        return [*full, *(row for row in self.below if len(row) >= width)]
