"""`commission overview`: how every printer stands, on a screen, as data, or as a page for the wall."""

import shutil
import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import READ_BOOK
from commission.cli.exit_codes import FAILED, PASSED, exits
from commission.cli.roster_file import ROSTER, roster_listed
from commission.cli.telling import hand_out, say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from commission.fleet.cells import Cells
    from commission.fleet.roster import Listed
    from commission.records.place import Place

PIPE_COLUMNS = 10_000
"""Into a pipe or a file each printer is one line."""


@click.command(epilog="Example: commission overview --html /srv/wall/sensors.html")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="As of this day instead of today (YYYY-MM-DD).")
@click.option("--json", "form", flag_value="json", help="Write a JSON object.")
@click.option("--csv", "form", flag_value="csv", help="Write comma-separated values.")
@click.option("--html", "page", type=click.Path(path_type=Path), help="Write one page for a wall screen to this file.")
@ROSTER
@READ_BOOK
@click.pass_context
@exits(
    {PASSED: "every printer is in date, and nothing unsafe is open", FAILED: "one is overdue, due at once or unsafe"}
)
def overview(
    context: click.Context,
    day: datetime | None,
    form: str | None,
    page: Path | None,
    roster: Path | None,
    place: "Place | None",
) -> None:
    """Show how every printer of the record book stands, the most urgent first.

    Printers of the roster of which nothing is on record are shown too. A page is replaced whole or not at all, and
    reads itself again each minute: let a timer write it.
    """
    from commission.cli.opening import opened_book
    from commission.fleet.cells import cells_of
    from commission.fleet.data import as_json
    from commission.fleet.overview import overview as overview_of
    from commission.fleet.table import as_csv, as_text
    from commission.records.due import Standing

    today = date.today() if day is None else day.date()  # noqa: DTZ011 - the owner's own calendar day
    with opened_book(place, by_time=True) as book:
        found = overview_of(book, today, roster_listed(roster))
    cells = [cells_of(each, today) for each in found]
    if page is not None:
        _write_page(page, cells)
    if form == "json":
        hand_out(as_json(found, today), end="")
    elif form == "csv":
        hand_out(as_csv(cells), end="")
    elif page is None:
        say("\n".join(as_text(cells, _columns())))
    late = any(each.standing in (Standing.AT_ONCE, Standing.OVERDUE) or each.unsafe for each in found)
    context.exit(FAILED if late else PASSED)


def tell_overview(place: "Place | None", roster: "Sequence[Listed]", *, as_json: bool = False) -> None:
    """Show the overview of today on the output, the most urgent first."""
    from commission.cli.opening import opened_book
    from commission.fleet.cells import cells_of
    from commission.fleet.data import as_json as in_json
    from commission.fleet.overview import overview as overview_of
    from commission.fleet.table import as_text

    today = date.today()  # noqa: DTZ011 - the owner's own calendar day
    with opened_book(place, by_time=True) as book:
        found = overview_of(book, today, roster)
    if as_json:
        hand_out(in_json(found, today), end="")
        return
    say("\n".join(as_text([cells_of(each, today) for each in found], _columns())))


def _columns() -> int:
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else PIPE_COLUMNS


def _write_page(page: Path, cells: "list[Cells]") -> None:
    from commission.clock import SystemClock
    from commission.files.kinds import OVERVIEW
    from commission.files.output import write_output
    from commission.fleet.page import as_page

    write_output(page, as_page(cells, SystemClock().now()), OVERVIEW)
