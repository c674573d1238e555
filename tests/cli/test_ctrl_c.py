"""Ctrl-C where no run has begun: while the program loads, and in a command that holds nothing open."""

import subprocess
import sys
from pathlib import Path

import pytest

TAKEN = "import os, signal, sys\nfrom commission.ctrl_c import stop_on_ctrl_c\nstop_on_ctrl_c()\n"
"""Takes Ctrl-C over as the tool does."""
PRESSED = "os.kill(os.getpid(), signal.SIGINT)"


def ended(text: str, place: Path) -> "subprocess.CompletedProcess[str]":
    """A process of its own that carries this out in the folder."""
    words = [sys.executable, "-c", f"import sys\nsys.path.append({str(place)!r})\n{text}"]
    return subprocess.run(words, capture_output=True, text=True, timeout=60, check=False)


@pytest.mark.parametrize("swallowed", ["KeyboardInterrupt", "BaseException"])
def test_a_hit_import_ends_the_program(tmp_path: Path, swallowed: str) -> None:
    """A module that is broken off half way would leave an error that is none: nothing of the program goes on."""
    (tmp_path / "hit.py").write_text(f"import os, signal\n{PRESSED}\n")
    said = ended(f"{TAKEN}try:\n    import hit\nexcept {swallowed}:\n    pass\nprint('went on')", tmp_path)
    assert (said.returncode, said.stdout, said.stderr) == (130, "", "commission: Stopped.\n")


def test_the_first_one_lets_a_command_end(tmp_path: Path) -> None:
    """What the command holds is put away, and nothing but its own words are said."""
    said = ended(f"{TAKEN}try:\n    {PRESSED}\nexcept KeyboardInterrupt:\n    print('put away')", tmp_path)
    assert (said.returncode, said.stdout, said.stderr) == (0, "put away\n", "")


def test_the_second_one_ends_at_once(tmp_path: Path) -> None:
    """Who presses again does not wait; what was said already is not lost, and the code is that of a stop."""
    again = f"    print('first')\n    {PRESSED}\n    print('went on')"
    said = ended(f"{TAKEN}try:\n    {PRESSED}\nexcept KeyboardInterrupt:\n{again}", tmp_path)
    assert (said.returncode, said.stdout, said.stderr) == (130, "first\n", "")


def test_an_ignored_one_stays_ignored(tmp_path: Path) -> None:
    """A program that a shell script put into the background outlives the Ctrl-C meant for the one in front."""
    ignored = "import signal\nsignal.signal(signal.SIGINT, signal.SIG_IGN)\n"
    said = ended(f"{ignored}{TAKEN}{PRESSED}\nprint('went on')", tmp_path)
    assert (said.returncode, said.stdout) == (0, "went on\n")


def test_a_press_while_words_are_read_is_a_stop(tmp_path: Path) -> None:
    """Ctrl-C while the command line is read has the code of a stop, and nothing is said of an abortion."""
    hit = f"def hit(*_):\n    {PRESSED}\n"
    option = "main.params.append(click.Option(['--hit'], is_flag=True, callback=hit, is_eager=True))\n"
    said = ended(
        f"{TAKEN}import click\nfrom commission.cli import main\n{hit}{option}main(['--hit', 'help'])", tmp_path
    )
    assert (said.returncode, said.stdout, said.stderr) == (130, "", "")
