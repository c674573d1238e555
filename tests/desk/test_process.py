"""The desks of a whole process at a real terminal that answers nothing of itself."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.support.patience import PATIENCE_S

pexpect = pytest.importorskip("pexpect")
termios = pytest.importorskip("termios", reason="terminals of this kind exist on POSIX only")

ROOT = Path(__file__).parents[2]
PROGRAM = ["-m", "tests.desk.program"]
COLOUR = re.compile(r"\x1b\[[0-9;]*(?<![0-9])(?:3[0-7]|4[0-7]|9[0-7]|10[0-7]|38|48)[;m]")


def environment(**changes: str) -> dict[str, str]:
    """This process's own, with the terminal named and no wish about colours."""
    kept = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "FORCE_COLOR", "COLORTERM")}
    return kept | {"TERM": "xterm", "LANG": "C.UTF-8", "PYTHONPATH": str(ROOT)} | changes


@contextmanager
def started(*arguments: str, **changes: str) -> Iterator[Any]:
    """The program at a terminal of 80 by 24; ended afterwards."""
    child = pexpect.spawn(
        sys.executable,
        [*PROGRAM, *arguments],
        env=environment(**changes),
        cwd=str(ROOT),
        dimensions=(24, 80),
        encoding="utf-8",
        timeout=PATIENCE_S,
    )
    child.delaybeforesend = None
    try:
        yield child
    finally:
        child.close(force=True)


def modes(child: Any) -> tuple[bool, ...]:
    """Whether the terminal echoes, edits lines, and makes signals of keys."""
    local = termios.tcgetattr(child.child_fd)[3]
    return tuple(bool(local & flag) for flag in (termios.ECHO, termios.ICANON, termios.ISIG))


def ended(child: Any) -> int:
    """The exit code, once the program has ended by itself."""
    child.expect(pexpect.EOF)
    child.wait()
    return int(child.exitstatus)


def test_whole_run() -> None:
    """A question and a trial are answered at a terminal that tells nothing of its cursor, and it is given back."""
    with started() as child:
        before = modes(child)
        child.expect("y or n:")
        assert (False, False, False) == modes(child)
        child.send("y\r")
        child.expect("T H E")
        child.expect(r"Prompt 1, insert: 3 readings, all active \(TRIGGERED\)\.")

        assert 0 == ended(child)
        assert (True, True, True) == before == modes(child)


@pytest.mark.parametrize("arguments", [[], ["--plain"]])
@pytest.mark.parametrize(
    ("name", "said"), [("SIGTERM", "the program was told to end"), ("SIGINT", "stopped by Ctrl-C")]
)
def test_signal_at_a_question(name: str, said: str, arguments: list[str]) -> None:
    """A signal at a question ends the program by its own way out, and the terminal is given back."""
    with started(*arguments) as child:
        child.expect("Is the filament out")
        child.expect("y or n:|Type yes or no")
        child.kill(getattr(signal, name))
        child.expect(said)

        assert 130 == ended(child)
        assert (True, True, True) == modes(child)


def test_signal_in_a_trial() -> None:
    """A signal in a trial ends the program by its own way out, and the terminal is given back."""
    with started("--long") as child:
        child.expect("y or n:")
        child.send("y\r")
        child.expect("T H E")
        child.kill(signal.SIGTERM)
        child.expect("the program was told to end")

        assert 130 == ended(child)
        assert (True, True, True) == modes(child)


@pytest.mark.parametrize("arguments", [[], ["--plain"]])
def test_keys_pressed_too_early(arguments: list[str]) -> None:
    """What is typed before a question is on the screen does not answer it."""
    with started("--wait", *arguments) as child:
        child.expect("Hot nozzle")
        child.send("y\r")
        child.expect("Is the filament out")
        child.expect("y or n:|Type yes or no")
        child.send("\x03")
        child.expect("stopped by Ctrl-C")

        assert 130 == ended(child)


@pytest.mark.parametrize(("arguments", "term"), [([], "dumb"), (["--plain"], "xterm")])
def test_no_drawing(arguments: list[str], term: str) -> None:
    """A dumb terminal and the plain mode get text and the bell only."""
    with started(*arguments, TERM=term) as child:
        child.expect("Type yes or no")
        shown = child.before
        child.send("yes\r")
        code = ended(child)
        shown += child.before

    assert 0 == code
    assert "Prompt 1 of 27, cycle 1: INSERT THE FILAMENT." in shown
    assert re.sub(r"[\r\n\a]", "", shown).isprintable()


def test_no_colour() -> None:
    """With NO_COLOR set nothing is coloured, and without it the caution is."""
    written = {}
    for wish in ({}, {"NO_COLOR": "1"}):
        with started(**wish) as child:
            child.expect("y or n:")
            written[len(wish)] = child.before
            child.send("\x03")
            assert 130 == ended(child)

    assert COLOUR.search(written[0])
    assert not COLOUR.search(written[1])
    assert "CAUTION" in written[1]


def test_nobody_there() -> None:
    """Without a terminal and without a script the program is refused with what to do."""
    found = subprocess.run(
        [sys.executable, *PROGRAM],
        check=False,
        env=environment(),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=PATIENCE_S,
    )

    assert 2 == found.returncode
    assert b"A person answers here, which needs a terminal. Start it in one, or give a script: --operator FILE\n" == (
        found.stdout
    )


def test_script_needs_no_terminal(tmp_path: Path) -> None:
    """With a script the same program runs without a terminal, and loads no drawing library."""
    script = tmp_path / "operator.toml"
    script.write_text(
        'format = 1\n[[answer]]\nrequest = "loop_check.ready"\nanswer = "yes"\n'
        '[[answer]]\nrequest = "trial.*"\nanswer = "done"\n',
        encoding="utf-8",
    )
    shows_modules = (
        "import asyncio, sys; from tests.desk.program import main; code = asyncio.run(main(sys.argv[1:])); "
        "print(sorted({'rich', 'prompt_toolkit'} & set(sys.modules))); sys.exit(code)"
    )

    found = subprocess.run(
        [sys.executable, "-c", shows_modules, "--operator", str(script)],
        check=False,
        env=environment(),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=PATIENCE_S,
        text=True,
    )

    assert (0, "") == (found.returncode, found.stderr)
    assert (
        """\
CAUTION: Hot nozzle
It stays hot for minutes.
Look at bench-3.
Is the filament out of the sensor?
> yes
Prompt 1 of 27, cycle 1: INSERT THE FILAMENT.
The readings begin in 5.0 s.
Reading: inactive (open).
> done
Keep still: 3 readings over 2.0 s.
Reading: active (TRIGGERED).
Prompt 1, insert: 3 readings, all active (TRIGGERED).
[]
"""
        == found.stdout
    )
