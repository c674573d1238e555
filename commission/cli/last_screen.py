"""The last screen of a run: the five points of its report's first page, and where the report lies."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

from commission.cli.way_out import NOT_REACHED, still_open
from commission.files.output import OutputError
from commission.records.book import Book
from commission.records.chain import CheckedSoFar
from commission.records.place import book_path
from commission.vocabulary import Outcome

if TYPE_CHECKING:
    from commission.report.record import RunFacts


def last_screen(
    book: Book,
    number: str,
    reports: Path,
    checked: CheckedSoFar | None = None,
    *,
    unsafe_items: int,
    left_by_others: int,
) -> tuple[str, ...]:
    """Draw the reports of a run that has its end, and return what is said of it.

    The reports are no part of the run, so that one not written changes nothing of it.

    Args:
        book: the record book.
        number: of the run.
        reports: folder for the reports.
        checked: how far the book's chains were checked already by this process.
        unsafe_items: open items of class A of this run.
        left_by_others: what earlier runs found wrong and nothing has cleared since.

    Raises:
        BookError: the run cannot be read.
    """
    from commission.report.in_short import in_short
    from commission.report.record import read_run
    from commission.report.write import write_run

    with book.one_look():
        run = read_run(book, number, checked)
    lines = [f"{name}: {said}" for name, said in in_short(run).rows]
    lines.append(f"Outcome of the run: {run.outcome.value}.")
    if unsafe_items:
        lines.append(f"Open items of class A (unsafe to go on): {unsafe_items}.")
    lines += still_open(left_by_others)
    lines += [run.left] if run.left and not _just_told(run) else []
    if run.outcome is Outcome.NOT_CONNECTED:
        return (*lines, NOT_REACHED, *_named_book(book.path))
    try:
        lines += [f"Report: {path}" for path in write_run(run, reports)]
    except OutputError as error:
        again = f"commission report {shlex.quote(run.tag)} --run {shlex.quote(number)} --out FOLDER"
        lines += [f"No report was written: {error}", f"The record holds the whole run. Draw its report with: {again}"]
    return (*lines, *_named_book(book.path))


def _named_book(path: Path) -> tuple[str, ...]:
    """What the commands above need besides, where the run is in another book than the one they would open."""
    if path == book_path(None):
        return ()
    return (f"Record book: {path}. Add --book {shlex.quote(str(path))} to each command above.",)


def _just_told(run: "RunFacts") -> bool:
    """Whether the screen says just above that the printer was made safe; what was not is said again."""
    return run.ended is not None and run.ended.way_out.needed and run.ended.way_out.complete
