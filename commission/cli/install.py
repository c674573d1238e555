"""`commission install`: the guided check of a new installation."""

from pathlib import Path

import click

from commission.cli.book_place import BookPlace
from commission.cli.guided_options import (
    BENCH_HELP,
    DWELL_HELP,
    PORT_HELP,
    busy_wait_option,
    source_option,
    speak_option,
    speak_with_option,
)
from commission.cli.numbers import MOST_BAUD, Count, Number
from commission.cli.tag import offered_ports, tag_argument


def _variables(_context: click.Context, _parameter: click.Parameter, pairs: tuple[str, ...]) -> dict[str, str]:
    found = dict(pair.partition("=")[::2] for pair in pairs)
    if not all("=" in pair and pair.partition("=")[0] for pair in pairs):
        raise click.BadParameter("write NAME=VALUE, as in --set control=127.0.0.1:7000")
    return found


@click.command(
    epilog="Example: commission install bench-3 --port /dev/ttyUSB0 --site 'workshop, second bench' --by 'R. Okafor'"
)
@tag_argument()
@click.option("--port", required=True, help=PORT_HELP, shell_complete=offered_ports)
@click.option("--speed", type=Count(300, MOST_BAUD), help="Speed in baud to try first; else the usual ones in turn.")
@busy_wait_option
@click.option("--site", default="", help="Where the printer stands; printed on the report.")
@click.option("--by", "person", default="", help="Who does it; asked for if not given.")
@click.option("--bench", default="", metavar="NAME", help=BENCH_HELP)
@click.option("--cycles", type=Count(6, 100), help="Cycles of in and out: 22 for a pass, 6 for a short check.")
@click.option("--countdown", type=Number(0, 60), help="Fix the seconds to act; else they follow your pace, at most 5.")
@click.option("--dwell", type=Number(0.2, 60), help=DWELL_HELP)
@click.option("--wiggle", type=Number(0, 3600), default=60.0, show_default=True, help="Seconds of wiggle.")
@click.option("--seed", type=Count(0), help="Seed of the order of prompts; else drawn, and recorded.")
@click.option("--reset/--no-reset", default=None, help="Restart the board on connecting, or avoid it.")
@click.option(
    "--operator", "script", type=click.Path(path_type=Path, exists=True, dir_okay=False), help="Script that answers."
)
@click.option(
    "--set", "variables", multiple=True, callback=_variables, metavar="NAME=VALUE", help="Fill a script's {NAME}."
)
@click.option("--plain", is_flag=True, help="One sentence a change: for screen readers and dumb terminals.")
@click.option("--bell/--no-bell", default=True, help="Sound the terminal bell at each prompt.")
@speak_option
@speak_with_option
@click.option("--book", type=BookPlace(writes=True), help="Record book to write to (else $COMMISSION_BOOK).")
@click.option("--reports", type=click.Path(path_type=Path, file_okay=False), default=Path(), help="Folder for reports.")
@source_option
@click.option("--prove", is_flag=True, help="Show TAG on the printer's display first; nothing moves.")
@click.pass_context
def install(context: click.Context, /, tag: str, **options: object) -> None:
    """Check a newly fitted filament sensor of the printer TAG, step by step.

    TAG is the name you give the printer; write it on the machine. The check asks the printer who it is and what its
    switches read, guides you through inserting, withdrawing and unplugging, and ends with a verdict and a report.
    It only asks the printer questions until you release, at that very step, what would move, heat, save or erase.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided
    from commission.jobs.install import install_run

    job = Job(
        "install", lambda run: install_run(run.plan, run.person, run.known, run.sheet, run.repair), resumable=True
    )
    context.exit(run_guided(Settings.of(tag, options), job))
