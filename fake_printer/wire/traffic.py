"""Writes what passed over the line to a file, one line of text for each line on the wire."""

from typing import TextIO

from fake_printer.wire.line import Direction

_MARKS: dict[Direction, str] = {"host": "host   >", "device": "printer>", "note": "port   :"}
_LONGEST_BYTES = 4096


class TrafficLog:
    """Gathers the bytes of each direction until a line is whole. Bytes are escaped, never written as they are."""

    def __init__(self, file: TextIO, *, started_s: float) -> None:
        """Write to `file`, with times counted from `started_s`."""
        self._file = file
        self._started_s = started_s
        self._parts: dict[Direction, bytearray] = {}

    def __call__(self, now_s: float, direction: Direction, data: bytes) -> None:
        """Take bytes or a note as they happen."""
        part = self._parts.setdefault(direction, bytearray())
        part += data
        if direction == "note":
            self._write(now_s, direction, len(part))
        while b"\n" in part or len(part) > _LONGEST_BYTES:
            end = part.find(b"\n") + 1
            self._write(now_s, direction, end if 0 < end <= _LONGEST_BYTES else _LONGEST_BYTES)

    def finish(self, now_s: float) -> None:
        """Write what is left of lines that never ended."""
        for direction, part in self._parts.items():
            if part:
                self._write(now_s, direction, len(part))

    def _write(self, now_s: float, direction: Direction, count: int) -> None:
        part = self._parts[direction]
        text = bytes(part[:count]).decode("latin-1") if direction == "note" else repr(bytes(part[:count]))[1:]
        del part[:count]
        self._file.write(f"{now_s - self._started_s:10.3f} s {_MARKS[direction]} {text}\n")
        self._file.flush()
