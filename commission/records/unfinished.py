"""What earlier runs of a printer left open: the entries that tell what was sent and what was made safe again."""

from commission.evidence.entry import Entry, Record
from commission.evidence.measured import MovesBegan
from commission.evidence.runs import MadeSafe
from commission.evidence.talk import HoldReleased
from commission.evidence.wire import Intent, Result
from commission.records.book import Book
from commission.records.history import runs


def accounts(book: Book, tag: str) -> list[Record[Entry]]:
    """Those entries, in the order of the book, over all runs of the printer.

    However many runs have come between: one that met another printer, or none, has closed no account.

    Raises:
        BookError: one of them cannot be read, so that nobody knows what is still switched on.
    """
    numbers = {run.number for run in runs(book, tag)}
    return list(book.records(Intent, Result, MovesBegan, HoldReleased, MadeSafe, runs=numbers))
