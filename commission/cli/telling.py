"""Says a list's item or a problem: on a terminal with lines that end between words, into a pipe or file as one line."""

import sys

import click

from commission.dialect.sanitise import clean_text
from commission.folding import for_reader


class Ending(click.ClickException):
    """Ends a command with a sentence and a code of the table."""

    def __init__(self, message: str, code: int) -> None:
        super().__init__(message)
        self.exit_code = code  # type: ignore[misc]  # the library reads it from the instance


def printable(text: str) -> str:
    """A text as it may go to a terminal: what could steer it stands as its escape, and only the ends of lines act."""
    return "\n".join(map(clean_text, text.split("\n")))


def tell(text: str, hanging: str = "    ") -> None:
    """Print it, made printable.

    Args:
        text: one item.
        hanging: what stands before its second line and those after it.
    """
    click.echo(for_reader(sys.stdout, clean_text(text), hanging))


def complain(text: str) -> None:
    """Say what went wrong, on the error stream, after the program's name."""
    click.echo(for_reader(sys.stderr, printable(f"commission: {text}"), ""), err=True)


def say(text: str, end: str = "\n") -> None:
    """Print a page for a person, made printable; `end` stands behind it."""
    click.echo(for_reader(sys.stdout, printable(text), "") + end, nl=False)


def hand_out(text: str, end: str = "\n") -> None:
    """Print data for a program, as it is: its own format says how a letter that does not print is written."""
    click.echo(text + end, nl=False)


def remark(text: str) -> None:
    """Say on the error stream what is no part of the output, such as where a file was written."""
    click.echo(for_reader(sys.stderr, printable(text), ""), err=True)


def in_lines(problem: click.ClickException) -> click.ClickException:
    """The same problem, made printable, with lines that end between words where a person reads it on a terminal."""
    label = "Error: "
    text = for_reader(sys.stderr, label + printable(problem.format_message()), "").removeprefix(label)
    if isinstance(problem, click.UsageError):
        return click.UsageError(text, problem.ctx)
    return Ending(text, problem.exit_code)
