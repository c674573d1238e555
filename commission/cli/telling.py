"""Says one item of a list: on a terminal with lines that end between words, into a pipe or file as one line."""

import shutil
import sys
import textwrap

import click

from commission.dialect.sanitise import clean_text


def tell(text: str, hanging: str = "    ") -> None:
    """Print it, made printable.

    Args:
        text: one item.
        hanging: what stands before its second line and those after it.
    """
    clean = clean_text(text)
    if sys.stdout.isatty():
        columns = shutil.get_terminal_size().columns
        clean = "\n".join(wrapped(clean, columns, hanging))
    click.echo(clean)


def wrapped(text: str, columns: int, hanging: str) -> list[str]:
    """The text in lines of so many columns; a text that fits is left as it is, blanks and all."""
    if len(text) <= columns:
        return [text]
    first = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        text.strip(),
        max(columns, len(hanging) + 20),
        initial_indent=first,
        subsequent_indent=hanging,
        break_on_hyphens=False,
    )
