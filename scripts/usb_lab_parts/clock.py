"""The time in which the emulated PC could run: what it waits for a processor of a busy machine does not count."""

from __future__ import annotations

import time
from pathlib import Path

_NS = 1e-9


class Clock:
    """A monotonic clock that stands still while the emulator waits for a processor.

    On a busy machine the emulated PC is as slow as its share of the processors. A limit by the usual clock would then
    say how busy the machine is.
    """

    def __init__(self, process: Path) -> None:
        """Args: process: what the kernel tells of the emulator, as in `/proc/123`."""
        self._process = process
        self._waited_s = 0.0

    def s(self) -> float:
        """Seconds; where the kernel does not tell how long a process waited they are those of the monotonic clock."""
        self._waited_s = max(self._waited_s, waited_s(self._process))
        return time.monotonic() - self._waited_s


def waited_s(process: Path) -> float:
    """How long a process has waited for a processor, in seconds: that of its threads which has waited most.

    The second number of `schedstat` is that, in ns (documentation of the Linux kernel, scheduler/sched-stats). A thread
    that has ended tells nothing any more, and neither does a kernel built without these counts.
    """
    return max((_waited_ns(told) * _NS for told in process.glob("task/*/schedstat")), default=0.0)


def _waited_ns(told: Path) -> int:
    try:
        return int(told.read_text(encoding="ascii").split()[1])
    except (OSError, IndexError):
        return 0  # the thread ended between the listing and the reading
