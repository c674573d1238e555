"""`commission label`: a sticker for a printer."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commission.cli.book_place import BOOK_READ, BookPlace
from commission.cli.exit_codes import PASSED, exits
from commission.cli.opening import opened_book
from commission.cli.tag import no_such_printer, tag_argument
from commission.cli.telling import remark, say

if TYPE_CHECKING:
    from commission.records.place import Place


@click.command(epilog="Example: commission label bench-3 --svg bench-3.svg")
@tag_argument()
@click.option(
    "--svg", "svg_file", type=click.Path(dir_okay=False, path_type=Path), help="Draw it into this file, 62 x 29 mm."
)
@click.option("--book", type=BookPlace(), help=BOOK_READ)
@exits({PASSED: "the label is printed or drawn, whatever the verdict on it"})
def label(tag: str, svg_file: Path | None, book: "Place | None") -> None:
    """Print the label of the printer TAG: verdict, date, next check, report number.

    It tells the newest completed installation or check with hands on. Where something stands against the printer, as a
    failed function test after it or a note of a crash, the next check is due at once, and the label says so.

    With --svg it is drawn as a sticker of 62 x 29 mm (higher for a long name), text of 8 pt or more, with the report's
    number as a QR code. Print it at its own size, not fitted to the page.
    """
    from commission.clock import SystemClock
    from commission.files.kinds import PICTURE, picture
    from commission.files.output import write_output
    from commission.records.history import tags
    from commission.report.label import NoTest, label_of
    from commission.report.label_svg import label_svg

    with opened_book(book) as opened:
        if tag not in (known := tags(opened)):
            raise no_such_printer(tag, known)
        try:
            made = label_of(opened, tag, SystemClock().now().date())
        except NoTest as none:
            raise click.UsageError(str(none)) from none
    if svg_file is None:
        say(made.text, end="")
        return
    write_output(svg_file, picture(label_svg(made)), PICTURE)
    remark(f"Written: {svg_file}")
