"""`commission metrics`: how every printer stands, as a text file for a collector."""

from datetime import date
from pathlib import Path

import click

from commission.cli.roster_file import ROSTER, roster_listed


@click.command(epilog="Example: commission metrics --out /var/lib/collector/sensors.txt")
@click.option("--out", "file", type=click.Path(path_type=Path), required=True, help="File to write.")
@ROSTER
@click.option("--book", "place", type=click.Path(path_type=Path), help="Record book (else $COMMISSION_BOOK).")
def metrics(file: Path, roster: Path | None, place: Path | None) -> None:
    """Write how every printer stands as OpenMetrics text, for a collector that reads a file.

    The file is replaced whole or not at all: let a timer write it. What is not known has no sample.
    """
    from commission.cli.opening import opened_book
    from commission.clock import SystemClock
    from commission.files.kinds import METRICS
    from commission.files.output import write_output
    from commission.fleet.metrics import as_openmetrics
    from commission.fleet.overview import overview

    with opened_book(place) as book:
        found = overview(book, date.today(), roster_listed(roster))  # noqa: DTZ011 - the owner's own calendar day
    write_output(file, as_openmetrics(found, SystemClock().now()), METRICS)
