"""The command lines that sentences name: one home, each a command there is, with all that it needs."""

import ast
import re
import shlex
from functools import cache
from pathlib import Path

import click
import pytest

from commission import command_lines
from commission.cli import main

ROOT = Path(__file__).resolve().parent.parent / "commission"
LINES = {name: text for name, text in vars(command_lines).items() if name.isupper() and isinstance(text, str)}
HOME = ("command_lines.py", "cli", "files")
"""Where a command may be named by hand: the command line speaks of itself, and a kind of file has its mark."""
NAMES = sorted(main.list_commands(click.Context(main)))
NAMED = re.compile(rf"\bcommission ({'|'.join(NAMES)})\b|`({'|'.join(NAMES)})[ `]")
UNCLEAR = re.compile(r"\b(the check|the soak|the (function|warm) test) again\b(?!:)")


def commanded(words: list[str]) -> tuple[click.Command, list[str]]:
    """The command that these words begin with, and the rest of them."""
    command: click.Command = main
    while isinstance(command, click.Group):
        found = command.get_command(click.Context(main), words[0])
        assert found is not None, f"no command {words[0]}"
        command, words = found, words[1:]
    return command, words


@pytest.mark.parametrize("name", LINES)
def test_a_command_line_that_is_named_is_whole(name: str) -> None:
    """The command exists, knows each option, and has every argument and option that it cannot do without."""
    program, *words = shlex.split(LINES[name])
    command, rest = commanded(words)
    options = {text for each in command.params if isinstance(each, click.Option) for text in each.opts}
    given = [word for word in rest if word.startswith("-")]
    values = [word for word in rest if not word.startswith("-")]
    needed = [each for each in command.params if each.required]

    assert "commission" == program
    assert set(given) <= options
    for each in needed:
        if isinstance(each, click.Option):
            assert set(each.opts) & set(given), f"{name} lacks {each.opts[0]}"
    arguments = sum(isinstance(each, click.Argument) for each in needed)
    taking = sum(
        not each.is_flag for each in command.params if isinstance(each, click.Option) and set(each.opts) & set(given)
    )
    assert arguments + taking <= len(values)
    if "--port" in options and "TAG" in values:
        assert "--port" in given or "--from" in given, f"{name} says no port"


@cache
def sentences() -> tuple[tuple[str, str], ...]:
    """Every text of the modules that is no docstring, with its place."""
    found: list[tuple[str, str]] = []
    for path in MODULES:
        nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
        bodies = [node.body for node in nodes if hasattr(node, "body") and isinstance(node.body, list)]
        said = {id(each.value) for body in bodies for each in body if isinstance(each, ast.Expr)}
        found += (
            (f"{path.relative_to(ROOT)}:{node.lineno}", node.value)
            for node in nodes
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said
        )
    return tuple(found)


MODULES = sorted(path for path in ROOT.rglob("*.py") if path.relative_to(ROOT).parts[0] not in HOME)


def test_no_sentence_writes_a_command_line_by_itself() -> None:
    """A command is named by the text of its home, so that a new option or name is changed once."""
    assert len(sentences()) > len(MODULES)
    assert [] == [f"{place}: {text}" for place, text in sentences() if NAMED.search(text)]


def test_a_cure_says_which_command_comes_again() -> None:
    """`Run this again` is the command that was run; another one is named by its line."""
    assert [] == [f"{place}: {text}" for place, text in sentences() if UNCLEAR.search(text)]


def test_tag_and_port_are_put_into_a_sentence() -> None:
    """As a shell takes them, within a command line only; what is not known stays to be filled in."""
    said = f"TAG is a word. Run `{command_lines.FUNCTION}`, then `{command_lines.LIST}`."

    assert (
        "TAG is a word. Run `commission function 'bench 3' --port /dev/ttyX0`, then `commission book list`."
        == command_lines.filled(said, "bench 3", "/dev/ttyX0")
    )
    assert "`commission function bench-3 --port PORT`" in command_lines.filled(said, "bench-3", "")
