"""The one thread that writes a book's entries for several runs: those that wait together reach the disk together.

A commit waits for the disk; with a hundred runs that each wait for their own, most of the time would go there.
"""

from contextlib import nullcontext
from typing import Any

from commission.records.book import Book
from commission.records.in_turn import Asked, InTurn

MOST_TOGETHER = 64
"""Entries of one transaction: as many as a busy workshop has waiting, and few enough to be written in an instant."""

GATHER_S = 0.01
"""So long what the other runs are about to ask for is waited for: a transaction costs more than what it writes."""


class Hand(InTurn):
    """Does everything in the order in which it is asked for, in one thread, in transactions of what waits.

    What one of them raises comes to its own future and leaves the others as they are. When the disk takes nothing, all
    of a transaction get the BookError: none of them is in the book then.

    Args:
        book: into which all of it goes.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        super().__init__("hand", MOST_TOGETHER, GATHER_S)

    def _together(self, batch: list[Asked]) -> None:
        came: list[tuple[Any, BaseException | None]] = []
        try:
            with (
                self._book.together() if len(batch) > 1 else nullcontext()
            ):  # a single one has a transaction of its own
                came += [asked.done() for asked in batch]
        except Exception as error:  # noqa: BLE001 - handed to whoever waits, not swallowed
            came = [(None, error)] * len(batch)
        for asked, (result, failure) in zip(batch, came, strict=True):
            asked.settle(result, failure)
