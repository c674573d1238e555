"""The one thread that reads a book for several runs: what waits together is answered in one look.

A hundred runs that begin at once ask for the same: which marks the other printers have, which notes there are. What is
asked for before a look begins is in what it sees.
"""

from commission.records.book import Book
from commission.records.in_turn import Asked, InTurn

MOST_TOGETHER = 8
"""Questions of one look: what it has read of each printer is kept until its end."""


class Eye(InTurn):
    """Does everything in the order in which it is asked for, in one thread, in looks at what the book has by then.

    What one of them raises comes to its own future and leaves the others as they are.

    Args:
        book: what is read; nothing may be written into it here.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        super().__init__("eye", MOST_TOGETHER)

    def _together(self, batch: list[Asked]) -> None:
        try:
            with self._book.one_look():
                for asked in batch:
                    asked.settle(*asked.done())
        except Exception as error:  # noqa: BLE001 - handed to whoever waits, not swallowed
            for asked in batch:
                if not asked.future.done():
                    asked.settle(None, error)
