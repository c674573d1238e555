"""`commission restore`: recorded settings back into the printer."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.guided_options import guided_options
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.procedure.settings.record import SettingsRecord


@click.command(epilog="Example: commission restore bench-3 --port /dev/ttyUSB0")
@tag_argument()
@guided_options()
@click.option("--run", "number", default="", help="Number of the run whose record is put back; else it is asked.")
@click.pass_context
def restore(context: click.Context, /, tag: str, number: str, **options: object) -> None:
    """Put recorded settings of the printer TAG back, after a reflash or a loss.

    The whole plan is shown before anything is sent. Safe lines go out after one release, lines with a trap are asked
    one by one, and lines that move, heat, probe, erase or write raw memory are never sent, whatever stands in the
    record. Each line is read back; the result is saved once and proven from the printer's memory.

    If it stops, run it again: it plans anew and sends only what still differs.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided
    from commission.jobs.settings import restore_run

    settings = Settings.of(tag, options)
    records = _records(settings.book, tag, number)
    job = Job("restore", lambda run: restore_run(run.sheet, records, run.known), has_trials=False)
    context.exit(run_guided(settings, job))


def _records(book: Path | None, tag: str, number: str) -> "list[tuple[str, SettingsRecord]]":
    """The records that can be put back, newest first.

    Raises:
        click.UsageError: there is none.
    """
    from commission.cli.settings_records import recorded

    every = [(each.run, each.record) for each in reversed(recorded(book, tag, as_found_only=True))]
    found = [pair for pair in every if number in ("", pair[0])]
    if every and not found:
        listed = ", ".join(f"{run} ({record.day})" for run, record in every)
        raise click.UsageError(f"No settings record of {tag} is from the run {number}. On record: {listed}.")
    if not found:
        which = f"run {number} of {tag}" if number else tag
        raise click.UsageError(
            f"The book holds no settings record of {which}. Take one with `backup {tag} --port PORT`, or record a "
            f"saved capture with `backup {tag} --from FILE`."
        )
    return found
