"""Every command of the parser with a usual command line, and a folder in which it finds what that line names."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import click

from commission.cli import main
from tests.cli.bench import Folder

ARGUMENTS = {
    "tag": "bench-3",
    "text": "the lever was cleaned",
    "file": "capture.txt",
    "other": "folder",
    "number": "bench-3/2031-03-14/1",
    "shell": "bash",
    "topic": "words",
}
"""A usual word for each argument there is, by its name."""
OPTIONS = {"--port": "socket://127.0.0.1:9", "--trip-to-gear": "40"}
"""The same for each option that a command cannot do without; behind that port nobody listens."""
RUNS_FOR_LONG = ("demo",)
"""It asks nobody, and carries out a whole check in real time wherever a folder can be made."""


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every command that does something, with its words."""
    context = click.Context(main)

    def below(words: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
        if not isinstance(command, click.Group):
            yield words, command
            return
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            yield from below(f"{words} {name}".strip(), found)

    return below("", main)


COMMANDS = dict(commands())


def usual(words: str, instead: click.Parameter | None = None, value: str = "") -> list[str]:
    """The usual command line, with another value for one parameter.

    Raises:
        KeyError: there is a new argument: name a usual word for it above.
    """
    command = COMMANDS[words]
    line = words.split()
    for each in command.params:
        if isinstance(each, click.Argument):
            line.append(value if each is instead else ARGUMENTS[str(each.name)])
        elif each is instead:
            line += [each.opts[0], value]
        elif each.required:
            line += [each.opts[0], OPTIONS[each.opts[0]]]
    return line


def script_of(words: str) -> list[str]:
    """The options by which a script answers where the command asks a person."""
    guided = any("--operator" in each.opts for each in COMMANDS[words].params)
    return ["--operator", "operator.toml", "--by", "R. Okafor"] if guided else []


def furnished(place: Path) -> Folder:
    """A folder with a book, a script and a capture, and with files that have nothing to do with the tool."""
    folder = Folder(place)
    folder.on_record("install: pass")
    folder.script()
    folder.backup_words()
    (place / "folder").mkdir()
    (place / "binary.bin").write_bytes(bytes(range(256)) * 9)
    (place / "empty").write_bytes(b"")
    (place / "foreign.txt").write_text("bread, milk, filament\n")
    with sqlite3.connect(place / "foreign.sqlite3") as other:
        other.execute("create table birds (name)")
    other.close()
    return folder
