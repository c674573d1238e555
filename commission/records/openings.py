"""What the record shows of opening a printer's port: did the board go on, or begin anew?"""

from dataclasses import dataclass
from operator import attrgetter

from commission.evidence.entry import Record
from commission.evidence.runs import Opened
from commission.records.book import Book
from commission.records.history import Run, runs

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
    newest = sorted(runs(book, tag)[-LOOKED_BACK:], key=attrgetter("began"), reverse=True)
    last = next((each for run in newest for each in reversed(_opened(book, run, port))), None)
    if last is None:
        return OpeningOnRecord(harmless=False, sentence=f"No run on record has opened {port} of {tag}.")
    what = "restarted" if last.entry.restarted else "went on"
    return OpeningOnRecord(not last.entry.restarted, f"When {port} was opened on {last.at[:10]}, the board {what}.")


def _opened(book: Book, run: Run, port: str) -> list[Record[Opened]]:
    return [each for each in book.records(Opened, run=run.number) if each.entry.port == port]
