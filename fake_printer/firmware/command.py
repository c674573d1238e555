"""One command as the firmware takes it apart."""

import re
from dataclasses import dataclass
from functools import lru_cache

_CODE = re.compile(r"\s*([GMT])\s*(\d+)(\.\d+)?")
_WORD = re.compile(r"\s*([A-Za-z_]{3,40})(?=\s|$)")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)")


@dataclass(frozen=True)
class Command:
    """A command line without number, checksum and comment.

    Attributes:
        text: as it came.
        code: letter and number, as in `M119`, or a whole word in capitals; empty when it begins with neither.
        line_number: the number it was sent under, if any.
    """

    text: str
    code: str = ""
    line_number: int | None = None

    @classmethod
    def parse(cls, text: str, line_number: int | None = None) -> "Command":
        """Take the code off the text."""
        return cls(text, _code_of(text), line_number)

    @property
    def argument(self) -> str:
        """Everything behind the code."""
        found = _CODE.match(self.text) or _WORD.match(self.text)
        return self.text[found.end() :].strip() if found else ""

    def value_of(self, name: str) -> str | None:
        """What stands behind `NAME=` in a command of words; None when it is not there."""
        found = re.search(rf"\b{name}=(\S+)", self.argument)
        return found[1] if found else None

    def has(self, letter: str) -> bool:
        """Whether a word with this letter is there, with or without a number."""
        return letter in re.sub(r"[^A-Z]", "", self.argument)

    def number_of(self, letter: str) -> float | None:
        """The number behind the letter; None when letter or number is missing."""
        place = self.argument.find(letter)
        found = _NUMBER.match(self.argument, place + 1) if place >= 0 else None
        return float(found[0]) if found else None


@lru_cache(maxsize=256)
def _code_of(text: str) -> str:
    found = _CODE.match(text)
    word = _WORD.match(text)
    return f"{found[1]}{int(found[2])}{found[3] or ''}" if found else word[1].upper() if word else ""
