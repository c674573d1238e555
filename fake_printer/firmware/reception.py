"""From the line into the ring: receive buffer, emergency words, numbering, and four slots for commands."""

import re
from collections import deque
from collections.abc import Callable, Iterator

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware.command import Command
from fake_printer.firmware.intake import LINE_LIMIT_BYTES, EmergencyWords, Intake, Refusal

RECEIVE_BUFFER_BYTES = 128
RING_SLOTS = 4
# More than an hour of ten questions a second; beyond it the older half is forgotten.
RECEIVED_LINES_KEPT = 50_000
_UP_TO_END = re.compile(rb"[^\r\n]*")


class Reception:
    """Takes bytes at any time, and lines while the ring has room.

    Attributes:
        ring: the commands accepted and not yet acknowledged; the first is the one that runs.
        received_lines: the lines that were read, as text. on_line: told of each.
    """

    def __init__(self, spec: FirmwareSpec, obey: Callable[[Command], None]) -> None:
        self.ring: deque[Command] = deque()
        self.received_lines: list[str] = []
        self.on_line: Callable[[str], None] = lambda _: None
        self.intake = Intake(refuses_lone_checksum=spec.generation == "1.1", ignores_numbers=spec.family == "C")
        self._spec = spec
        self._obey = obey
        self._rx = bytearray()
        self._line = bytearray()
        self._words = EmergencyWords()

    @property
    def free_slots(self) -> int:
        """Slots of the ring that no command is in."""
        return RING_SLOTS - len(self.ring)

    @property
    def buffer_full(self) -> bool:
        """Whether the next byte would be lost."""
        return len(self._rx) >= RECEIVE_BUFFER_BYTES

    def take(self, data: bytes) -> Iterator[None]:
        """Take bytes; yields whenever a line has ended or the buffer is full, and the rest is taken after that.

        An emergency word is obeyed at once; its line is acknowledged in its turn all the same.
        """
        place = 0
        while place < len(data):
            text = _UP_TO_END.match(data, place)[0]  # type: ignore[index]  # it finds nothing at the least
            if text and len(self._rx) + len(text) < RECEIVE_BUFFER_BYTES:
                self._take_text(text)
                place += len(text)
            else:
                self._take_byte(data[place])
                place += 1
                if data[place - 1] in b"\r\n" or self.buffer_full:
                    yield

    def _take_text(self, text: bytes) -> None:
        if self._spec.urgent_words_at_once:
            self._words.take_text(text)
        self._rx += text

    def _take_byte(self, byte: int) -> None:
        word = self._words.feed(byte) if self._spec.urgent_words_at_once else None
        if word is not None:
            self._obey(word)
        if not self.buffer_full:
            self._rx.append(byte)

    def gather(self) -> list[Refusal]:
        """Read the buffer into the ring while it has room; returns the lines that were not taken."""
        refusals = []
        while self._rx and self.free_slots and (line := self._next_line()) is not None:
            if line:
                self._note(line)
            taken = self.intake.take(line)
            if isinstance(taken, Refusal):
                # the rest of the buffer belongs to a conversation that has gone wrong
                self._rx.clear()
                refusals.append(taken)
            elif taken is not None:
                self._accept(taken)
        return refusals

    def _note(self, line: bytes) -> None:
        self.received_lines.append(line.decode("latin-1"))
        self.on_line(self.received_lines[-1])
        if len(self.received_lines) > RECEIVED_LINES_KEPT:
            del self.received_lines[: RECEIVED_LINES_KEPT // 2]

    def _next_line(self) -> bytes | None:
        """The next whole line, cut to the limit; bytes of an unfinished one leave the buffer all the same."""
        ends = [place for place in (self._rx.find(b"\n"), self._rx.find(b"\r")) if place >= 0]
        end = min(ends, default=len(self._rx))
        self._line += self._rx[: min(end, LINE_LIMIT_BYTES - len(self._line))]
        del self._rx[: end + 1]
        if not ends:
            return None
        line, self._line = bytes(self._line), bytearray()
        return line

    def _accept(self, command: Command) -> None:
        early = self._spec.early_words and not self._spec.urgent_words_at_once
        if early and command.code in {"M108", "M112", "M410"}:
            self._obey(command)
        self.ring.append(command)

    def clear(self) -> None:
        """Forget everything that waits."""
        self._rx.clear()
        self._line.clear()
        self.ring.clear()
