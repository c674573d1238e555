"""One command as the firmware takes it apart."""

import re
from dataclasses import dataclass

_CODE = re.compile(r"\s*([GMT])\s*(\d+)(\.\d+)?")
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)")


@dataclass(frozen=True)
class Command:
    """A command line without number, checksum and comment.

    Attributes:
        text: as it came.
        code: letter and number, as in `M119`; empty when it begins with no such thing.
        line_number: the number it was sent under, if any.
    """

    text: str
    code: str = ""
    line_number: int | None = None

    @classmethod
    def parse(cls, text: str, line_number: int | None = None) -> "Command":
        """Take the code off the text."""
        found = _CODE.match(text)
        code = f"{found[1]}{int(found[2])}{found[3] or ''}" if found else ""
        return cls(text, code, line_number)

    @property
    def argument(self) -> str:
        """Everything behind the code."""
        found = _CODE.match(self.text)
        return self.text[found.end() :].strip() if found else ""

    def has(self, letter: str) -> bool:
        """Whether a word with this letter is there, with or without a number."""
        return letter in re.sub(r"[^A-Z]", "", self.argument)

    def number_of(self, letter: str) -> float | None:
        """The number behind the letter; None when letter or number is missing."""
        place = self.argument.find(letter)
        found = _NUMBER.match(self.argument, place + 1) if place >= 0 else None
        return float(found[0]) if found else None
