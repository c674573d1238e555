"""The trends of a printer over all its checks, read from the book."""

from commission.drawing.trend import Trend
from commission.procedure.check.trends import trends_of
from commission.records.book import Book
from commission.records.checks import check_records
from commission.vocabulary import Outcome


def trends(book: Book, tag: str, upto: str = "", sensor: str = "") -> list[Trend]:
    """Misreads, settle time, unwanted changes and time to pause over the completed runs that measured something.

    Args:
        book: the record book.
        tag: the printer.
        upto: number of the last run to take; all of them when left out.
        sensor: one of several; empty for the only one.
    """
    taken = []
    for record in check_records(book, tag, sensor):
        measured = record.measured
        if record.run.outcome is Outcome.COMPLETE and (measured.trials or measured.watched_s > 0 or measured.apart):
            taken.append(measured)
        if record.run.number == upto:
            break
    return trends_of(taken)
