"""The series of trials of one printer, from the book."""

from heapq import merge
from operator import attrgetter

from commission.evidence.runs import Note
from commission.evidence.series import KINDS, AllSeries
from commission.records.book import Book
from commission.records.history import runs
from commission.records.notes import notes_on


def all_series(book: Book, tag: str) -> AllSeries:
    """What the printer's runs, and the notes on it, make of its series."""
    numbers = {run.number for run in runs(book, tag)}
    of_runs = book.records(*(kind for kind in KINDS if kind is not Note), runs=numbers)
    return AllSeries(merge(of_runs, notes_on(book, tag), key=attrgetter("sequence")))
