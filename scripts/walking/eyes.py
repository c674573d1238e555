"""What a person sees of a terminal: the screen, what has left it at the top, and what did not fit on it."""

import re
import string
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache

import pyte

from commission.desk.letters import HEIGHT, large

_INK = "█"
_GAP = 2
"""Columns between two large letters."""
_FRAMES = re.compile("[─-╿]")
_SPACED = re.compile(r"\S(?: \S)*(?:   \S(?: \S)*)*")


@dataclass(frozen=True)
class Size:
    """Of a terminal, in columns and rows."""

    columns: int
    rows: int

    @classmethod
    def of(cls, text: str) -> "Size":
        """The size that is written as `80x24`."""
        columns, rows = map(int, text.split("x"))
        return cls(columns, rows)


class Eyes(pyte.Screen):
    """A terminal's screen.

    Attributes:
        gone: the lines that have left it at the top, oldest first.
        wrapped: the lines that the terminal itself had to break, because more was printed than it is wide.
    """

    def __init__(self, size: Size) -> None:
        self.gone: list[str] = []
        self.wrapped: list[str] = []
        self._rows: list[str] = [""] * size.rows
        self._drawing = False
        super().__init__(size.columns, size.rows)

    def draw(self, data: str) -> None:
        """Draw text; what follows the last column goes on in the next line."""
        self._drawing = True
        super().draw(data)
        self._drawing = False

    def linefeed(self) -> None:
        """Go to the next line."""
        if self._drawing:
            self.wrapped.append(self.seen()[self.cursor.y])
        super().linefeed()

    def index(self) -> None:
        """Go one line down; at the bottom everything moves up, and the first line is gone."""
        if self.cursor.y == self.lines - 1:
            self.gone.append(self.seen()[0])
        super().index()

    def seen(self) -> list[str]:
        """The lines of the screen, without blank ends."""
        for place in self.dirty:
            line = self.buffer[place]
            self._rows[place] = "".join(line[column].data for column in range(self.columns)).rstrip()
        self.dirty.clear()
        return self._rows

    @property
    def picture(self) -> str:
        """The screen as one text, without blank ends."""
        return "\n".join(self.seen()).rstrip()

    @property
    def printed(self) -> int:
        """How many lines were ever printed above the one where the cursor stands."""
        return len(self.gone) + int(self.cursor.y)

    def since(self, line: int) -> list[str]:
        """All lines from this one on, also those that are gone."""
        return [*self.gone, *self.seen()][line:]

    @property
    def prompt(self) -> str:
        """What stands before the cursor where a line of typing is waited for; empty where none is."""
        row = self.seen()[self.cursor.y]
        waits = bool(row) and not self.cursor.hidden and self.cursor.x == len(row) + 1
        return row if waits else ""


def in_words(lines: Sequence[str]) -> str:
    """What the lines say, in one line: without frames, large letters and spaced capitals read as words."""
    bare = [_FRAMES.sub(" ", line) for line in lines]
    said: list[str] = []
    place = 0
    while place < len(bare):
        high = _INK in bare[place]
        said.append(_large(bare[place : place + HEIGHT]) if high else _unspaced(bare[place].strip()))
        place += HEIGHT if high else 1
    return " ".join(" ".join(said).split())


def _large(lines: Sequence[str]) -> str:
    """The word that is drawn in these lines; `?` for a letter nobody knows."""
    margin = min(len(line) - len(line.lstrip()) for line in lines)
    width = max(len(line.rstrip()) for line in lines)
    left = [line[margin:width].ljust(width - margin + _GAP) for line in lines]
    word = ""
    while len(left[0]) > _GAP:
        letter, drawn = next((each for each in _letters() if _begins(left, each[1])), ("?", [" " * len(left[0])]))
        word += letter
        left = [line[len(drawn[0]) + _GAP :] for line in left]
    return word


def _begins(lines: Sequence[str], drawn: Sequence[str]) -> bool:
    return all(line.startswith(part) for line, part in zip(lines, drawn, strict=True))


@cache
def _letters() -> list[tuple[str, list[str]]]:
    """Every letter that has a large form, the blank last, as it begins many others."""
    known = []
    for letter in (*string.ascii_uppercase, *string.digits, " "):
        with suppress(ValueError):
            known.append((letter, large(letter, _INK)))
    return known


def _unspaced(text: str) -> str:
    if len(text) < 5 or not _SPACED.fullmatch(text):
        return text
    return " ".join(word.replace(" ", "") for word in text.split("   "))
