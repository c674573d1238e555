"""One flag for every way an operator ends a run: a key, the end of input, or a signal from outside."""

import asyncio
import signal
from collections.abc import Coroutine
from types import FrameType
from typing import Any, TypeVar

from commission.desk.base import OperatorStop

_T = TypeVar("_T")

# Not every system has all of them; a closed terminal window is the hang-up, Ctrl-Break is Windows' own.
_SIGNALS = {
    "SIGINT": "stopped by Ctrl-C",
    "SIGTERM": "the program was told to end",
    "SIGHUP": "the terminal was closed",
    "SIGBREAK": "stopped by Ctrl-Break",
}
# After these nobody sits at the terminal any more, so that every later question is answered by a stop as well.
_FINAL = frozenset({"SIGTERM", "SIGHUP"})


class StopFlag:
    """Remembers that the operator wants to end the run, until the run has been told.

    A key stops the run once, so that the way out can still ask a question. A signal that ends the process stops it for
    good.
    """

    def __init__(self) -> None:
        self._reason = ""
        self._final = False
        self._raised = asyncio.Event()
        self._previous: dict[int, Any] = {}
        self._loop: asyncio.AbstractEventLoop | None = None

    @property
    def final(self) -> bool:
        """Whether nobody can answer any more."""
        return self._final

    def request(self, reason: str, *, final: bool = False) -> None:
        """Ask for the stop; the reason is one phrase for the record."""
        self._reason = self._reason or reason
        self._final = self._final or final
        self._raised.set()

    def nobody_there(self) -> None:
        """Ask for the stop because nothing that is printed reaches anybody."""
        self.request("the terminal is gone", final=True)

    def check(self) -> None:
        """Raise OperatorStop if the stop was asked for."""
        if not self._raised.is_set():
            return
        reason = self._reason
        if not self._final:
            self._reason = ""
            self._raised.clear()
        raise OperatorStop(reason)

    async def wait(self) -> None:
        """Return once the stop is asked for; leaves the flag as it is."""
        await self._raised.wait()

    async def guard(self, work: Coroutine[Any, Any, _T]) -> _T:
        """Do the work unless the stop is asked for first; then the work is cancelled and OperatorStop raised."""
        if self._raised.is_set():
            work.close()
            self.check()
        doing = asyncio.ensure_future(work)
        waiting = asyncio.ensure_future(self._raised.wait())
        try:
            await asyncio.wait({doing, waiting}, return_when=asyncio.FIRST_COMPLETED)
            if not doing.done():
                self.check()
            return await doing
        finally:
            await _put_away(doing, waiting)

    def listen(self) -> None:
        """Take the signals over, where this thread may. Undone by `release`."""
        self._loop = asyncio.get_running_loop()
        for name in _SIGNALS:
            if hasattr(signal, name):
                self._take(signal.Signals[name])

    def release(self) -> None:
        """Give the signals back to whoever had them."""
        for number, previous in self._previous.items():
            signal.signal(number, previous)
        self._previous.clear()

    def _take(self, number: signal.Signals) -> None:
        try:
            # The plain handler rather than the loop's own: it exists on every system, and what was there before can
            # be put back. It only wakes the loop, which asyncio allows from a signal handler.
            self._previous[number] = signal.signal(number, self._caught)
        except ValueError:
            return  # not the main thread: signals are somebody else's there

    def _caught(self, number: int, frame: FrameType | None) -> None:
        if number == signal.SIGINT and self._raised.is_set():
            # Asked twice and not yet heard: whoever had the signal before ends what goes on.
            previous = self._previous[signal.SIGINT]
            if callable(previous):
                previous(number, frame)
            return
        name = signal.Signals(number).name
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._signalled, name)

    def _signalled(self, name: str) -> None:
        self.request(_SIGNALS[name], final=name in _FINAL)


async def _put_away(*tasks: "asyncio.Future[Any]") -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
