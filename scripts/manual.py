"""Build the manual page from the commands themselves, so that it says what they take and nothing else.

    python3 scripts/manual.py [--out FILE]

Writes `build/commission.1` unless told otherwise. Read it with `man -l build/commission.1`; put it into a folder
`man1` of your manual path, such as ~/.local/share/man/man1, and `man commission` finds it.

The form is that of the manual-page macros (groff_man(7)). What is typed has the hyphen of the keyboard, so that it can
be copied; a letter outside ASCII is named by its number (groff_char(7)), so that the page reads alike in every locale.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts._environment import ROOT, python, ready

if TYPE_CHECKING:
    import click

PAGE = ROOT / "build" / "commission.1"
SIGNS = {"\\": r"\e", "-": r"\-", "'": r"\(aq", "`": r"\(ga", "^": r"\(ha", "~": r"\(ti"}
"""What a typesetter would draw as another sign than the keyboard's."""
ENVIRONMENT: Mapping[str, str] = {
    "COMMISSION_BOOK": "The record book, where --book names none; else it lies in the user's data folder.",
    "COMMISSION_HEADS": "The second file, which keeps where the book ended; else in the user's folder of states.",
    "COMMISSION_ROSTER": "The file that lists the printers, where --roster names none.",
    "COMMISSION_SHARED": "The address of the shared book, where --shared names none; in --book `shared:` is it.",
    "COMMISSION_BENCH": "This computer's name in the record, where --bench names none; else its host name.",
    "NO_COLOR": "Set to anything, nothing is coloured.",
}


def main(arguments: Sequence[str]) -> int:
    """Write the page; the exit code is returned."""
    parser = argparse.ArgumentParser(description="Build the manual page from the commands.")
    parser.add_argument("--out", type=Path, default=PAGE, metavar="FILE", help="where it is written")
    place = parser.parse_args(arguments).out
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(page(), encoding="ascii")
    print(f"Written: {place}")
    return 0


def page() -> str:
    """The whole page, in ASCII."""
    from importlib.metadata import version

    import click

    from commission.cli import SUMMARIES
    from commission.cli import main as program
    from commission.cli.exit_codes import MEANINGS, SEVERITY
    from commission.cli.words import WORDS

    context = click.Context(program, info_name="commission")
    codes = {str(code): meaning for code, meaning in MEANINGS.items()}
    order = ", ".join(map(str, SEVERITY))
    lines = [f'.TH COMMISSION 1 "" "commission {version("commission")}" "User commands"']
    lines += [".SH NAME", r"commission \- " + words("commission a filament sensor over a printer's serial console")]
    lines += [".SH SYNOPSIS", ".B commission", words("COMMAND [OPTIONS] [ARGUMENTS]")]
    lines += [".SH DESCRIPTION", *_prose(program.help or ""), *_listed(SUMMARIES)]
    lines += [".SH COMMANDS", *_commands(program, context)]
    lines += [".SH EXIT STATUS", *_listed(codes), ".PP"]
    lines += [words(f"Where several printers are looked at, the worst of theirs counts: {order}.")]
    lines += [".SH ENVIRONMENT", *_listed(ENVIRONMENT)]
    lines += [".SH WORDS", *_listed(WORDS)]
    return "\n".join(lines) + "\n"


def words(text: str) -> str:
    """A text in the typesetter's signs; a point or quote at its beginning is no order to it."""
    said = "".join(SIGNS.get(sign) or (sign if sign.isascii() else f"\\[u{ord(sign):04X}]") for sign in text)
    return rf"\&{said}" if said.startswith(".") else said


def _commands(group: click.Group, above: click.Context) -> Iterator[str]:
    import click

    for name in group.list_commands(above):
        command = group.get_command(above, name)
        if command is None:
            continue
        context = click.Context(command, above, name)
        yield f'.SS "{words(context.command_path)}"'
        yield words(" ".join([context.command_path, *command.collect_usage_pieces(context)]))
        yield from [".PP", *_prose(command.help or ""), *_options(command, context)]
        if isinstance(command, click.Group):
            yield from _commands(command, context)
        elif command.epilog:
            yield from [".PP", words(command.epilog)]


def _options(command: click.Command, context: click.Context) -> list[str]:
    told = (option.get_help_record(context) for option in command.get_params(context) if option.opts[0].startswith("-"))
    return _listed(dict(each for each in told if each is not None))


def _listed(meanings: Mapping[str, str]) -> list[str]:
    return [line for name, meaning in meanings.items() for line in (".TP", rf"\fB{words(name)}\fR", words(meaning))]


def _prose(text: str) -> Iterator[str]:
    for count, part in enumerate(text.split("\n\n")):
        if count:
            yield ".PP"
        if part.startswith("\b\n"):
            yield from [".nf", *map(words, part.splitlines()[1:]), ".fi"]
        else:
            yield words(" ".join(part.split()))


if __name__ == "__main__":
    if Path(sys.prefix).resolve() != python().parent.parent.resolve():
        os.execv(ready(), [str(python()), *sys.argv])  # noqa: S606 - this script in its own environment
    raise SystemExit(main(sys.argv[1:]))
