"""From bytes to accepted lines: length limit, comments, line numbers and checksums."""

import re
from dataclasses import dataclass
from functools import lru_cache, reduce
from operator import xor

from fake_printer.firmware.command import Command

# The builds imitated here keep at most this many bytes of a line and drop the rest without a word.
LINE_LIMIT_BYTES = 96
_NUMBERED = re.compile(r"\s*N\s*(-?\d+)\s*(.*)", re.DOTALL)
_RESTART_NUMBER = re.compile(r"M110\b.*?N\s*(-?\d+)")


@dataclass(frozen=True)
class Refusal:
    """A line that was not taken.

    Attributes:
        reason: one of checksum, order, no-checksum, no-number.
        last_line: the number of the last line taken. got: the number on this one.
    """

    reason: str
    last_line: int
    got: int = 0


class Intake:
    """Decides which lines are taken. It remembers the number of the last one.

    Older builds also refuse a checksum without a number; newer ones take the star for text. A host computer does not
    look at either.
    """

    def __init__(self, *, refuses_lone_checksum: bool, ignores_numbers: bool = False) -> None:
        self.last_line = 0
        self._refuses_lone_checksum = refuses_lone_checksum
        self._ignores_numbers = ignores_numbers

    def take(self, raw: bytes) -> Command | Refusal | None:
        """Judge one line without its end; None for a line with nothing in it."""
        text = raw[:LINE_LIMIT_BYTES].decode("latin-1").split(";")[0].strip()
        if not text:
            return None
        body, star, tail = text.rpartition("*")
        numbered = _NUMBERED.match(body if star else text)
        if numbered is None:
            lone = bool(star) and self._refuses_lone_checksum
            return Refusal("no-number", self.last_line) if lone else Command.parse(text)
        if self._ignores_numbers:
            return Command.parse(numbered[2].strip())
        return self._numbered(int(numbered[1]), numbered[2].strip(), body if star else None, tail)

    def _numbered(self, number: int, text: str, body: str | None, tail: str) -> Command | Refusal:
        restart = _RESTART_NUMBER.match(text)
        if number != self.last_line + 1 and not text.startswith("M110"):
            return Refusal("order", self.last_line, number)
        if body is None:
            return Refusal("no-checksum", self.last_line, number)
        if tail.strip() != str(checksum_of(body)):
            return Refusal("checksum", self.last_line, number)
        self.last_line = int(restart[1]) if restart else number
        return Command.parse(text, number)


def checksum_of(body: str) -> int:
    """The exclusive-or of all bytes before the star."""
    return reduce(xor, body.encode("latin-1"), 0)


class EmergencyWords:
    """Recognises a few words byte by byte as they arrive, whatever else is going on: M108, M112, M410 and M876."""

    def __init__(self) -> None:
        self._line = bytearray()

    def take_text(self, text: bytes) -> None:
        """Take bytes that end no line."""
        self._line += text[: LINE_LIMIT_BYTES - len(self._line)]

    def feed(self, byte: int) -> Command | None:
        """Take one byte; returns the command when its line is complete."""
        if byte not in b"\r\n":
            if len(self._line) < LINE_LIMIT_BYTES:
                self._line.append(byte)
            return None
        text, self._line = self._line.decode("latin-1"), bytearray()
        return _urgent_in(text)


@lru_cache(maxsize=256)
def _urgent_in(text: str) -> Command | None:
    """The same few questions are asked again and again; none of them is urgent."""
    command = Command.parse(re.sub(r"^\s*N\s*-?\d+\s*", "", text).split("*")[0])
    return command if command.code in {"M108", "M112", "M410", "M876"} else None
