"""`commission note`: what happened to a printer between two checks."""

from pathlib import Path

import click

from commission.cli.book_place import WRITTEN_BOOK
from commission.cli.numbers import Count
from commission.cli.tag import no_such_printer, tag_argument
from commission.cli.telling import say
from commission.records.notes import CORRECTION, REMARK, TRIGGERS, WHATS, add_note

_ABOUT_HELP = "Number of the entry of this bench that a correction is about (see `book show`)."


@click.command(
    epilog="Example: commission note bench-3 'paused at 02:10, filament was there' --what nuisance-trip",
    help="Write a note on the printer TAG into the record book.\n\n"
    "A note is a new entry; nothing in the book is ever changed. Some notes make the next check due at once.\n\n"
    "\b\n" + "\n".join(f"  {what:18} {meaning}" for what, meaning in WHATS.items()),
)
@tag_argument()
@click.argument("text")
@click.option("--what", type=click.Choice(list(WHATS)), default=REMARK, show_default=True, help="What kind of note.")
@click.option("--by", "person", default="", help="Who writes it.")
@click.option("--about", type=Count(1), help=_ABOUT_HELP)
@WRITTEN_BOOK
def note(tag: str, text: str, *, what: str, person: str, about: int | None, place: Path | None) -> None:
    """Write the note and say what it changes."""
    from commission.cli.bench_name import bench_name
    from commission.cli.opening import opened_book
    from commission.evidence.entry import About
    from commission.records.history import tags

    if (about is not None) is not (what == CORRECTION):
        raise click.UsageError("--what correction and --about ENTRY belong together.")
    with opened_book(place, writes=True) as book:
        if tag not in tags(book):
            raise no_such_printer(tag, tags(book))
        if about is not None and not book.has_entry(about):
            raise click.UsageError(f"There is no entry {about} to correct.")
        try:
            here = About(bench=bench_name())
            written = add_note(book, tag, what, text, person=person, about=about or 0, belongs_to=here)
        except ValueError as error:
            raise click.UsageError(str(error)) from error
    say(f"Noted as entry {written.sequence}.")
    if what in TRIGGERS:
        say(f"A full check of {tag} is due at once: {TRIGGERS[what]}.")
