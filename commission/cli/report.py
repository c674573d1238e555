"""`commission report`: draws a run's report again from the record book."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import BOOK_READ, BookPlace
from commission.cli.exit_codes import FAILED, PASSED, exits
from commission.cli.opening import opened_book
from commission.cli.tag import no_such_printer, tag_argument
from commission.cli.telling import complain, say

if TYPE_CHECKING:
    from commission.records.place import Place

FORMATS = ("html", "markdown", "json")


@click.command(epilog="Example: commission report bench-3 --out reports")
@tag_argument()
@click.option("--run", "number", help="Number of the run, as printed on its report.  [default: the newest]")
@click.option("--book", type=BookPlace(), help=BOOK_READ)
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), default=Path(), help="Folder for the files.")
@click.option("--format", "formats", type=click.Choice(FORMATS), multiple=True, help="May be given more than once.")
@click.option("--full", is_flag=True, help="With every step, trial, value and raw exchange; 30 to 80 pages.")
@click.pass_context
@exits({PASSED: "the files are written", FAILED: "they are, and the book is not as it was written"})
def report(
    context: click.Context,
    tag: str,
    number: str | None,
    book: "Place | None",
    out: Path,
    formats: tuple[str, ...],
    *,
    full: bool,
) -> None:
    """Draw a printer's report again from the record book.

    The files are the same to the byte each time they are drawn from the same entries. Without --format all formats are
    written next to each other. With --full page and text have the evidence behind the findings too, in files of their
    own; the JSON always has it.
    """
    from commission.records.history import newest_run, runs, tags
    from commission.report.write import write_reports

    with opened_book(book) as opened:
        newest = newest_run(opened, tag)
        if newest is None:
            raise no_such_printer(tag, tags(opened))
        if number is not None and number not in {run.number for run in runs(opened, tag)}:
            raise click.UsageError(f"{tag} has no run {number}; the newest is {newest.number}.")
        written = write_reports(opened, number or newest.number, out, formats or FORMATS, full=full)
        faults = opened.verify()
    for each in written:
        say(str(each.absolute()))
    if faults:
        complain(f"the book was altered after it was written: {faults[0].what}.")
        context.exit(FAILED)
