"""The README keeps its word: every command in it can be typed, its scripts run, its tables are the tool's."""

import os
import re
import shlex
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from commission.cli import COMMANDS, SUMMARIES, main
from commission.cli.completion import HOW
from commission.cli.exit_codes import MEANINGS
from commission.records.heads import heads_path
from commission.records.place import book_path
from tests.link.test_port_server import SETTINGS
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PLACEHOLDERS = {
    "FILE": "pyproject.toml",
    "copy.jsonl": "pyproject.toml",
    "SHELL": "bash",
    "TOPIC": "words",
    "ENTRY": "7",
    "...": "/dev/ttyUSB0",
}
"""What a reader puts in the place of a word in capitals."""


def block(beginning: str) -> str:
    """The block between fences that begins so, without the indentation that it has in a list."""
    (found,) = [
        each for each in re.findall(r"```\w*\n(.*?)```", README, re.DOTALL) if each.lstrip().startswith(beginning)
    ]
    return textwrap.dedent(found)


def typed() -> Iterator[str]:
    """Every line with a command of the tool, and every one named in a sentence with a space behind its name."""
    text = " ".join(README.split())
    yield from (each for each in re.findall(r"`(commission [^`]+)`", text) if not each.startswith("commission--"))
    for fenced in re.findall(r"```sh\n(.*?)```", README, re.DOTALL):
        yield from re.findall(r"commission [^\n)]*?(?= 2>&1| >/dev/null)", fenced)
    yield from re.findall(r"\$\((commission completion [^)]*)\)", text)


def taken(words: list[str]) -> None:
    """Have the command line take these words, and carry nothing out.

    Raises:
        click.UsageError: something in them is unknown or missing.
    """
    context, command = click.Context(main, info_name="commission"), main
    while words and isinstance(command, click.Group):
        name, found, words = command.resolve_command(context, words)
        assert found is not None
        if words or not isinstance(found, click.Group):
            context = found.make_context(name, list(words), parent=context)
        command = found


@pytest.mark.parametrize("line", sorted(set(typed())))
def test_every_command_can_be_typed(line: str) -> None:
    """Command, arguments and options are known and whole; a command named alone is one that there is."""
    words = [PLACEHOLDERS.get(word, word) for word in shlex.split(line.partition(" > ")[0])[1:]]
    if words == ["--help"]:
        return
    if len(words) == 1:
        assert words[0] in COMMANDS
    else:
        taken(words)


@pytest.mark.parametrize("words", [["label", "bench-3", "--svgs", "x"], ["label"], ["book", "lits"]])
def test_what_cannot_be_typed_is_noticed(words: list[str]) -> None:
    """The test above fails for an option or a command that is not there, and for an argument that is missing."""
    with pytest.raises(click.UsageError):
        taken(words)


def test_every_command_of_the_tool_has_a_row() -> None:
    """In the table of commands; what is in it is a command."""
    rows = re.findall(r"^\| `commission ([a-z]+)", README, re.MULTILINE)

    assert set(rows) == set(COMMANDS) == set(SUMMARIES)


def test_the_wiring_screen_is_that_of_the_command() -> None:
    """Picture and table of faults, as `commission wiring` prints them for that sensor."""
    words = "--sensor switch --wires 2 --contact NO --to ground --pull up --absent high"
    shown = CliRunner().invoke(main, ["wiring", *words.split()]).output
    (kept,) = re.findall(r"```text\n(  board input.*?)```", README, re.DOTALL)

    assert kept.splitlines() == shown.splitlines()[: len(kept.splitlines())]


@pytest.mark.skipif(os.name != "posix", reason="a script for a shell")
@pytest.mark.parametrize("code", MEANINGS)
def test_the_timer_speaks_up_where_somebody_is_needed(code: int, tmp_path: Path) -> None:
    """Run with a stand-in for the tool that ends with each code: silent for what needs nobody."""
    (tmp_path / "night-check.sh").write_text(block("#!/bin/sh"))
    stand_in = tmp_path / "commission"
    stand_in.write_text(f"#!/bin/sh\n[ $1 = overview ] && exit 1\necho told of bench-3\nexit {code}\n")
    stand_in.chmod(0o755)
    search = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["sh", "night-check.sh"],
        cwd=tmp_path,
        env={**os.environ, "PATH": search},
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    silent = code in (0, 4, 5, 6, 8)

    assert "" == done.stdout
    assert (0 if silent else code) == done.returncode
    assert silent == (done.stderr == "")
    assert silent or done.stderr.endswith("told of bench-3\n")


def test_the_serial_server_is_the_one_that_is_tried() -> None:
    """Its settings are those with which the link is tested against a real server, which needs two more for its test."""
    tested = SETTINGS.partition("connection: &plain")[0].partition("---\n")[2]
    tested = tested.replace("&shared", "&bench3").replace("{shared}", "7003").replace("{device}", "/dev/ttyUSB0")
    told = {line.strip() for line in block("connection:").splitlines() if line.strip()}

    assert told == {line.strip() for line in tested.splitlines()} - {"kickolduser: true"}


def test_the_shells_are_told_as_the_help_says() -> None:
    """One way for each shell, on the screen and here."""
    text = " ".join(README.split())

    assert [] == [how for how in HOW.values() if f"`{how}`" not in text]


def test_places_are_those_of_the_tool() -> None:
    """File names of book and heads as they are without options, and the variables that name others."""
    places = README.partition("## Where files lie")[2].partition("\n## ")[0]

    for default in (book_path(None, {}), heads_path(None, {})):
        assert f"`{default.name}`" in places
    assert "`COMMISSION_BOOK`" in places
    assert "`COMMISSION_HEADS`" in places


def test_files_and_pictures_that_it_names_are_there() -> None:
    """Scripts, further reading, and the picture of page 1, which is small enough for a page of text."""
    named = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    named += re.findall(r"python3 (scripts/\S+\.py)", README) + re.findall(
        r"`((?:scripts|commission)/[\w/]+\.\w+|[A-Z]+\.md)`", README
    )

    assert "pictures/page-1.png" in named
    assert [] == [name for name in named if not (ROOT / name).exists()]
    assert (ROOT / "pictures" / "page-1.png").stat().st_size < 150_000


@pytest.mark.skipif(os.name != "posix", reason="shows a page with the manual's own reader")
def test_the_manual_page_is_built_and_shown(tmp_path: Path) -> None:
    """The script that is named builds what the reader that is named shows."""
    place = tmp_path / "commission.1"
    script = [sys.executable, str(ROOT / "scripts" / "manual.py"), "--out", str(place)]
    subprocess.run(script, capture_output=True, timeout=PATIENCE_S, check=True)
    shown = subprocess.run(
        [needs_program("man"), "-l", str(place)], capture_output=True, text=True, timeout=PATIENCE_S, check=True
    )

    assert "commission install [OPTIONS] TAG" in shown.stdout.replace("\b", "")
    assert shutil.which("man")
