"""The tool as the process it is, at a terminal of its own that a test looks at, types on, and can close.

    with tool_at_a_terminal(["function", "bench-3", ...], folder) as tool:
        tool.sees("Is filament in the sensor", within_s=20)
        tool.signal("SIGINT")
        assert 130 == tool.ended(within_s=30)

Nothing here is faked: a pseudo-terminal, a session of its own, and signals as a shell or a window would send them.
"""

import contextlib
import fcntl
import os
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tests.support import loaded_tool
from tests.support.forked import CAN_FORK, Forked, begun

ROOT = Path(__file__).parents[2]
_LAUNCHER = """\
import fcntl, os, signal, sys, termios
for name in ("SIGINT", "SIGQUIT", "SIGTERM", "SIGHUP"):
    signal.signal(getattr(signal, name), signal.SIG_DFL)
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.executable, [sys.executable, *sys.argv[1:]])
"""
_DRAWING = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[@-_]|[\u2500-\u259f\a]")
_LOOK_S = 0.05


class ToolAtATerminal:
    """One process of the tool.

    Attributes:
        process: it.
        words, folder: its command line, and where it was started.
    """

    def __init__(
        self, process: "Forked | subprocess.Popen[bytes]", terminal: int, words: Sequence[str], folder: Path
    ) -> None:
        self.process = process
        self.words = words
        self.folder = folder
        self._terminal: int | None = terminal
        self._shown = bytearray()
        self._screen: tuple[int, str] = (0, "")

    @property
    def screen(self) -> str:
        """All that was ever printed, in one line: without drawing, and with one blank where a line may have ended."""
        if self._screen[0] != len(self._shown):
            text = _DRAWING.sub("", self._shown.decode(errors="replace"))
            self._screen = (len(self._shown), " ".join(text.split()))
        return self._screen[1]

    @property
    def running(self) -> bool:
        """Whether it has not ended."""
        return self.process.poll() is None

    def watch(self, seconds: float) -> None:
        """Look at the terminal for so long; shorter only when the tool has ended."""
        until_s = time.monotonic() + seconds
        while (left_s := until_s - time.monotonic()) > 0 and self.running:
            self._read(min(left_s, _LOOK_S))

    def sees(self, *words: str, after: int = 0, within_s: float) -> int:
        """The place in the screen behind the first of these words, as soon as it is there.

        Raises:
            AssertionError: it did not come, or the tool ended before.
        """
        pattern = re.compile("|".join(map(re.escape, words)))
        until_s = time.monotonic() + within_s
        while (found := pattern.search(self.screen, after)) is None:
            if time.monotonic() > until_s or not self.running:
                raise AssertionError(f"never on the screen: {words}\n{self.screen[after:]}")
            self._read(_LOOK_S)
        return found.end()

    def starts(self, *, within_s: float) -> None:
        """Return once anything is on the screen, or it has ended."""
        until_s = time.monotonic() + within_s
        while not self.screen and self.running and time.monotonic() < until_s:
            self._read(_LOOK_S)

    def types(self, text: str) -> None:
        """Press keys, if there is a keyboard still."""
        if self._terminal is not None:
            with contextlib.suppress(OSError):
                os.write(self._terminal, text.encode())

    def signal(self, name: str) -> None:
        """Send it a signal, if it has not ended."""
        if self.running:
            self.process.send_signal(getattr(signal, name))

    def hang_up(self) -> None:
        """Close the terminal, as a window is closed: what was printed until now is all that is seen."""
        if self._terminal is not None:
            os.close(self._terminal)
            self._terminal = None

    def ended(self, *, within_s: float) -> int:
        """The exit code, once it has ended by itself.

        Raises:
            AssertionError: it did not end in the time given.
        """
        self.watch(within_s)
        if self.running:
            raise AssertionError(f"it did not end within {within_s} s:\n{self.screen}")
        self._read(_LOOK_S)
        return self.process.wait()

    def _read(self, seconds: float) -> None:
        if self._terminal is None:
            time.sleep(seconds)
            return
        if select.select([self._terminal], [], [], seconds)[0]:
            try:
                self._shown += os.read(self._terminal, 65536)
            except OSError:  # the last program at it has ended
                time.sleep(seconds)


@contextlib.contextmanager
def tool_at_a_terminal(words: Sequence[str], folder: Path, *, loaded: bool = True) -> Iterator[ToolAtATerminal]:
    """The tool with these words on its command line, started in a folder; ended with the block, whatever happens.

    Args:
        words: of its command line.
        folder: where it is started.
        loaded: whether the process is forked from an interpreter that has loaded the tool, where that can be had; it
            begins from nothing otherwise.
    """
    near, far = os.openpty()
    fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "FORCE_COLOR")}
    around = kept | {"TERM": "xterm", "LANG": "C.UTF-8", "PYTHONPATH": str(ROOT)}
    process = (_forked if loaded and CAN_FORK else _from_nothing)(words, folder, far, around)
    os.close(far)
    tool = ToolAtATerminal(process, near, words, folder)
    try:
        yield tool
    finally:
        process.kill()
        process.wait()
        tool.hang_up()


def _forked(words: Sequence[str], folder: Path, far: int, around: Mapping[str, str]) -> Forked:
    line = [*loaded_tool.TOOL, *words]
    return begun(loaded_tool.__name__, line, (far, far, far), cwd=folder, environment=around, terminal=True)


def _from_nothing(words: Sequence[str], folder: Path, far: int, around: Mapping[str, str]) -> "subprocess.Popen[bytes]":
    line = [sys.executable, "-S", "-E", "-c", _LAUNCHER, "-m", "commission", *words]
    return subprocess.Popen(line, stdin=far, stdout=far, stderr=far, cwd=folder, env=around, start_new_session=True)
