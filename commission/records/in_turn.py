"""One thread that does for several runs what they ask for: in the order of their asking, and at once what waits."""

import queue
import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from typing import Any


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


class InTurn(Executor, ABC):
    """The thread; how what waits together is done, each kind of it says.

    Args:
        name: of the thread.
        most_together: so many are done together.
        gather_s: so long further ones are waited for where several were together the last time, in seconds.
    """

    def __init__(self, name: str, most_together: int, gather_s: float = 0.0) -> None:
        self._most_together = most_together
        self._gather_s = gather_s
        self._waiting: queue.SimpleQueue[Asked | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name=name, daemon=True)
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
        batch: list[Asked] = []
        while (first := self._waiting.get()) is not None:
            if len(batch) > 1 and self._gather_s:
                time.sleep(self._gather_s)
            batch, goes_on = [first], True
            while goes_on and len(batch) < self._most_together and not self._waiting.empty():
                following = self._waiting.get()
                goes_on = following is not None
                batch += [following] if following is not None else []
            self._together([asked for asked in batch if asked.future.set_running_or_notify_cancel()])
            if not goes_on:
                return

    @abstractmethod
    def _together(self, batch: list[Asked]) -> None:
        """Do these and settle each of them, whatever goes wrong."""
