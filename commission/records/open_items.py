"""What a printer's installation left open, and its newest whole test and the runs since: what a check begins with."""

from commission.records.book import Book
from commission.records.due import COMPLETE_TESTS, INSTALL
from commission.records.history import runs
from commission.vocabulary import Outcome


def open_items(book: Book, tag: str) -> list[str]:
    """Each open item once, as a sentence with its day and class, oldest first.

    The book knows when an item was opened. Whether it was put right since is for the next test to show, so everything
    from the newest completed whole test on is told; and what the installation found, which no check looks at again.
    """
    done = [run for run in runs(book, tag) if run.outcome is Outcome.COMPLETE]
    whole = max((place for place, run in enumerate(done) if run.purpose in COMPLETE_TESTS), default=0)
    installed = [run for run in done[:whole] if run.purpose == INSTALL][-1:]
    days = {run.number: run.started_at[:10] for run in (*installed, *done[whole:])}
    told: dict[tuple[str, str], str] = {}
    for entry in book.entries(kind="punch"):
        if entry.run in days:
            grade, text = str(entry.facts["grade"]), str(entry.facts["text"])
            told.setdefault((grade, text), f"{days[entry.run]}, class {grade}: {text}")
    return list(told.values())
