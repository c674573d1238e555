"""The one thread that reads a book for several runs: what waits together is answered in one look.

A hundred runs that begin at once ask for the same: which marks the other printers have, which notes there are. What is
asked for before a look begins is in what it sees.
"""

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import Any

from commission.records.book import Book
from commission.records.hand import Asked

MOST_TOGETHER = 8
"""Questions of one look: what it has read of each printer is kept until its end."""


class Eye(Executor):
    """Does everything in the order in which it is asked for, in one thread, in looks at what the book has by then.

    What one of them raises comes to its own future and leaves the others as they are.

    Args:
        book: what is read; nothing may be written into it here.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._waiting: queue.SimpleQueue[Asked | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="eye", daemon=True)
        self._thread.start()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        """Have it done; the future is settled once it is."""
        future: Future[Any] = Future()
        self._waiting.put(Asked(future, lambda: fn(*args, **kwargs)))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:  # noqa: ARG002, FBT001, FBT002 - as the library has it
        """Do what was asked for, then end."""
        self._waiting.put(None)
        if wait:
            self._thread.join()

    def _work(self) -> None:
        goes_on = True
        while goes_on and (first := self._waiting.get()) is not None:
            batch = [first]
            while goes_on and len(batch) < MOST_TOGETHER and not self._waiting.empty():
                following = self._waiting.get()
                goes_on = following is not None
                batch += [following] if following is not None else []
            self._look([asked for asked in batch if asked.future.set_running_or_notify_cancel()])

    def _look(self, batch: list[Asked]) -> None:
        try:
            with self._book.one_look():
                for asked in batch:
                    asked.settle(*asked.done())
        except Exception as error:  # noqa: BLE001 - handed to whoever waits, not swallowed
            for asked in batch:
                if not asked.future.done():
                    asked.settle(None, error)
