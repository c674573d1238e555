"""Speaking sentences through a program of the system, in a thread of its own: nothing ever waits for a voice.

Each sentence is given to the program on its standard input, so that no sentence can be taken for an option. A sentence
that has become untrue is cut off, also in the middle: a late word would be followed.
"""

import os
import shlex
import shutil
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress

from commission.desk.base import DeskError
from commission.desk.wording import clean

SPEAKERS: tuple[tuple[str, ...], ...] = (
    ("spd-say", "--wait", "--pipe-mode"),
    ("espeak-ng", "--stdin"),
    ("espeak", "--stdin"),
    ("say", "-f", "-"),
)
"""Speech programs of desktop systems that read what they speak, the one that the user has set up first."""
NO_SPEAKER = (
    "There is no speech program to speak with: install one, such as speech-dispatcher or espeak-ng, or name a command "
    "that speaks what it reads on its standard input: --speak-with COMMAND"
)
MOST_WAITING = 8
"""Sentences. Of more the oldest are left unspoken: the screen and the record have them."""
LONGEST_S = 60.0
"""So long a program may take for one sentence; one that takes longer hangs."""


def speaker(named: str, which: Callable[[str], str | None] = shutil.which) -> Sequence[str]:
    """The command that speaks: the one the user names, else the first that is there.

    Raises:
        DeskError: there is none.
    """
    if not named:
        for words in SPEAKERS:
            if which(words[0]):
                return words
        raise DeskError(NO_SPEAKER)
    try:
        words = tuple(shlex.split(named))
    except ValueError as wrong:
        raise DeskError(f"The command {clean(named)} to speak with cannot be read: {wrong}.") from wrong
    if not words or which(words[0]) is None:
        raise DeskError(f"There is no program {clean(words[0] if words else named)} to speak with.")
    return words


class Voice:
    """Speaks one sentence after the other.

    Args:
        words: the program that speaks, and its arguments.
    """

    def __init__(self, words: Sequence[str]) -> None:
        self._words = words
        self._waiting: deque[str] = deque(maxlen=MOST_WAITING)
        self._news = threading.Condition()  # entered again by who holds it: its lock is reentrant
        self._process: subprocess.Popen[bytes] | None = None
        self._speaking = False
        self._over = False
        self._failure = ""
        threading.Thread(target=self._work, name="voice", daemon=True).start()

    @property
    def failure(self) -> str:
        """Why it speaks no more; empty while it does."""
        return self._failure

    def say(self, text: str) -> None:
        """Speak it after what waits already."""
        with self._news:
            if text.strip() and not (self._over or self._failure):
                self._waiting.append(text)
                self._news.notify_all()

    def cut(self) -> None:
        """Speak nothing of what waits, and not the rest of what is being spoken."""
        with self._news:
            self._waiting.clear()
            if self._process is not None:
                _end(self._process)

    def finish(self, limit_s: float) -> None:
        """Let it speak what waits, so long at most; it speaks nothing afterwards."""
        with self._news:
            self._news.wait_for(lambda: not (self._waiting or self._speaking), limit_s)
            self._over = True
            self._news.notify_all()
        self.cut()

    def _work(self) -> None:
        while (begun := self._next()) is not None:
            self._hear_out(*begun)

    def _next(self) -> "tuple[subprocess.Popen[bytes], str] | None":
        """The program at work on the next sentence, once there is one; None when there will be none."""
        with self._news:
            self._process, self._speaking = None, False
            self._news.notify_all()
            self._news.wait_for(lambda: bool(self._waiting) or self._over or bool(self._failure))
            if self._over or self._failure:
                return None
            text, self._speaking = self._waiting.popleft(), True
            try:
                self._process = process = self._started()
            except OSError as error:
                self._fail(str(error.strerror or error))
                return None
            return process, text

    def _started(self) -> "subprocess.Popen[bytes]":
        # in a session of its own: Ctrl-C is for the run
        return subprocess.Popen(
            self._words,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def _hear_out(self, process: "subprocess.Popen[bytes]", text: str) -> None:
        try:
            process.communicate(f"{text}\n".encode(), LONGEST_S)
        except subprocess.TimeoutExpired:
            _end(process)
            process.communicate()
            self._fail(f"it was not through with a sentence after {LONGEST_S:g} s")
            return
        if process.returncode > 0:  # below 0 it was cut off
            self._fail(f"it ended with exit code {process.returncode}")

    def _fail(self, why: str) -> None:
        with self._news:
            self._failure = f"Nothing is spoken any more: the program {clean(shlex.join(self._words))} failed, {why}."
            self._process, self._speaking = None, False
            self._waiting.clear()
            self._news.notify_all()


def _end(process: "subprocess.Popen[bytes]") -> None:
    """End it with all that it started; it leads a group of its own."""
    if process.poll() is None and sys.platform != "win32":
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()
