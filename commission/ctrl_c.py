"""Ctrl-C wherever no run has begun: the first one stops the program, a second one ends it at once.

An import that is broken off half way leaves modules behind that lack names, and ends in an error that is none: what
hits an import ends the program there, where nothing is open yet. A run takes the signals for itself
(commission/cli/signals.py).
"""

import os
import signal
import sys
from contextlib import suppress
from types import FrameType

STOPPED = 130
"""What a shell reports of an interrupted program; the table of exit codes has it too."""
_IMPORT = "<frozen importlib"


def stop_on_ctrl_c() -> None:
    """Take Ctrl-C over; one that is ignored, as in the background, stays so."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _stop)


def _stop(number: int, frame: FrameType | None) -> None:
    signal.signal(signal.SIGINT, _end)
    if _imports(frame):
        with suppress(OSError, ValueError, RuntimeError):
            sys.stderr.write("commission: Stopped.\n")
            sys.stderr.flush()
        _end(number, frame)
    raise KeyboardInterrupt


def _imports(frame: FrameType | None) -> bool:
    """Whether a module is being loaded just now."""
    while frame is not None and not frame.f_code.co_filename.startswith(_IMPORT):
        frame = frame.f_back
    return frame is not None


def _end(_number: int, _frame: FrameType | None) -> None:
    with suppress(OSError, ValueError, RuntimeError):
        sys.stdout.flush()
    os._exit(STOPPED)
