"""The options that every guided command has: printer, person, script, screen and files."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from commission.cli.book_place import BookPlace
from commission.cli.numbers import MOST_BAUD, Count, Number
from commission.cli.tag import offered_ports

_F = TypeVar("_F", bound=Callable[..., Any])


def _variables(_context: click.Context, _parameter: click.Parameter, pairs: tuple[str, ...]) -> dict[str, str]:
    if not all("=" in pair for pair in pairs):
        raise click.BadParameter("write NAME=VALUE, as in --set control=127.0.0.1:7000")
    return dict(pair.partition("=")[::2] for pair in pairs)


_FILE = click.Path(path_type=Path, exists=True, dir_okay=False)
_FOLDER = click.Path(path_type=Path, file_okay=False)
PORT_HELP = "Device name, socket://HOST:PORT or rfc2217://HOST:PORT (see `ports`)."
DWELL_HELP = "Seconds of each dwell, and of each look at an unplugged input; else 1.2 and 2."
BENCH_HELP = "This computer's name in the record (else $COMMISSION_BENCH, else its host name)."
_SPEED_HELP = "Speed in baud to try first; then the usual ones in turn."


SOURCE_HELP = (
    "How the sensor is read, as the record calls it: a line of the switch report (`filament 2`, `x_max`), `monitor 0`, "
    "`sensor NAME`, `input NAME`. Else it is found out, and asked where that is not clear. "
    "`install`, `check` and `function` test several one after the other: `all`, or for `install` and `function` names "
    "with commas between."
)
source_option = click.option("--source", default="", metavar="NAME", help=SOURCE_HELP)
"""For the commands that read a sensor."""
speak_option = click.option("--speak", is_flag=True, help="Speak prompts and results with the system's speech program.")
speak_with_option = click.option(
    "--speak-with", default="", metavar="COMMAND", help="The same with this command, which speaks what it reads."
)
busy_wait_option = click.option(
    "--busy-wait",
    type=Number(5, 86_400),
    metavar="SECONDS",
    help=(
        "How long a busy printer is waited for; else 1800, and 600 with nobody there. "
        "One that says nothing: else 120, and not at all with nobody there."
    ),
)
"""For every command that may wait for a printer."""


def guided_options(*, port_required: bool = True) -> Callable[[_F], _F]:
    """Give a command the options of a guided run, named as `Settings` has them.

    Args:
        port_required: whether the command is of no use without a printer.
    """
    # a required option is given no default at all: newer releases of the library take even None for an answer
    port = click.option("--port", required=True, help=PORT_HELP, shell_complete=offered_ports)
    options = (
        port if port_required else click.option("--port", default="", help=PORT_HELP, shell_complete=offered_ports),
        click.option("--speed", type=Count(300, MOST_BAUD), help=_SPEED_HELP),
        busy_wait_option,
        click.option("--site", default="", help="Where the printer stands; printed on the report."),
        click.option("--by", "person", default="", help="Who does it; asked for if not given."),
        click.option("--bench", default="", metavar="NAME", help=BENCH_HELP),
        click.option("--reset/--no-reset", default=None, help="Restart the board on connecting, or avoid it."),
        click.option("--operator", "script", type=_FILE, help="Script that answers."),
        click.option(
            "--set",
            "variables",
            multiple=True,
            callback=_variables,
            metavar="NAME=VALUE",
            help="Fill a script's {NAME}.",
        ),
        click.option("--plain", is_flag=True, help="One sentence a change: for screen readers and dumb terminals."),
        click.option("--bell/--no-bell", default=True, help="Sound the terminal bell at each prompt."),
        speak_option,
        speak_with_option,
        click.option("--book", type=BookPlace(writes=True), help="Record book to use (else $COMMISSION_BOOK)."),
        click.option("--reports", type=_FOLDER, default=Path(), help="Folder for reports and settings files."),
    )

    def give(command: _F) -> _F:
        for option in reversed(options):
            command = option(command)
        return command

    return give
