"""The tool as a process, many times over: `commission` forked from an interpreter that has loaded it once.

What a command does is what it does for a user: a process of its own, with its own files, signals and exit code. Only
loading the program is saved, which would take longer than most commands. On POSIX systems.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
TIME_UP = -9
"""The code of a command that was ended because its time was up, as of any that is killed."""
DOCUMENTED = frozenset({0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 130})
"""The exit codes that the manual gives a meaning, but for 70, which says that the program itself is at fault."""

_EXCEPTION = re.compile(r"[A-Za-z_][\w.]*(?:Error|Exception|Interrupt)\b")

_SERVER = """\
import importlib, json, os, signal, sys, termios, time
sys.argv[0] = "commission"
from commission.cli import COMMANDS
for place in COMMANDS.values():
    importlib.import_module(place.split(":")[0])
for each in ("commission.cli.running", "commission.records.book", "commission.report.write", "commission.desk.plain"):
    importlib.import_module(each)
from commission.__main__ import run

def carry_out(asked, screen):
    os.setsid()
    os.chdir(asked["folder"])
    os.environ.update(asked["environment"])
    for name, number in (("input", 0), ("output", 1), ("complaints", 2)):
        flags = os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        os.dup2(screen if screen is not None and number else os.open(asked[name], flags, 0o600), number)
    sys.argv = ["commission", *asked["words"]]
    code = 1
    try:
        if asked["control"]:
            from commission.cli import main
            from tests.support.stepped_time import stepped_surroundings
            with stepped_surroundings(asked["control"]) as simulated:
                main(args=asked["words"], prog_name="commission", obj=simulated)
        else:
            run()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
    except BaseException:
        import traceback
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            try:
                stream.flush()
            except Exception:
                pass
        os._exit(code)

def shown(viewer, output):
    while viewer is not None:
        try:
            data = os.read(viewer, 65536)
        except OSError:  # nothing to read now, or nobody holds the other end any more
            return
        if not data:
            return
        output.write(data)

def waited_for(child, seconds, viewer, output):
    end = time.monotonic() + seconds
    pause = 0.002
    while True:
        shown(viewer, output)
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        if time.monotonic() > end:
            try:
                os.killpg(child, signal.SIGKILL)
            except ProcessLookupError:  # it has no group of its own yet
                os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return -9
        time.sleep(pause)
        pause = min(0.05, pause * 1.3)

for line in sys.stdin:
    asked = json.loads(line)
    viewer, screen = os.openpty() if asked["terminal"] else (None, None)
    if screen is not None:
        os.set_blocking(viewer, False)
        as_it_is = termios.tcgetattr(screen)
        as_it_is[1] &= ~termios.OPOST
        termios.tcsetattr(screen, termios.TCSANOW, as_it_is)
    child = os.fork()
    if child == 0:
        carry_out(asked, screen)
    with open(os.devnull if viewer is None else asked["output"], "wb") as output:
        code = waited_for(child, asked["seconds"], viewer, output)
        shown(viewer, output)
    for each in (viewer, screen):
        if each is not None:
            os.close(each)
    sys.__stdout__.write(str(code) + "\\n")
    sys.__stdout__.flush()
"""


@dataclass(frozen=True)
class Ended:
    """How a command ended.

    Attributes:
        code: its exit code; below 0 the signal that ended it.
        out, complaints: what it wrote to its output and error output; bytes that are no UTF-8 are surrogates.
    """

    code: int
    out: str
    complaints: str

    @property
    def crashed(self) -> bool:
        """Whether it ended in another way than the manual says."""
        return self.code not in DOCUMENTED or "Traceback (most recent call last)" in self.out + self.complaints

    @property
    def told(self) -> str:
        """Its code and last words, or the exception it ended in, in one line."""
        said = (self.complaints.strip() or self.out.strip()).splitlines()
        last = [line for line in said if _EXCEPTION.match(line)][-1:] or said[-1:]
        return f"exit code {self.code}, {last[0][:200] if last else 'nothing said'}"


class Tool:
    """Carries out commands, one at a time."""

    def __init__(self) -> None:
        self._files = tempfile.TemporaryDirectory(prefix="tool-")
        self._process = subprocess.Popen(
            [sys.executable, "-c", _SERVER],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=os.environ | {"PYTHONPATH": str(ROOT), "NO_COLOR": "1"},
        )

    def run(
        self,
        *words: object,
        folder: Path,
        typed: bytes = b"",
        seconds: float = 60.0,
        environment: Mapping[str, str] | None = None,
        terminal: bool = False,
        control: str = "",
    ) -> Ended:
        """Carry out one command.

        Args:
            words: of the command line, without the name of the program.
            folder: where it is started.
            typed: its standard input, which is no terminal.
            seconds: after which it is killed.
            environment: added to this process's own.
            terminal: write to a terminal, which shows both outputs as one, and not to files.
            control: of the simulated printer in whose time it is carried out; in real time when empty.

        Raises:
            RuntimeError: the tool could not be loaded.
        """
        place = Path(self._files.name)
        (place / "input").write_bytes(typed)
        for name in ("output", "complaints"):
            (place / name).write_bytes(b"")
        asked = {
            "words": list(map(str, words)),
            "folder": str(folder),
            "seconds": seconds,
            "environment": dict(environment or {}),
            "terminal": terminal,
            "control": control,
        }
        asked |= {name: str(place / name) for name in ("input", "output", "complaints")}
        if self._process.stdin is None or self._process.stdout is None:
            raise RuntimeError("the tool has no pipes")
        self._process.stdin.write(json.dumps(asked) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        if not answer:
            raise RuntimeError("the tool could not be loaded; see above")
        out, complaints = ((place / name).read_bytes() for name in ("output", "complaints"))
        return Ended(int(answer), out.decode(errors="surrogateescape"), complaints.decode(errors="surrogateescape"))

    def close(self) -> None:
        """End it."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(10)
        self._process.kill()
        self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()
        self._files.cleanup()


class Tools:
    """So many tools that commands can be carried out side by side; they end with the block."""

    def __init__(self, count: int) -> None:
        self._all = [Tool() for _ in range(count)]
        self._free: queue.SimpleQueue[Tool] = queue.SimpleQueue()
        for tool in self._all:
            self._free.put(tool)

    def __enter__(self) -> Tools:
        return self

    def __exit__(self, *_: object) -> None:
        for tool in self._all:
            tool.close()

    @contextlib.contextmanager
    def one(self) -> Iterator[Tool]:
        """A tool that nobody else uses meanwhile."""
        tool = self._free.get()
        try:
            yield tool
        finally:
            self._free.put(tool)


def pieces_of(text: str, limit: int = 160) -> str:
    """A text as a line of a report: nothing in it acts, and it is not long."""
    shown = ascii(text)
    return shown if len(shown) <= limit else f"{shown[:limit]}..."
