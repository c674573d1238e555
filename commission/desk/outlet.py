"""Printing that never waits for the terminal: a thread of its own writes, whoever reads or does not read.

A terminal that was stopped by a key, or a pipe that nobody reads, holds up a program that writes to it for as long as
it pleases; a hot printer would wait with it.
"""

import io
import os
import select
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

MOST_WAITING_BYTES = 1 << 20
"""Some hours of a guided run. What comes when so much is waiting is dropped: nobody reads, and the record has it."""
LAST_WORDS_S = 2.0
"""How long the end of a run waits for its last lines to be taken."""


class Outlet(io.BufferedIOBase):
    """Takes bytes at once and writes them to a descriptor when that takes them, in order.

    Writing raises OSError once the descriptor has refused something: the terminal is gone.
    """

    name = "outlet"

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._waiting = bytearray()
        self._news = threading.Condition()
        self._failure: OSError | None = None
        self._idle = True
        self._over = False
        self._taken_bytes = 0
        threading.Thread(target=self._work, name="outlet", daemon=True).start()

    def writable(self) -> bool:
        """Yes."""
        return True

    def isatty(self) -> bool:
        """Whether a terminal is behind it."""
        return os.isatty(self._descriptor)

    def tell(self) -> int:
        """How many bytes it was given, written or not."""
        return self._taken_bytes

    def fileno(self) -> int:
        """The descriptor, for whoever asks how large the terminal is."""
        return self._descriptor

    def write(self, data: Any, /) -> int:
        """Keep the bytes for the thread."""
        piece = bytes(data)
        with self._news:
            self._taken_bytes += len(piece)
            if self._failure is not None:
                raise OSError(self._failure.errno, self._failure.strerror) from self._failure
            if len(self._waiting) < MOST_WAITING_BYTES:
                self._waiting += piece
                self._idle = False
                self._news.notify_all()
        return len(piece)

    def drain(self, limit_s: float) -> bool:
        """Wait until all of it was taken, so long at most; whether it was."""
        with self._news:
            return self._news.wait_for(lambda: self._idle or self._failure is not None, limit_s)

    def finish(self, limit_s: float) -> None:
        """Have the last of it taken, waiting so long at most; nothing is written afterwards."""
        self.drain(limit_s)
        with self._news:
            self._over = True
            self._news.notify_all()

    def _work(self) -> None:
        while self._failure is None and not self._over:
            with self._news:
                self._idle = not self._waiting
                self._news.notify_all()
                self._news.wait_for(lambda: bool(self._waiting) or self._over)
                piece, self._waiting = self._waiting, bytearray()
            self._hand_over(memoryview(piece))

    def _hand_over(self, piece: memoryview) -> None:
        # the descriptor itself: a thread that waits inside a stream would hold its lock while the program ends
        try:
            while piece:
                piece = piece[self._written(piece) :]
        except OSError as failure:
            with self._news:
                self._failure = failure
                self._news.notify_all()

    def _written(self, piece: memoryview) -> int:
        try:
            return os.write(self._descriptor, piece)
        except BlockingIOError:  # somebody has the descriptor not wait; this thread may
            select.select([], [self._descriptor], [])
            return 0


@contextmanager
def outlet(stream: TextIO) -> Iterator[TextIO]:
    """The stream's stand-in that never waits; at the end of the block its last lines are given a moment.

    A stream without a descriptor, and one of a system whose consoles are no descriptors, is its own stand-in.
    """
    descriptor = _descriptor(stream)
    if descriptor is None:
        yield stream
        return
    stream.flush()
    raw = Outlet(descriptor)
    try:
        yield io.TextIOWrapper(raw, encoding=stream.encoding, errors="backslashreplace", write_through=True)
    finally:
        raw.finish(LAST_WORDS_S)


def _descriptor(stream: TextIO) -> int | None:
    try:
        return stream.fileno() if os.name == "posix" else None
    except (OSError, ValueError):
        return None
