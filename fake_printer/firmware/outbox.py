"""What goes out: bytes, and pauses between them."""

import math
from collections import deque
from collections.abc import Iterable

Piece = bytes | float  # bytes to send, or seconds of silence


def encoded(line: str) -> bytes:
    """A line as it goes over the wire."""
    return line.encode("latin-1", "replace") + b"\n"


class Outbox:
    """A queue of bytes and pauses; what stands behind a pause waits for it, as on a real line."""

    def __init__(self) -> None:
        self._pieces: deque[Piece] = deque()

    def put(self, *pieces: Piece) -> None:
        """Append these."""
        self._pieces.extend(pieces)

    def put_lines(self, lines: Iterable[str]) -> None:
        """Append whole lines."""
        self._pieces.extend(encoded(line) for line in lines)

    def take(self) -> bytes:
        """Everything up to the first pause."""
        if not self._pieces:
            return b""
        ready = bytearray()
        while self._pieces and isinstance(self._pieces[0], bytes):
            ready += self._pieces[0]
            self._pieces.popleft()
        return bytes(ready)

    def advance(self, elapsed_s: float) -> bytes:
        """Let time pass; returns what became ready."""
        if not self._pieces:
            return b""
        ready = bytearray(self.take())
        left_s = elapsed_s
        while self._pieces and left_s > 0:
            pause_s = self._pieces.popleft()
            if isinstance(pause_s, bytes):
                raise TypeError("bytes stand where only a pause can")
            if pause_s > left_s:
                self._pieces.appendleft(pause_s - left_s)
                return bytes(ready)
            left_s -= pause_s
            ready += self.take()
        return bytes(ready)

    def until_next_s(self) -> float:
        """Seconds until the pause that holds up what stands behind it is over."""
        return self._pieces[0] if self._pieces and not isinstance(self._pieces[0], bytes) else math.inf
