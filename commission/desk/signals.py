"""Signals of the operating system: taken over by name, and given back."""

import signal
from collections.abc import Callable, Iterable, Mapping
from types import FrameType
from typing import Any

Handler = Callable[[int, FrameType | None], None] | signal.Handlers
Taken = Mapping[signal.Signals, Any]
"""What handled each signal before."""

ENDING = {
    "SIGINT": "stopped by Ctrl-C",
    "SIGQUIT": "stopped by Ctrl-\\",
    "SIGTERM": "the program was told to end",
    "SIGHUP": "the terminal was closed",
    "SIGBREAK": "stopped by Ctrl-Break",
}
"""Every signal by which a run is asked to end, and how the record calls that.

Not every system has all of them; a closed terminal window is the hang-up, Ctrl-Break is Windows' own.
"""


def take(names: Iterable[str], handler: Handler) -> Taken:
    """Have these signals handled so, as far as this system has them and this thread may; undone by `give_back`.

    A hang-up that is ignored when the program starts stays so: that is how a run is told to outlive its terminal.
    """
    before: dict[signal.Signals, Any] = {}
    for name in names:
        number = getattr(signal, name, None)
        if number is None or (name == "SIGHUP" and signal.getsignal(number) is signal.SIG_IGN):
            continue
        try:
            # The plain handler rather than the loop's own: it exists on every system, and what was there before can
            # be put back.
            before[number] = signal.signal(number, handler)
        except ValueError:
            return before  # not the main thread: signals are somebody else's there
    return before


def give_back(taken: Taken) -> None:
    """Have each signal handled as before; one that no part of this program handled is handled as usual."""
    for number, handler in taken.items():
        signal.signal(number, signal.SIG_DFL if handler is None else handler)
