"""Processes of the tests that are forked from a loaded interpreter: what they share with any other process."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support import loaded_tool
from tests.support.forked import CAN_FORK, piped
from tests.support.patience import PATIENCE_S

pytestmark = pytest.mark.skipif(not CAN_FORK, reason="processes are forked on Linux only")

LEAVES = """\
class Left:
    def __init__(self):
        self.own = self
    def __del__(self):
        raise RuntimeError("left behind")
Left()
"""


def carried_out(text: str, folder: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    """A script that was carried out in the folder."""
    script, complaints = folder / "script.py", folder / "complaints.txt"
    script.write_text(text)
    with complaints.open("w") as errors:
        process = piped(loaded_tool.__name__, [sys.executable, str(script), *words], errors.fileno(), cwd=folder)
    assert process.stdin is not None
    assert process.stdout is not None
    with process.stdin, process.stdout:
        said = process.stdout.read()
    return subprocess.CompletedProcess(words, process.wait(PATIENCE_S), said, complaints.read_text())


def test_it_has_its_own_place_and_code(tmp_path: Path) -> None:
    """Folder, words and number are its own; what it says comes whole, and its code is what it ended with."""
    done = carried_out("import os, sys\nprint(os.getpid(), os.getcwd(), sys.argv[1])\nsys.exit(7)", tmp_path, "word")

    number, *rest = done.stdout.split()
    assert int(number) != os.getpid()
    assert (7, [str(tmp_path), "word"], "") == (done.returncode, rest, done.stderr)


def test_its_environment_is_ours_of_that_moment(tmp_path: Path) -> None:
    """Not that of the interpreter, which was loaded before."""
    os.environ["SAID_BEFORE"] = "yes"
    try:
        done = carried_out("import os\nprint(os.environ['SAID_BEFORE'])", tmp_path)
    finally:
        del os.environ["SAID_BEFORE"]

    assert "yes\n" == done.stdout


def test_a_killed_one_tells_its_signal(tmp_path: Path) -> None:
    """One that was killed has the code that a child would have."""
    assert -9 == carried_out("import os\nos.kill(os.getpid(), 9)", tmp_path).returncode


def test_an_error_is_said_by_python_itself(tmp_path: Path) -> None:
    """With the code of one, and its traceback."""
    done = carried_out("raise RuntimeError('no')", tmp_path)

    assert 1 == done.returncode
    assert "RuntimeError: no" in done.stderr


def test_last_words_nobody_takes_are_an_error(tmp_path: Path) -> None:
    """Whoever read the output has gone before the end: Python's own words and code for that."""
    text = "import os, sys\nread, write = os.pipe()\nos.close(read)\nos.dup2(write, 1)\nprint('last words')"
    done = carried_out(text, tmp_path)

    assert 120 == done.returncode
    assert "BrokenPipeError" in done.stderr


def test_what_it_leaves_is_taken_down(tmp_path: Path) -> None:
    """What it loaded stays until the process is gone; what the script made does not, and its complaint is heard."""
    assert "RuntimeError: left behind" in carried_out(LEAVES, tmp_path).stderr
