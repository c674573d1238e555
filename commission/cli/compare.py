"""`commission compare`: two settings reports side by side, by value."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import BOOK_READ, BookPlace
from commission.cli.captures import read_capture
from commission.cli.exit_codes import FAILED, PASSED, exits
from commission.cli.tag import tag_argument
from commission.cli.telling import hand_out, remark, say

if TYPE_CHECKING:
    from commission.cli.settings_records import Recorded
    from commission.records.place import Place
    from commission.settings.snapshot import Snapshot


@click.command(epilog="Example: commission compare --before as-found.txt --after reflashed.txt")
@tag_argument(required=False)
@click.option("--before", type=click.Path(path_type=Path), help="A saved console capture of the earlier report.")
@click.option("--after", type=click.Path(path_type=Path), help="A saved console capture of the later report.")
@click.option("--json", "as_data", is_flag=True, help="Write JSON, as its published schema describes it.")
@click.option("--all", "everything", is_flag=True, help="List the values that are the same as well.")
@click.option("--book", type=BookPlace(), help=BOOK_READ)
@click.pass_context
@exits({PASSED: "no difference, and nothing looks wrong", FAILED: "something differs or looks wrong"})
def compare(
    context: click.Context,
    tag: str | None,
    before: Path | None,
    after: Path | None,
    book: "Place | None",
    *,
    as_data: bool,
    everything: bool,
) -> None:
    """Compare two settings reports of a printer by value.

    With TAG the reports are those of the record book: the settings as found that were last followed by another
    report, and the newest report. With --before and --after they are two saved captures, and no printer is needed.

    Two numbers are the same when they agree at the coarser printed precision. Lines are matched by what they mean, not
    by where they stand, in old and new forms of reply; an unknown line is compared as text.
    """
    if tag is not None and (before or after):
        raise click.UsageError("Give either a printer's tag or two files with --before and --after, not both.")
    if tag is None and (before is None or after is None):
        raise click.UsageError(_what_is_missing(before, after))
    from commission.settings.comparison import compare as compared
    from commission.settings.comparison_json import as_json
    from commission.settings.side_by_side import side_by_side

    if before is not None and after is not None:
        comparison = compared(_snapshot(before, "--before"), _snapshot(after, "--after"))
    else:
        earlier, later = _of_the_book(tag or "", book)
        (remark if as_data else say)(f"Before: {_which(earlier)}\nAfter:  {_which(later)}\n")
        comparison = compared(earlier.record.snapshot, later.record.snapshot)
    if as_data:
        hand_out(json.dumps(as_json(comparison), indent=2, ensure_ascii=False, allow_nan=False))
        for notice in comparison.notices:
            remark(notice)
    else:
        say("\n".join(side_by_side(comparison, everything=everything)))
    context.exit(FAILED if comparison.differs else PASSED)


def _of_the_book(tag: str, book: "Place | None") -> "tuple[Recorded, Recorded]":
    """The newest settings as found that another report followed, and the newest report of all.

    Raises:
        click.UsageError: the book holds fewer than two reports of the printer.
    """
    from commission.cli.settings_records import recorded
    from commission.evidence.findings.settings import SettingsAsFound

    reports = recorded(book, tag)
    followed = [report for report in reports[:-1] if report.name == SettingsAsFound.name()]
    if not followed:
        held = "only one settings report" if reports else "no settings report"
        raise click.UsageError(
            f"The book holds {held} of {tag}. Take one with `backup {tag} --port PORT`, or give two saved captures "
            "with --before and --after."
        )
    return followed[-1], reports[-1]


def _which(report: "Recorded") -> str:
    when = report.at[:16].replace("T", " ")
    firmware = f", firmware {report.record.firmware}" if report.record.firmware else ""
    return f"{report.name.replace('_', ' ')}, {when}, run {report.run}{firmware}"


def _what_is_missing(before: Path | None, after: Path | None) -> str:
    if before is None and after is None:
        return "Give a printer's tag, or a saved console capture for each of --before and --after."
    missing = [option for option, path in (("--before", before), ("--after", after)) if path is None]
    return f"{' and '.join(missing)} missing: give a saved console capture for each of --before and --after."


def _snapshot(path: Path, option: str) -> "Snapshot":
    """The settings in a capture.

    Raises:
        click.BadParameter: it cannot be read, is too large, or holds no settings.
    """
    from commission.settings.snapshot import NoReport, snapshot_of_capture

    try:
        return snapshot_of_capture(read_capture(path, option))
    except NoReport as empty:
        raise click.BadParameter(f"{path}: {empty}", param_hint=option) from empty
