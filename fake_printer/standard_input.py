"""What is typed at the process, without ever making a line wait for it."""

import os
import queue
import sys
import threading
from collections.abc import Callable

_CHUNK_BYTES = 4096


class StandardInput:
    """Reads standard input in a thread of its own and keeps the lines until they are asked for.

    Attributes:
        ended: whether the input has been closed and every line been taken.
    """

    def __init__(self, news: Callable[[], None]) -> None:
        """Begin to read; `news` is called, from another thread, whenever there is something to take."""
        self._news = news
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self.ended = False
        threading.Thread(target=self._read, name="standard input", daemon=True).start()

    def take(self) -> list[str]:
        """The whole lines since last asked; a last line without an end counts as whole."""
        lines = []
        while not self.ended:
            try:
                line = self._lines.get_nowait()
            except queue.Empty:
                break
            if line is None:
                self.ended = True
            else:
                lines.append(line)
        return lines

    def _read(self) -> None:
        # the descriptor and not the file object: a thread caught inside the latter at exit stops the interpreter
        try:
            descriptor = sys.stdin.fileno() if sys.stdin else None
        except (OSError, ValueError):
            descriptor = None
        heard = b""
        while descriptor is not None:
            try:
                chunk = os.read(descriptor, _CHUNK_BYTES)
            except OSError:
                break
            if not chunk:
                break
            *whole, heard = (heard + chunk).split(b"\n")
            for line in whole:
                self._lines.put(line.decode("utf-8", "replace").strip())
            self._news()
        if heard:
            self._lines.put(heard.decode("utf-8", "replace").strip())
        self._lines.put(None)
        self._news()
