"""Keeps stray keys off the screen between two questions, and out of the next answer."""

import atexit
import contextlib
import os
import sys
from typing import Any

if sys.platform != "win32":  # its console is read by the screen library only, and echoes nothing meanwhile
    import termios


class Echo:
    """The echo of one terminal: off while the desk is open, as it was afterwards."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._before: list[Any] | None = None

    def silence(self) -> None:
        """Turn the echo off. A program that ends without `restore` has it put back on the way out."""
        if sys.platform != "win32" and os.isatty(self._descriptor):
            self._before = termios.tcgetattr(self._descriptor)
            quiet = termios.tcgetattr(self._descriptor)
            quiet[3] &= ~termios.ECHO
            termios.tcsetattr(self._descriptor, termios.TCSANOW, quiet)
            atexit.register(self.restore)

    def restore(self) -> None:
        """Put the terminal back as it was found; a terminal that is gone needs nothing."""
        before, self._before = self._before, None
        if sys.platform != "win32" and before is not None:
            atexit.unregister(self.restore)
            with contextlib.suppress(termios.error):
                termios.tcsetattr(self._descriptor, termios.TCSANOW, before)

    def discard(self) -> None:
        """Throw away what was typed and not yet read: it was no answer to a question not yet shown."""
        if sys.platform != "win32" and self._before is not None:
            with contextlib.suppress(termios.error):  # the terminal is gone, and what was typed at it
                termios.tcflush(self._descriptor, termios.TCIFLUSH)
