"""The options of a command that works on every printer of the roster at once."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from commission.cli.numbers import Count, Number
from commission.cli.roster_file import ROSTER

_F = TypeVar("_F", bound=Callable[..., Any])
MOST_JOBS = 256
_MAY_RESTART = "With --all: open ports also where that can restart the board. Only when nothing prints."


def all_options(command: _F) -> _F:
    """Give a command `--all` and what goes with it."""
    options = (
        click.option("--all", "everyone", is_flag=True, help="Every printer of the roster, unattended, at once."),
        click.option(
            "--jobs", type=Count(1, MOST_JOBS), default=100, show_default=True, help="With --all: how many at once."
        ),
        click.option("--limit", type=Number(10, 2_000_000), help="With --all: seconds that one printer may take."),
        click.option("--may-restart", is_flag=True, help=_MAY_RESTART),
        ROSTER,
    )
    for option in reversed(options):
        command = option(command)
    return command


def demand_roster_alone(tag: str | None, options: Mapping[str, Any]) -> None:
    """Refuse what the roster says, and who is not there.

    Raises:
        UsageError: a printer, a port, or somebody who answers was named beside --all.
    """
    if tag is not None or options["port"]:
        raise click.UsageError("With --all the roster says which printers, and where: leave out TAG and --port.")
    if options["script"] is not None:
        raise click.UsageError("With --all nobody answers: leave out --operator.")
