"""Counts how often a device file is opened, exactly, where the operating system reports it.

Asking a pseudo-terminal whether its far end is open sees a state, not an event: a host that closes the port and opens
it again within a blink goes unnoticed, while a real bridge chip would have restarted the board. Linux queues every
opening and closing of a file for whoever asked to be told (inotify, see inotify(7)); other systems have nothing of the
kind for device files, and there the state has to do. Two closings in a row are reported as one if nobody looks between
them; `correct` sets that right as soon as nobody holds the file.
"""

import ctypes
import os
import struct
import sys
from contextlib import suppress
from pathlib import Path

# from linux/inotify.h
_OPEN = 0x00000020
_CLOSE = 0x00000008 | 0x00000010
_EVENT = struct.Struct("iIII")
_READ_BYTES = 4096


class OpeningCounter:
    """How many hold a file open, and how often that number rose from none."""

    def __init__(self, path: Path) -> None:
        """Begin to watch a file that nobody has open. Where that is impossible, nothing is ever counted."""
        self._path = path
        self._queue = _new_queue()
        self._watch = -1
        self._holders = 0
        self.resume()

    def resume(self) -> None:
        """Watch again after `pause`."""
        if self._queue is not None:
            self._watch = _libc().inotify_add_watch(self._queue, os.fsencode(self._path), _OPEN | _CLOSE)

    def pause(self) -> None:
        """Do not count what happens from here on, because it will be our own doing."""
        if self._queue is not None:
            _libc().inotify_rm_watch(self._queue, self._watch)

    @property
    def watching(self) -> bool:
        """Whether it is told of openings; otherwise somebody has to look."""
        return self._queue is not None and self._watch >= 0

    def fileno(self) -> int:
        """What to sleep on while it is watching."""
        return -1 if self._queue is None else self._queue

    def take(self) -> int:
        """How often the file was opened, while nobody had it open, since last asked."""
        rises = 0
        for mask in self._events():
            if mask & _OPEN:
                rises += self._holders == 0
                self._holders += 1
            elif mask & _CLOSE:
                self._holders = max(0, self._holders - 1)
        return rises

    def correct(self, *, held: bool) -> int:
        """Bring the count into line with what is seen to be true; returns 1 for an opening that was not reported."""
        missed = int(held and self._holders == 0)
        self._holders = max(1, self._holders) if held else 0
        return missed

    def close(self) -> None:
        """Stop watching."""
        if self._queue is not None:
            os.close(self._queue)
            self._queue = None

    def _events(self) -> list[int]:
        if self._queue is None:
            return []
        heard = b""
        with suppress(BlockingIOError):
            heard = os.read(self._queue, _READ_BYTES)
        # a device file has no name in its events, so all of them have the size of the head
        return [mask for _, mask, _, _ in _EVENT.iter_unpack(heard)]


def _libc() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)


def _new_queue() -> int | None:
    if sys.platform != "linux":
        return None
    queue: int = _libc().inotify_init1(os.O_NONBLOCK | os.O_CLOEXEC)
    return queue if queue >= 0 else None  # the user's share of queues may be used up
