"""A simulated printer outside the emulated PC, on a loopback port, with its bench."""

from __future__ import annotations

import contextlib
import json
import socket
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

PATIENCE_S = 30.0


class NotStarted(Exception):
    """The simulated printer did not start; the text is what it said."""


@dataclass(frozen=True)
class Printer:
    """One that runs.

    Attributes:
        port: its TCP port on the loopback.
        control: HOST:PORT of its bench.
    """

    port: int
    control: str

    def ask(self, words: str) -> str:
        """Have the bench do something; its answer begins with `ok`, `error`, or is JSON."""
        host, _, port = self.control.rpartition(":")
        with socket.create_connection((host, int(port)), timeout=PATIENCE_S) as bench:
            bench.sendall(words.encode() + b"\n")
            with bench.makefile("r", encoding="utf-8") as answers:
                return answers.readline().rstrip("\n")

    def heard(self) -> list[str]:
        """The lines that it has received."""
        heard: list[str] = json.loads(self.ask("received"))
        return heard


@contextlib.contextmanager
def running(python: Path, project: Path, unit: str) -> Iterator[Printer]:
    """A simulated printer for the length of a `with` block; it ends with this process, whatever happens."""
    command = [str(python), "-m", "fake_printer", unit, "--tcp", "0", "--control", "0", "--stop-with-stdin"]
    with subprocess.Popen(
        command, cwd=project, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as process:
        try:
            yield _introduced(process)
        finally:
            if process.stdin is not None:
                process.stdin.close()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(PATIENCE_S)
            process.kill()


def _introduced(process: subprocess.Popen[str]) -> Printer:
    said: list[str] = []
    for line in process.stdout or ():
        if line.strip() == "ready":
            told = dict(text.strip().split(": ", 1) for text in said)
            return Printer(int(told["link"].rpartition(":")[2]), told["control"])
        said.append(line)
    raise NotStarted("".join(said))
