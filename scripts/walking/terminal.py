"""The tool as a process at a pseudo-terminal of a given size, and the two ways in which it is walked."""

import contextlib
import fcntl
import os
import select
import signal
import socket
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import pyte

from scripts.walking.eyes import Eyes, Size
from scripts.walking.launcher import MARK
from tests.support import loaded_tool
from tests.support.forked import CAN_FORK, Forked, begun

ROOT = Path(__file__).resolve().parent.parent.parent
_STARTER = """\
import fcntl, os, signal, sys, termios
for name in ("SIGINT", "SIGQUIT", "SIGTERM", "SIGHUP"):
    signal.signal(getattr(signal, name), signal.SIG_DFL)
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.executable, [sys.executable, *sys.argv[1:]])
"""
_LAUNCHER = str(ROOT / "scripts/walking/launcher.py")
_MOST_BYTES = 65536


class Stuck(Exception):
    """The tool neither prints nor waits to be looked at; the text has its screen."""


class Terminal:
    """A terminal with the tool at it.

    Attributes:
        eyes: what is seen of it.
        process: the tool.
    """

    def __init__(
        self, eyes: Eyes, process: "Forked | subprocess.Popen[bytes]", keys: int, looks: socket.socket
    ) -> None:
        self.eyes = eyes
        self.process = process
        self._keys = keys
        self._looks = looks
        self._stream = pyte.ByteStream(eyes)
        self._shown = b""
        self._moments = b""
        self._marks = 0

    def request(self, within_s: float) -> str:
        """The moment at which the tool waits to be looked at, with all printed before seen; empty when it has ended.

        Raises:
            Stuck: nothing came in so many real seconds.
        """
        until_s = time.monotonic() + within_s
        while b"\n" not in self._moments:
            if not self._hear(until_s, self._looks):
                self._see_the_rest(until_s)
                return ""
        line, self._moments = self._moments.split(b"\n", 1)
        self._marks += 1
        mark = MARK.format(self._marks).encode()
        while mark not in self._shown:
            self._hear(until_s)
        seen, self._shown = self._shown.split(mark, 1)
        self._stream.feed(seen)
        return line.decode()

    def answer(self, line: str) -> None:
        """Say what came of looking."""
        self._looks.sendall(line.encode() + b"\n")

    def type(self, text: str) -> None:
        """Press keys."""
        os.write(self._keys, text.encode())

    def _hear(self, until_s: float, *others: socket.socket) -> bool:
        """Take what comes; False once the tool will wait for no more looks."""
        watched = [self._keys, *(each.fileno() for each in others)]
        ready = select.select(watched, [], [], max(0.0, until_s - time.monotonic()))[0]
        if not ready:
            raise Stuck(f"{self.eyes.picture}\n{self._shown.decode(errors='replace')}")
        if self._keys in ready:
            self._shown += self._read()
        if self._looks.fileno() not in ready:
            return True
        data = self._looks.recv(_MOST_BYTES)
        self._moments += data
        return bool(data)

    def _read(self) -> bytes:
        try:
            return os.read(self._keys, _MOST_BYTES)
        except OSError:  # the last program at it has ended
            return b""

    def _see_the_rest(self, until_s: float) -> None:
        while piece := self._read():
            self._shown += piece
            if time.monotonic() > until_s:
                raise Stuck(self.eyes.picture)
        self._stream.feed(self._shown)


@contextlib.contextmanager
def at_a_terminal(words: Sequence[str], folder: Path, size: Size, within_s: float) -> Iterator[Terminal]:
    """The tool with these words on its command line, in a terminal of this size; ended with the block in any case."""
    near, far = os.openpty()
    fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", size.rows, size.columns, 0, 0))
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS")}
    with socket.create_server(("127.0.0.1", 0)) as waiting:
        waiting.settimeout(within_s)
        control = f"127.0.0.1:{waiting.getsockname()[1]}"
        around = kept | {"TERM": "xterm", "LANG": "C.UTF-8", "TZ": "UTC", "PYTHONPATH": str(ROOT)}
        process = (_forked if CAN_FORK else _from_nothing)((control, *words), folder, far, around)
        os.close(far)
        try:
            with waiting.accept()[0] as looks:
                yield Terminal(Eyes(size), process, near, looks)
                process.wait(within_s)
        finally:
            with contextlib.suppress(ProcessLookupError):
                process.send_signal(signal.SIGKILL)
            process.wait()
            os.close(near)


def _forked(words: Sequence[str], folder: Path, far: int, around: Mapping[str, str]) -> Forked:
    line, ends = [sys.executable, _LAUNCHER, *words], (far, far, far)
    return begun(loaded_tool.__name__, line, ends, cwd=folder, environment=around, terminal=True)


def _from_nothing(words: Sequence[str], folder: Path, far: int, around: Mapping[str, str]) -> "subprocess.Popen[bytes]":
    line = [sys.executable, "-c", _STARTER, _LAUNCHER, *words]
    return subprocess.Popen(line, stdin=far, stdout=far, stderr=far, cwd=folder, env=around, start_new_session=True)
