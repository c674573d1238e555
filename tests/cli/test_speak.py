"""`--speak` of a whole command: what is heard beside the screen, and what is said where nothing can speak."""

import shlex
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from commission.cli import main
from tests.cli.bench import Folder

SPEAKS = "import sys; open('heard.txt', 'a').write(sys.stdin.read())"


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """An empty folder."""
    return Folder(tmp_path)


def test_result_of_a_run_is_heard_to_its_end(folder: Folder) -> None:
    """The last screen is spoken whole before the command ends."""
    speaks = shlex.join((sys.executable, "-c", SPEAKS))
    said = folder.call(*folder.backup_words(), "--by", "R. Okafor", "--speak-with", speaks)

    heard = (folder.place / "heard.txt").read_text().splitlines()
    assert "Verdict" in said.output
    assert heard[-1].startswith("Result")
    assert "Speech" not in said.error


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--speak",), "There is no speech program to speak with: install one"),
        (("--speak-with", "no-such-voice"), "There is no program no-such-voice to speak with."),
    ],
)
def test_nothing_that_speaks_is_wrong_usage(words: tuple[str, ...], why: str, folder: Folder) -> None:
    """Said before anything is asked or recorded; the search path leads to no program."""
    capture = str(folder.place / folder.backup_words()[-1])
    typed = ["backup", "bench-3", "--from", capture, "--book", str(folder.book), "--by", "R. Okafor", *words]
    done = CliRunner().invoke(main, typed, env={"PATH": str(folder.place)})

    assert (2, "") == (done.exit_code, done.stdout)
    assert done.stderr.startswith(f"commission: {why}")
    assert not folder.book.exists()
