"""`commission diagnose`: what is wrong with a sensor that reads wrong, and what to try next."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commission.cli.exit_codes import FAILED, NOT_A_PASS, exits
from commission.cli.guided_options import DWELL_HELP, guided_options, source_option
from commission.cli.numbers import Number
from commission.cli.tag import no_such_printer, tag_argument
from commission.command_lines import DECLARE_WIRING, line

if TYPE_CHECKING:
    from commission.asking.steps import Steps
    from commission.cli.options import Context
    from commission.jobs.install import JobResult


@click.command(epilog="Examples: commission diagnose bench-3 --port /dev/ttyUSB0;  commission diagnose bench-3")
@tag_argument()
@guided_options(port_required=False)
@source_option
@click.option("--countdown", type=Number(0, 60), default=5.0, show_default=True, help="Seconds to act.")
@click.option("--dwell", type=Number(0.2, 60), help=DWELL_HELP)
@click.pass_context
@exits({FAILED: "a cause was found that makes it unsafe to go on", NOT_A_PASS: "it ended, and passes nothing"})
def diagnose(context: click.Context, /, tag: str, **options: Any) -> None:
    """Find out what is wrong with the sensor of the printer TAG.

    Everything that can be wrong is weighed against what was read, and the test that tells most is asked for next: only
    tests that cannot restart the board. It begins from what the book holds of earlier runs, if nothing was changed.

    Without --port nothing is asked and nothing is sent: it says where the evidence points, and which test is next.
    """
    from commission.cli.options import Job, Settings
    from commission.cli.running import run_guided

    if options["port"]:
        context.exit(run_guided(Settings.of(tag, options), Job("diagnose", _at_the_printer, has_trials=False)))
    sensors = _sensors(options["book"], tag)
    if options["source"] and options["source"] not in sensors:
        raise click.UsageError(_no_such_sensor(tag, sensors))
    if not _wiring_is_known(options["book"], tag):
        raise click.UsageError(
            f"The book holds no declared wiring of {tag}. Give --port to declare it and be asked for tests, declare it "
            f"in the course of `install`, or put it on record without a run: `{line(DECLARE_WIRING, tag, '')}`."
        )
    options["person"] = options["person"] or "not stated"
    said = _declared_without_a_run(options["book"], tag, sensors)
    job = Job("diagnose", lambda _run: _on_paper(sensors, options["source"], said), has_trials=False, has_printer=False)
    context.exit(run_guided(Settings.of(tag, options), job))


def _at_the_printer(run: "Context") -> "Steps[JobResult]":
    from commission.jobs.diagnosis import diagnose_run

    return diagnose_run(run.plan, run.known.surroundings, run.known.sensors)


def _on_paper(sensors: tuple[str, ...], wanted: str, said: dict[str, tuple[str, ...]]) -> "Steps[JobResult]":
    from commission.jobs.diagnosis import paper_run

    return paper_run(sensors, wanted, said)


def _declared_without_a_run(path: Path | None, tag: str, sensors: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """What is said of the wiring of each sensor that was declared without a run, by the sensor's name."""
    from commission.cli.opening import opened_book
    from commission.command_lines import filled
    from commission.records.wirings import noted_wirings

    with opened_book(path) as book:
        noted = noted_wirings(book, tag, sensors)
    return {each.sensor: tuple(filled(text, tag, "") for text in each.sentences) for each in noted}


def _sensors(path: Path | None, tag: str) -> tuple[str, ...]:
    """Several that the book has of the printer; empty where it has one."""
    from commission.cli.opening import opened_book
    from commission.records.several import sensors_on_record

    with opened_book(path) as book:
        return sensors_on_record(book, tag)


def _no_such_sensor(tag: str, sensors: tuple[str, ...]) -> str:
    if not sensors:
        return f"The book has one sensor of {tag}. Leave out --source."
    return f"--source: the book has these sensors of {tag}: {', '.join(sensors)}. Name one of them, or none."


def _wiring_is_known(path: Path | None, tag: str) -> bool:
    from commission.cli.opening import opened_book
    from commission.evidence.findings.wiring import Wiring
    from commission.records.history import newest_finding, runs_and_notes, tags

    with opened_book(path) as book:
        if tag not in (known := tags(book)):
            raise no_such_printer(tag, known)
        return newest_finding(book, Wiring, runs_and_notes(book, tag)) is not None
