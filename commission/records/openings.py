"""What the record shows of opening a printer's port: did the board go on, or begin anew?"""

from dataclasses import dataclass

from commission.evidence.runs import Opened
from commission.records.book import Book
from commission.records.history import runs

LOOKED_BACK = 20
"""So many runs are looked through, the newest first."""


@dataclass(frozen=True)
class OpeningOnRecord:
    """The newest opening of that port.

    Attributes:
        harmless: whether the board was seen to go on.
        sentence: what is on record.
    """

    harmless: bool
    sentence: str


def opening_on_record(book: Book, tag: str, port: str) -> OpeningOnRecord:
    """What became of the board when this port was opened last."""
    newest = [run.number for run in runs(book, tag)][: -LOOKED_BACK - 1 : -1]
    opened = [each for each in book.records(Opened, runs=newest) if each.entry.port == port]
    if not opened:
        return OpeningOnRecord(harmless=False, sentence=f"No run on record has opened {port} of {tag}.")
    last, what = opened[-1], "restarted" if opened[-1].entry.restarted else "went on"
    return OpeningOnRecord(not last.entry.restarted, f"When {port} was opened on {last.at[:10]}, the board {what}.")
