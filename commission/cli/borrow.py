"""`commission borrow`: the sensor tried on an endstop's socket, before the first build for it is made."""

from typing import TYPE_CHECKING

import click

from commission.cli.exit_codes import NOT_A_PASS, PASSED, exits
from commission.cli.guided_options import guided_options
from commission.cli.tag import tag_argument

if TYPE_CHECKING:
    from commission.asking.steps import Steps
    from commission.cli.options import Context
    from commission.jobs.install import JobResult


@click.command(epilog="Example: commission borrow bench-3 --port /dev/ttyUSB0")
@tag_argument()
@guided_options()
@click.pass_context
@exits(
    {
        PASSED: "the build follows, and the endstop works again; nothing is commissioned by it",
        NOT_A_PASS: "no build follows from it, or the endstop is not proven to work again",
    }
)
def borrow(context: click.Context, /, tag: str, **options: object) -> None:
    """Try the sensor on an endstop's socket of the printer TAG, before the first build for it is made.

    The present firmware reports its endstops already. For a quarter of an hour the sensor takes the place of one of
    them, with the power off while plugs are changed. From the empty socket, filament in and filament out it follows
    which contact it is, whether a broken wire reads as filament out, and what the build must say.

    Nothing moves, heats or is changed: only questions are sent. Nobody may home the printer until the endstop is back
    and its own switch is proven to work again. A probe's socket, or one joined to a motor driver, is never borrowed.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided

    context.exit(run_guided(Settings.of(tag, options), Job("borrow", _steps, has_trials=False)))


def _steps(run: "Context") -> "Steps[JobResult]":
    from commission.jobs.borrow import borrow_run

    return borrow_run(run.plan, run.person, run.known.surroundings)
