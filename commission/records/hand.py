"""The one thread that writes a book's entries for several runs: those that wait together reach the disk together.

A commit waits for the disk; with a hundred runs that each wait for their own, most of the time would go there.
"""

import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Any

from commission.records.book import Book

MOST_TOGETHER = 64
"""Entries of one transaction: as many as a busy workshop has waiting, and few enough to be written in an instant."""

GATHER_S = 0.01
"""So long further entries are waited for: a transaction costs more than what is written in it."""


@dataclass(frozen=True)
class Asked:
    """What somebody wants done, and where they wait for it."""

    future: "Future[Any]"
    work: Callable[[], Any]

    def done(self) -> tuple[Any, BaseException | None]:
        """Do it: what came of it, or what it raised."""
        try:
            return self.work(), None
        except Exception as error:  # noqa: BLE001 - handed to whoever waits, not swallowed
            return None, error

    def settle(self, result: Any, failure: BaseException | None) -> None:
        """Hand it to whoever waits."""
        if failure is None:
            self.future.set_result(result)
        else:
            self.future.set_exception(failure)


class Hand(Executor):
    """Does everything in the order in which it is asked for, in one thread, in transactions of what waits.

    What one of them raises comes to its own future and leaves the others as they are. When the disk takes nothing, all
    of a transaction get the BookError: none of them is in the book then.

    Args:
        book: into which all of it goes.
    """

    def __init__(self, book: Book) -> None:
        self._book = book
        self._waiting: queue.SimpleQueue[Asked | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="hand", daemon=True)
        self._thread.start()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        """Have it done; the future is settled once it is on the disk."""
        future: Future[Any] = Future()
        self._waiting.put(Asked(future, lambda: fn(*args, **kwargs)))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:  # noqa: ARG002, FBT001, FBT002 - as the library has it
        """Do what was asked for, then end."""
        self._waiting.put(None)
        if wait:
            self._thread.join()

    def _work(self) -> None:
        batch: list[Asked] = []
        while (first := self._waiting.get()) is not None:
            if len(batch) > 1:  # several runs are at it: what the others are about to ask for goes with it
                time.sleep(GATHER_S)
            batch, goes_on = [first], True
            while goes_on and len(batch) < MOST_TOGETHER and not self._waiting.empty():
                following = self._waiting.get()
                goes_on = following is not None
                batch += [following] if following is not None else []
            self._together([asked for asked in batch if asked.future.set_running_or_notify_cancel()])
            if not goes_on:
                return

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
