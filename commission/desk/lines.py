"""Lines typed at a terminal, as they come, without blocking the loop and without any screen library.

The terminal stays in its own line mode: its echo, its erase key and whatever reads it aloud work as everywhere else.
"""

import asyncio
import codecs
import os
import threading
from collections.abc import Callable
from typing import TextIO

# A line that long was not typed; what follows is dropped up to its end.
LINE_LIMIT = 4096


class TypedLines:
    """Reads whole lines from a stream's descriptor while it is open.

    Attributes:
        on_line: called once lines have come, or the end of the input.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._decoder = codecs.getincrementaldecoder(stream.encoding or "utf-8")("backslashreplace")
        self._pending = ""
        self._lines: asyncio.Queue[str | None] = asyncio.Queue()
        self._ended = False
        self.on_line: Callable[[], None] = lambda: None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._watched = False

    def open(self) -> None:
        """Begin to listen. Where the loop cannot watch a descriptor, a thread reads it instead."""
        self._loop = asyncio.get_running_loop()
        try:
            self._loop.add_reader(self._stream.fileno(), self._readable)
            self._watched = True
        except NotImplementedError:
            threading.Thread(target=self._read_for_ever, daemon=True, name="typed lines").start()

    def close(self) -> None:
        """Stop listening."""
        if self._watched and self._loop is not None:
            self._loop.remove_reader(self._stream.fileno())
            self._watched = False

    def forget(self) -> None:
        """Throw away what was typed before the question was shown; that the input has ended is not forgotten."""
        self._pending = ""
        self.waiting()

    async def next(self) -> str | None:
        """The next line without its end; None once the input has ended, and ever after."""
        return None if self._ended and self._lines.empty() else await self._lines.get()

    def waiting(self) -> list[str | None]:
        """The lines that are there already, without waiting; once the input has ended, None behind them, ever after."""
        lines = [self._lines.get_nowait() for _ in range(self._lines.qsize())]
        return [line for line in lines if line is not None] + [None] * self._ended

    def feed(self, data: bytes) -> None:
        """Take bytes as they come; empty bytes are the end of input."""
        self._pending += self._decoder.decode(data, final=not data)
        *lines, self._pending = self._pending.split("\n")
        for line in lines if data else [*lines, *filter(None, [self._pending])]:
            self._lines.put_nowait(line.rstrip("\r")[:LINE_LIMIT])
        self._pending = self._pending[:LINE_LIMIT] if data else ""
        if not data:
            self._ended = True
            self._lines.put_nowait(None)
        self.on_line()

    def _readable(self) -> None:
        data = self._read()
        self.feed(data)
        if not data:
            self.close()

    def _read(self) -> bytes:
        try:
            return os.read(self._stream.fileno(), 4096)
        except OSError:
            return b""  # a terminal that was closed answers with an error: the same as the end of input

    def _read_for_ever(self) -> None:
        # Reads the descriptor itself: a thread waiting inside sys.stdin would hold its lock while the program ends.
        data = b"-"
        while data and self._loop is not None and not self._loop.is_closed():
            data = self._read()
            self._loop.call_soon_threadsafe(self.feed, data)
