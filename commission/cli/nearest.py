"""What was probably meant by a mistyped word."""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

import click

from commission.dialect.sanitise import clean_text

NEAR = 0.6
"""The least likeness of a word that is named; that of Python's `difflib`."""


def nearest(typed: str, known: Iterable[str]) -> str:
    """The nearest of the known words, in a question that begins with a blank; empty where none is near."""
    spelled = {each.lower(): each for each in known}
    near = get_close_matches(typed.lower(), spelled, n=1, cutoff=NEAR)
    return f" Do you mean '{clean_text(spelled[near[0]])}'?" if near else ""


def no_such_command(context: click.Context, typed: str, known: Iterable[str]) -> click.UsageError:
    """Wrong usage: there is no command of that name; the nearest, or how they are listed."""
    hint = nearest(typed, known) or f" `{context.command_path} --help` lists them."
    return click.UsageError(f"There is no command '{clean_text(typed)}'.{hint}", context)


class Commands(click.Group):
    """Subcommands of a command; of a mistyped one the nearest is named."""

    def resolve_command(self, context: click.Context, args: list[str]) -> Any:
        """The subcommand that was typed."""
        try:
            return super().resolve_command(context, args)
        except click.UsageError as unknown:
            raise no_such_command(context, args[0], self.commands) from unknown
