"""The tool as a process that is forked from an interpreter which has loaded it before; see `forked.py`.

done = carried_out([sys.executable, "-m", "commission", "book", "list"], cwd=folder)
"""

import importlib
import os
import runpy
import selectors
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.support.forked import CAN_FORK, begun
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import LAUNCHER, stepped_surroundings

TOOL = (sys.executable, "-m", "commission")
STEPPED = (sys.executable, str(LAUNCHER))
ALSO_LOADED = (
    "commission.__main__",
    "commission.cli.running",
    "commission.conductor.scribe",
    "commission.desk.plain",
    "commission.desk.scripted",
    "commission.desk.terminal",
    "commission.jobs.check",
    "commission.jobs.function",
    "commission.jobs.install",
    "commission.jobs.motion",
    "commission.records.book",
    "commission.records.heads",
    "commission.report.as_html",
    "commission.report.as_json",
    "commission.report.as_markdown",
    "commission.report.write",
    "click._textwrap",
    "email.parser",
    "platformdirs",
    "prompt_toolkit.input.vt100",
    "prompt_toolkit.key_binding.bindings.search",
    "prompt_toolkit.patch_stdout",
    "serial_asyncio",
)
"""What commands import only once they need it."""
_READ_BYTES = 1 << 18


def carried_out(
    line: Sequence[str], *, cwd: Path | None = None, timeout: float = PATIENCE_S
) -> "subprocess.CompletedProcess[str]":
    """Carry out a command line, with nobody at the keyboard.

    Args:
        line: as for a new process. One of the tool, in real or in simulated time, is forked; any other is begun anew.
        cwd: the folder it is started in.
        timeout: seconds after which it is killed.

    Raises:
        subprocess.TimeoutExpired: it was killed.
    """
    if CAN_FORK and ((*line[:3],) == TOOL or (*line[:2],) == STEPPED):
        return _forked(line, cwd, timeout)
    nobody = subprocess.DEVNULL
    return subprocess.run(line, cwd=cwd, stdin=nobody, capture_output=True, text=True, timeout=timeout, check=False)


C_LOCALE = (("LC_ALL", "C"), ("LANG", "C"), ("PYTHONCOERCECLOCALE", "0"), ("PYTHONUTF8", "0"))
"""Where letters beyond ASCII can be neither read nor shown."""


@contextmanager
def begun_at(
    line: Sequence[str], ends: Sequence[int], *, cwd: Path, locale: Sequence[tuple[str, str]] = ()
) -> Iterator[Callable[[], int]]:
    """A command of the tool on ends of the caller: its input, output and error. What is given waits for its exit code.

    Args:
        line: as for `carried_out`.
        ends: three open files; the caller's copies stay his.
        cwd: the folder it is started in.
        locale: variables with which its interpreter was loaded: they say how letters are read and written.
    """
    process = begun(__name__, line, ends, cwd=cwd, locale=locale)
    try:
        yield process.wait
    finally:
        process.kill()
        process.wait()


def _forked(line: Sequence[str], cwd: Path | None, timeout: float) -> "subprocess.CompletedProcess[str]":
    until_s = time.monotonic() + timeout
    (out, its_out), (complaints, its_complaints) = os.pipe(), os.pipe()
    with Path(os.devnull).open("rb") as nobody:
        process = begun(__name__, line, [nobody.fileno(), its_out, its_complaints], cwd=cwd)
    os.close(its_out)
    os.close(its_complaints)
    said = {out: bytearray(), complaints: bytearray()}
    whole = _heard(said, until_s)
    if not whole:
        process.kill()
    code = process.wait()
    for end in said:
        os.close(end)
    texts = [data.decode().replace("\r\n", "\n") for data in said.values()]
    if not whole:
        raise subprocess.TimeoutExpired(line, timeout, *texts)
    return subprocess.CompletedProcess(line, code, *texts)


def _heard(said: dict[int, bytearray], until_s: float) -> bool:
    """Read these pipes to their ends; false where that takes longer."""
    with selectors.DefaultSelector() as open_ones:
        for end in said:
            open_ones.register(end, selectors.EVENT_READ)
        while open_ones.get_map():
            if (left_s := until_s - time.monotonic()) <= 0:
                return False
            for key, _ in open_ones.select(left_s):
                data = os.read(key.fd, _READ_BYTES)
                said[key.fd] += data
                if not data:
                    open_ones.unregister(key.fd)
    return True


def load() -> None:
    """Import all of the tool, and have the template of its pages read."""
    from commission.cli import COMMANDS

    for module in (*(place.split(":")[0] for place in COMMANDS.values()), *ALSO_LOADED):
        importlib.import_module(module)
    from commission.report.as_html import _template

    _template()


def carry_out(line: Sequence[str]) -> None:
    """Be the tool, in real or in simulated time, or any other script that works with it."""
    from commission.__main__ import run
    from commission.cli import main

    _, *words = line
    sys.argv = words[1:] if words[0] == "-m" else [*words]
    if words[0] == "-m":
        run()
    elif words[0] == STEPPED[1]:
        with stepped_surroundings(words[1]) as simulated:
            main(args=words[2:], prog_name="commission", obj=simulated)
    else:
        runpy.run_path(words[0], run_name="__main__")
