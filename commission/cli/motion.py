"""`commission motion`: the check of a sensor that senses movement of the filament."""

from typing import TYPE_CHECKING

import click

from commission.cli.exit_codes import NOT_A_PASS, PASSED, exits
from commission.cli.guided_options import guided_options, source_option

if TYPE_CHECKING:
    from commission.asking.steps import Steps
    from commission.cli.options import Context
    from commission.jobs.install import JobResult


@click.command(epilog="Example: commission motion bench-3 --port /dev/ttyUSB0")
@click.argument("tag")
@guided_options()
@source_option
@click.pass_context
@exits(
    {
        PASSED: "the changes over a known length are those of the data sheet; no pause was seen",
        NOT_A_PASS: "it counts too few changes or none, changes at rest, or nothing could be counted",
    }
)
def motion(context: click.Context, /, tag: str, **options: object) -> None:
    """Check a sensor of movement of the printer TAG: changes of its reading over a measured length of filament.

    A wheel or an encoder says nothing of whether filament is there, so it is never judged as presence. By hand: two
    marks on the filament are measured, and it is pulled from one to the other, three times; only questions are sent. By
    motor: after a release that names the heat, the nozzle is heated and the drive feeds a known length three times; a
    mark shows whether it slipped. The report says how much filament one change takes, between two exact bounds.

    Stay with a printer that is hot. Whatever ends the run, the heaters are switched off, and the tool says what of
    that was delivered.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided

    context.exit(run_guided(Settings.of(tag, options), Job("motion", _steps, has_trials=False)))


def _steps(run: "Context") -> "Steps[JobResult]":
    from commission.jobs.motion import motion_run

    return motion_run(run.person, run.known.surroundings)
