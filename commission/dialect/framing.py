"""Bytes to lines, and commands to numbered frames.

A `LineBuffer` owns one question: is there a whole line yet? It remembers how far it has looked, so a line that
trickles in costs no more than one that comes at once.
"""

from dataclasses import dataclass

from commission.dialect.sanitise import clean_bytes

# The longest honest line known is an identity or object-model reply of well under 2 KiB. Twice that leaves room for a
# build that says more; beyond it stands a device at the wrong speed or one that never ends a line, and memory must
# not grow with its patience.
LINE_LIMIT_BYTES = 4096

TERMINATOR = b"\n"


@dataclass(frozen=True)
class RawLine:
    """One line as it came, without its terminator.

    Attributes:
        content: the bytes, carriage returns before the newline removed.
        cut: the line was longer than LINE_LIMIT_BYTES and this is one piece of it; a piece is never obeyed.
    """

    content: bytes
    cut: bool = False

    def __post_init__(self) -> None:
        if b"\n" in self.content:
            raise ValueError("a line holds no newline; feed the bytes to a LineBuffer instead")
        if len(self.content) > LINE_LIMIT_BYTES:
            raise ValueError(f"a line holds at most {LINE_LIMIT_BYTES} bytes; feed longer data to a LineBuffer")

    @classmethod
    def of(cls, text: str) -> "RawLine":
        """A line from its printable text, as far as a line may reach."""
        content = text.encode("ascii", "backslashreplace").replace(b"\n", b"\\n")
        return cls(content[:LINE_LIMIT_BYTES], len(content) > LINE_LIMIT_BYTES)

    @property
    def text(self) -> str:
        """The line as printable text. NUL bytes at either end are padding of the sender and are left out."""
        return clean_bytes(self.content.strip(b"\x00"))


class LineBuffer:
    """Collects bytes and hands out whole lines. Both newline conventions are taken; blank lines are handed out too."""

    def __init__(self) -> None:
        self._data = bytearray()
        self._searched = 0
        self._cutting = False

    @property
    def pending(self) -> bytes:
        """What has come of a line that has not ended yet."""
        return bytes(self._data)

    def feed(self, data: bytes) -> list[RawLine]:
        """Take bytes in; return the lines they complete, and pieces of a line that grew past the limit."""
        self._data += data
        lines: list[RawLine] = []
        start = 0
        while (end := self._data.find(TERMINATOR, max(start, self._searched))) >= 0:
            start = self._cut_pieces(lines, start, end)
            lines.append(RawLine(bytes(self._data[start:end]).rstrip(b"\r"), self._cutting))
            self._cutting = False
            start = end + 1
        start = self._cut_pieces(lines, start, len(self._data))
        del self._data[:start]
        self._searched = len(self._data)
        return lines

    def flush(self) -> RawLine | None:
        """Hand out what is pending as a line of its own: the last words before the wire went dead."""
        if not self._data and not self._cutting:
            return None
        line = RawLine(bytes(self._data).rstrip(b"\r"), self._cutting)
        self._data.clear()
        self._searched = 0
        self._cutting = False
        return line

    def _cut_pieces(self, lines: list[RawLine], start: int, end: int) -> int:
        while end - start > LINE_LIMIT_BYTES:
            lines.append(RawLine(bytes(self._data[start : start + LINE_LIMIT_BYTES]), cut=True))
            start += LINE_LIMIT_BYTES
            self._cutting = True
        return start


def split_lines(data: bytes) -> list[RawLine]:
    """All lines of a finished capture, the last one too when it has no newline."""
    buffer = LineBuffer()
    lines = buffer.feed(data)
    rest = buffer.flush()
    return lines if rest is None else [*lines, rest]


def checksum(frame: bytes) -> int:
    """The exclusive-or of all bytes before the asterisk, as the printers compute it."""
    result = 0
    for byte in frame:
        result ^= byte
    return result


def numbered(number: int, command: str) -> bytes:
    """A command with line number and checksum, without the line end.

    Args:
        number: the line number, zero or more.
        command: printable ASCII without an asterisk.

    Raises:
        ValueError: the number is negative or the text cannot stand in a frame.
    """
    if number < 0:
        raise ValueError(f"a line number is zero or more, not {number}")
    if not command.isascii() or not command.isprintable() or "*" in command:
        raise ValueError(f"this cannot stand in a numbered frame: {command!r}")
    frame = f"N{number} {command}".encode("ascii")
    return frame + f"*{checksum(frame)}".encode("ascii")
