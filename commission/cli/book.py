"""`commission book`: what is on record, what is due, and whether the record is as it was written."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import READ_BOOK, WRITTEN_BOOK
from commission.cli.exit_codes import FAILED, PASSED, exits, worst
from commission.cli.nearest import Commands, nearest
from commission.cli.opening import opened_book
from commission.cli.shared import prepare_shared, sync
from commission.cli.tag import no_such_printer, offered_tags, tag_argument
from commission.cli.telling import remark, say, tell
from commission.clock import SystemClock
from commission.dialect.sanitise import clean_text
from commission.files.kinds import CALENDAR, EXPORT
from commission.files.output import require_free, write_output

if TYPE_CHECKING:
    from collections.abc import Sequence

    from commission.evidence.entry import Entry, Unreadable
    from commission.records.chain import Row
    from commission.records.due import Due
    from commission.records.history import Run
    from commission.records.place import Place

LONGEST_SHOWN = 100
"""Characters of an entry that has no sentence of its own."""
_DAY = click.DateTime(["%Y-%m-%d"])


@click.group(cls=Commands, epilog="Example: commission book due")
def book() -> None:
    """Look into the record book, take it elsewhere, or verify it.

    Entries are only ever appended. To put something right, add a note with `commission note --what correction`.
    """


@book.command(name="list", epilog="Example: commission book list bench-3")
@tag_argument(required=False)
@READ_BOOK
def list_runs(tag: str | None, place: "Place | None") -> None:
    """List every run, oldest first, and the notes between them; of the printer TAG only, if given."""
    from commission.records.history import runs, tags
    from commission.records.notes import notes_on

    with opened_book(place, by_time=True) as opened:
        known = tags(opened)
        if tag is not None and tag not in known:
            raise no_such_printer(tag, known)
        rows = [
            (run.started_at, f"{run.number}  {run.purpose}  {run.verdict.value}  ({run.outcome.value}){_unread(run)}")
            for run in runs(opened, tag)
        ]
        for name in [tag] if tag else known:
            noted = notes_on(opened, name)
            rows += [(note.at, f"{name}  note, {note.entry.what}: {note.entry.text}") for note in noted]
    for at, what in sorted(rows):
        tell(f"{at[:16].replace('T', ' ')}  {what}", " " * 18)


def _unread(run: "Run") -> str:
    return f"  cannot be read: {run.unreadable}" if run.unreadable else ""


@book.command(epilog="Example: commission book due --ics due.ics")
@click.option("--on", "day", type=_DAY, help="As of this day instead of today (YYYY-MM-DD).")
@click.option("--ics", "calendar", type=click.Path(path_type=Path), help="Also write the dates as an iCalendar file.")
@READ_BOOK
@click.pass_context
@exits({PASSED: "every printer is in date", FAILED: "one is overdue or due at once"})
def due(context: click.Context, day: object, calendar: Path | None, place: "Place | None") -> None:
    """List every printer with its next check, the most urgent first."""
    from datetime import datetime

    from commission.records.due import Standing, due_list

    today = day.date() if isinstance(day, datetime) else date.today()  # noqa: DTZ011 - the owner's own calendar day
    with opened_book(place, by_time=True) as opened:
        dues = due_list(opened, today)
    for one in dues:
        tell(f"{one.standing.value:12}  {one.tag}: {one.what} by {one.on} ({one.because})", " " * 14)
    if calendar is not None:
        write_output(calendar, _calendar(dues), CALENDAR)
        _tell_where(calendar)
    late = (Standing.AT_ONCE, Standing.OVERDUE)
    context.exit(worst(FAILED if one.standing in late else PASSED for one in dues))


def _calendar(dues: "list[Due]") -> bytes:
    from datetime import UTC

    from commission.records.due_calendar import calendar_text

    return calendar_text(dues, SystemClock().now().astimezone(UTC))


@book.command(epilog="Example: commission book show bench-3")
@click.argument("number", shell_complete=offered_tags)
@click.option(
    "--all", "everything", is_flag=True, help="Every entry, not only what was found; `book export` has them whole."
)
@READ_BOOK
def show(number: str, place: "Place | None", *, everything: bool) -> None:
    """Show what the run NUMBER found; for a printer's TAG, its trends over all checks."""
    from commission.drawing.trend import as_text
    from commission.records.history import runs, tags
    from commission.records.trend import trends

    with opened_book(place) as opened:
        if number in tags(opened):
            lines = [line for trend in trends(opened, number) for line in (*as_text(trend), "")]
            lines = lines or [f"No check of {number} has measured anything yet."]
        elif number in [run.number for run in runs(opened)]:
            lines = [line for row in opened.rows(number) for line in _shown(row, everything=everything)]
        else:
            hint = nearest(number, [*tags(opened), *(run.number for run in runs(opened))])
            raise click.UsageError(f"No run and no printer {number} is on record.{hint} See `commission book list`.")
    for line in lines:
        tell(line, " " * 8)


def _shown(row: "Row", *, everything: bool) -> list[str]:
    from commission.records.book import record_of

    head = f"{row.sequence:6}  {row.at[:19].replace('T', ' ')}  {row.kind}"
    said = _told(record_of(row).entry)
    if everything and not said:
        return [f"{head}  {row.payload if len(row.payload) <= LONGEST_SHOWN else row.payload[:LONGEST_SHOWN] + ' ...'}"]
    return [f"{head}  {said[0]}", *(f"        {sentence}" for sentence in said[1:])] if said else []


def _told(entry: "Entry | Unreadable") -> tuple[str, ...]:
    """What matters of an entry on a screen; empty where nothing does."""
    from commission.evidence.entry import Unreadable
    from commission.evidence.found import Established
    from commission.evidence.runs import RunEnded, RunResumed, RunStarted
    from commission.evidence.talk import Punched

    match entry:
        case Unreadable():
            return (f"cannot be read: {entry.why}",)
        case Established():
            return (entry.finding.name(), *entry.finding.sentences)
        case Punched():
            return (f"{entry.grade.value}: {entry.text}",)
        case RunStarted() | RunResumed():
            return (f"{entry.tag}, {entry.purpose}, by {entry.operator}, at {entry.port}",)
        case RunEnded():
            return (f"{entry.verdict.value}; {entry.outcome.value}",)
    return ()


@book.command(epilog="Example: commission book export book.jsonl")
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@READ_BOOK
def export(file: Path, place: "Place | None") -> None:
    """Write the whole book to FILE as JSON lines (`-` for the output); nothing is lost, raw bytes included.

    A FILE that is there already is replaced only if it is an earlier export of this same book.
    """
    from commission.records.export import export_lines

    with opened_book(place) as opened:
        chains = opened.chains()
    lines = "".join(f"{line}\n" for line in export_lines(chains))
    if str(file) == "-":
        write_output(Path("/dev/stdout"), lines.encode("ascii"), EXPORT)
        return
    _keep_what_is_there(file, chains)
    write_output(file, lines.encode("ascii"), EXPORT)
    _tell_where(file)


def _keep_what_is_there(file: Path, chains: "Sequence[Sequence[Row]]") -> None:
    from commission.records.export import ImportRefused, read_export

    if not file.is_file():
        return
    require_free(file, EXPORT)
    try:
        with file.open("rb") as stream:
            there = read_export(stream)
    except ImportRefused as other:
        problem = f"{clean_text(str(file))} is there already and is no export of this book. Give another name."
        raise click.UsageError(problem) from other
    here = {rows[0].digest: rows for rows in chains}
    if any(here.get(rows[0].digest, ())[: len(rows)] != rows for rows in there):
        raise click.UsageError(f"{clean_text(str(file))} holds entries that are not in this book. Give another name.")


@book.command(name="import", epilog="Example: commission book import book.jsonl")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@WRITTEN_BOOK
def import_(file: Path, place: Path | None) -> None:
    """Read an exported FILE into a new book, or add to a book what it lacks of it.

    The chains are checked first; nothing is written when anything of them was changed.
    """
    from commission.records.export import ImportRefused, import_entries, read_export

    try:
        with file.open("rb") as stream:
            chains = read_export(stream)
        with opened_book(place, create=True) as opened:
            done = import_entries(opened, chains)
    except ImportRefused as refused:
        raise click.UsageError(f"{file}: {refused}") from refused
    say(f"{done.added} entries imported; {done.present} were there already.")


@book.command(epilog="Example: commission book join other-bench.sqlite3")
@click.argument("other", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@WRITTEN_BOOK
@click.pass_context
@exits({PASSED: "this book holds all of the other now", FAILED: "a chain of it was not joined, and is named"})
def join(context: click.Context, other: Path, place: Path | None) -> None:
    """Take into this book what it lacks of the book OTHER, of another bench or an old one.

    Each bench writes a chain of its own, and a book can hold the chains of many. Joining adds entries and changes none;
    once more it adds nothing. OTHER is only read. Of a chain that was altered, or that goes on in two ways, nothing is
    taken: it is named.
    """
    from commission.records.book import Book, BookError
    from commission.records.union import join as joined

    with opened_book(place, create=True) as opened:
        try:
            with Book(other, SystemClock(), reads_only=True) as read:
                found = joined(opened, read)
        except BookError as error:
            raise click.UsageError(str(error)) from error
    for each in found:
        tell(each.sentence)
    say(f"{sum(each.added for each in found)} entries added.")
    context.exit(worst(FAILED if each.refused else PASSED for each in found))


@book.command(epilog="Example: commission book verify --digest 0123456789ab")
@click.option(
    "--digest", "digests", multiple=True, help="Digest printed on a signed report, or its first 12 digits; repeatable."
)
@click.option("--heads", type=click.Path(path_type=Path), help="File of kept heads (else $COMMISSION_HEADS).")
@READ_BOOK
@click.pass_context
@exits({PASSED: "sound", FAILED: "it is not as it was written, or does not hold a digest or a kept head"})
def verify(context: click.Context, digests: tuple[str, ...], heads: Path | None, place: "Place | None") -> None:
    """Check that no entry was altered, removed or moved, and say which.

    The file is checked too: damaged places, and tables, indexes or triggers that are not as this tool makes them.
    Entries cut off at the end leave no gap: give the digest from a signed report, of several reports if you have them,
    and the book must still hold it. Where the book ended after each command that wrote is kept in a second file, and
    compared too; have that file on another disk, or where only you can write.

    A shared book is read as it is there, not by its copy on this computer.
    """
    from commission.cli.verifying import verified
    from commission.records.verify import NoDigest

    try:
        sound, sentences = verified(place, digests, heads)
    except NoDigest as wrong:
        raise click.BadParameter(str(wrong), param_hint="--digest") from wrong
    for sentence in sentences:
        tell(sentence)
    context.exit(PASSED if sound else FAILED)


def _tell_where(path: Path) -> None:
    remark(f"Written: {path}")


book.add_command(sync)
book.add_command(prepare_shared, "prepare-shared")
