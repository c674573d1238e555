"""Starts the simulated printer as the process it is, and ends it whatever happens.

    with running_printer("sound", "--unpaced") as printer:
        ...open printer.link...
        printer.do("insert")
        assert printer.state()["presence"] == "in"

Nothing here is faked beyond the printer: the port is a real one, the hands go through the control socket. Where it can
be had, the process is forked from an interpreter that has loaded the simulated printer; see `forked.py`.
"""

import importlib
import json
import os
import queue
import shlex
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from tests.support.forked import CAN_FORK, Forked, piped
from tests.support.patience import PATIENCE_S

END_S = 10.0
"""How long a process that has closed its output may take to end."""


Process = Forked | subprocess.Popen[str]


class BenchRefused(AssertionError):
    """The hands could not do what a test asked of them; the text is the bench's advice."""


class FakeProcess:
    """A simulated printer that runs in a process of its own.

    Attributes:
        link: what a host opens.
        control: HOST:PORT of the control socket.
        process: the process itself.
    """

    def __init__(self, process: Process, link: str, control: str) -> None:
        self.process = process
        self.link = link
        self.control = control

    def do(self, verb: str, *words: str) -> str:
        """Let the hands do something; returns the sentence of what was done.

        Raises:
            BenchRefused: it cannot be done.
        """
        kind, _, sentence = self._ask(shlex.join([verb, *words])).partition(" ")
        if kind != "ok":
            raise BenchRefused(f"{verb}: {sentence}")
        return sentence

    def state(self) -> dict[str, Any]:
        """Everything that is true of the printer; the wire's part is under `port`."""
        told: dict[str, Any] = json.loads(self._ask("state"))
        return told

    def received(self) -> list[str]:
        """The lines the printer has received from the host."""
        told: list[str] = json.loads(self._ask("received"))
        return told

    def wait_until(
        self, condition: Callable[[dict[str, Any]], bool], *, within_s: float = PATIENCE_S
    ) -> dict[str, Any]:
        """The printer's state as soon as it meets the condition.

        Raises:
            AssertionError: it does not in the time given; the last state is shown.
        """
        end = time.monotonic() + within_s
        while not condition(state := self.state()):
            if time.monotonic() > end:
                raise AssertionError(f"the printer did not come to this within {within_s} s: {state}")
            time.sleep(0.005)
        return state

    def pass_time(self, seconds: float) -> None:
        """Let time pass for a printer that was started with `--stepped`, whatever it says meanwhile."""
        left_s = seconds
        while left_s > 1e-9:
            left_s -= json.loads(self._ask(f"pass {left_s!r}"))["passed_s"]

    def kill(self) -> None:
        """End the process without giving it a chance to tidy up."""
        self.process.kill()
        self.process.wait(PATIENCE_S)

    def stop(self) -> int:
        """End the process as its parent would, by closing its input; returns its exit code."""
        if self.process.stdin and not self.process.stdin.closed:
            self.process.stdin.close()
        try:
            return self.process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            self.kill()
            raise

    def _ask(self, line: str) -> str:
        host, _, port = self.control.rpartition(":")
        with socket.create_connection((host, int(port)), timeout=PATIENCE_S) as connection:
            connection.sendall(line.encode() + b"\n")
            with connection.makefile("r", encoding="utf-8") as answers:
                answer = answers.readline()
        if not answer.endswith("\n"):
            raise AssertionError(f"the simulated printer did not answer {line!r}")
        return answer.rstrip("\n")


@contextmanager
def running_printer(unit: str, *options: str, cwd: str | None = None) -> Iterator[FakeProcess]:
    """A simulated printer for the length of a `with` block.

    Args:
        unit: name of the unit, or a file that describes one.
        options: as on the command line. Without `--pty`, `--tcp` or `--rfc2217` the port is a pseudo-terminal
            where there are any, else a socket.
        cwd: the folder it is started in.

    Raises:
        AssertionError: it did not start; what it said is in the text.
    """
    if os.name == "nt" and not {"--tcp", "--rfc2217"} & set(options):
        options = (*options, "--tcp", "0")
    control = () if "--control" in options else ("--control", "0")
    with _running((unit, *options, *control), cwd) as (process, said):
        yield FakeProcess(process, said["link"], said["control"])


class FakeFleet:
    """Many simulated printers that run in one process.

    Attributes:
        printers: each by its name, with its own port and its own control socket.
        bench: reaches all of them; begin each deed with a name.
        process: the process itself.
    """

    def __init__(self, process: Process, said: dict[str, str]) -> None:
        self.process = process
        self.bench = FakeProcess(process, "", said["control"])
        names = [key.removeprefix("link ") for key in said if key.startswith("link ")]
        self.printers = {name: FakeProcess(process, said[f"link {name}"], said[f"control {name}"]) for name in names}


@contextmanager
def running_fleet(file: Path) -> Iterator[FakeFleet]:
    """The simulated printers that a file describes, for the length of a `with` block.

    Raises:
        AssertionError: they did not start; what was said is in the text.
    """
    with _running(("--fleet", str(file), "--control", "0"), None) as (process, said):
        yield FakeFleet(process, said)


@contextmanager
def _running(arguments: Sequence[str], cwd: str | None) -> Iterator[tuple[Process, dict[str, str]]]:
    words = [*arguments, "--stop-with-stdin"]
    with tempfile.TemporaryFile("w+") as complaints:
        process = _begun(words, cwd, complaints)
        lines: queue.SimpleQueue[str] = queue.SimpleQueue()
        reader = threading.Thread(target=_pass_on, args=(process.stdout, lines), daemon=True)
        reader.start()
        try:
            yield process, _introduction(process, lines, complaints)
        finally:
            _end(process)
            reader.join(PATIENCE_S)
            if process.stdout:
                process.stdout.close()


def _begun(words: Sequence[str], cwd: str | None, complaints: IO[str]) -> Process:
    if not CAN_FORK:
        pipe, command = subprocess.PIPE, [sys.executable, "-m", "fake_printer", *words]
        return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=complaints, text=True, cwd=cwd)
    return piped(__name__, words, complaints.fileno(), cwd=Path(cwd) if cwd else None)


def load() -> None:
    """Import all of the simulated printer."""
    for name in ("fake_printer.__main__", "fake_printer.wire.pseudo_terminal"):
        importlib.import_module(name)


def carry_out(line: Sequence[str]) -> None:
    """Be the simulated printer."""
    from fake_printer.__main__ import main

    sys.exit(main(line))


def _introduction(process: Process, lines: "queue.SimpleQueue[str]", complaints: IO[str]) -> dict[str, str]:
    said: dict[str, str] = {}
    while (line := _next(lines)).strip() != "ready":
        if not line:
            how = _why_silent(process)
            complaints.seek(0)
            raise AssertionError(f"the simulated printer did not start, {how}: {said} {complaints.read().strip()}")
        key, _, value = line.strip().partition(": ")
        said[key] = value
    return said


def _next(lines: "queue.SimpleQueue[str]") -> str:
    try:
        return lines.get(timeout=PATIENCE_S)
    except queue.Empty:
        return ""


def _why_silent(process: Process) -> str:
    """What became of a process that says nothing more; it is ended if it has not by itself."""
    try:
        return f"it ended with exit code {process.wait(END_S)}"
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return "it was silent and went on"


def _pass_on(stream: IO[str] | None, lines: "queue.SimpleQueue[str]") -> None:
    """Read to the end, so that the process never waits for us; an empty line tells of the end."""
    if stream:
        for line in stream:
            lines.put(line)
    lines.put("")


def _end(process: Process) -> None:
    if process.stdin and not process.stdin.closed:
        process.stdin.close()
    try:
        process.wait(PATIENCE_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
