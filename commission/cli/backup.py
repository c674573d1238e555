"""`commission backup`: the settings of a printer as found, in the book and in two files."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.captures import read_capture
from commission.cli.guided_options import guided_options
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.asking.steps import Steps
    from commission.cli.options import Context
    from commission.jobs.install import JobResult


@click.command(
    epilog="Examples: commission backup bench-3 --port /dev/ttyUSB0;  commission backup bench-3 --from console.txt"
)
@tag_argument()
@guided_options(port_required=False)
@click.option("--from", "capture", type=click.Path(path_type=Path), help="A capture saved in any console; no printer.")
@click.pass_context
def backup(context: click.Context, /, tag: str, capture: Path | None, **options: object) -> None:
    """Keep a record of the settings of the printer TAG as they are, before anything is changed.

    With --port it asks the printer who it is, what its switches read and what its settings are, until they come the
    same twice in a row. With --from it takes the answer to a settings report that was saved in any console.

    The record goes into the book; a dated text to read and a file of plain lines for any sender are written beside the
    reports. Reading changes nothing; loading the stored values to compare them is asked for first.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided

    if bool(options["port"]) is (capture is not None):
        raise click.UsageError("Give either --port of the printer or --from with a saved capture.")
    if capture is None:
        context.exit(run_guided(Settings.of(tag, options), Job("backup", _from_printer, has_trials=False)))
    lines = capture_lines(capture)
    job = Job("backup", lambda run: _from_capture(run, lines, capture.name), has_trials=False, has_printer=False)
    options["person"] = options["person"] or "not stated"
    context.exit(run_guided(Settings.of(tag, options), job))


def capture_lines(path: Path) -> tuple[str, ...]:
    """The lines of a capture, printable.

    Raises:
        click.BadParameter: it cannot be read, is too large, or holds no settings.
    """
    from commission.dialect.framing import split_lines
    from commission.procedure.settings.record import SettingsRecord
    from commission.settings.readable_file import printed_part
    from commission.settings.snapshot import NoReport

    try:
        lines = printed_part([line.text for line in split_lines(read_capture(path, "--from"))])
        SettingsRecord(lines, path.name, "")
    except NoReport as empty:
        said = f"{path}: {empty} Save the printer's answer to its settings report and give that file."
        raise click.BadParameter(said, param_hint="--from") from empty
    return lines


def _from_printer(run: "Context") -> "Steps[JobResult]":
    from commission.jobs.settings import backup_run

    return backup_run(run.sheet, run.known)


def _from_capture(run: "Context", lines: tuple[str, ...], name: str) -> "Steps[JobResult]":
    from commission.jobs.settings import capture_run

    return capture_run(run.sheet, lines, name)
