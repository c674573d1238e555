"""Keeps stray keys off the screen between two questions, and out of the next answer."""

import atexit
import os
from typing import Any

try:
    import termios
except ImportError:
    _CAN_SILENCE = False  # Windows: its console is read by the screen library only, and echoes nothing meanwhile
else:
    _CAN_SILENCE = True


class Echo:
    """The echo of one terminal: off while the desk is open, as it was afterwards."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._before: list[Any] | None = None

    def silence(self) -> None:
        """Turn the echo off. A program that ends without `restore` has it put back on the way out."""
        if not _CAN_SILENCE or not os.isatty(self._descriptor):
            return
        self._before = termios.tcgetattr(self._descriptor)
        quiet = termios.tcgetattr(self._descriptor)
        quiet[3] &= ~termios.ECHO
        termios.tcsetattr(self._descriptor, termios.TCSANOW, quiet)
        atexit.register(self.restore)

    def restore(self) -> None:
        """Put the terminal back as it was found; a terminal that is gone needs nothing."""
        before, self._before = self._before, None
        if before is None:
            return
        atexit.unregister(self.restore)
        try:
            termios.tcsetattr(self._descriptor, termios.TCSANOW, before)
        except termios.error:
            return

    def discard(self) -> None:
        """Throw away what was typed and not yet read: it was no answer to a question not yet shown."""
        if self._before is None:
            return
        try:
            termios.tcflush(self._descriptor, termios.TCIFLUSH)
        except termios.error:
            return  # the terminal is gone, and what was typed at it
