"""One flag for every way an operator ends a run: a key, the end of input, or a signal from outside."""

import asyncio
import signal
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any, TypeVar

from commission.desk.base import OperatorStop
from commission.desk.signals import ENDING, Taken, give_back, take

_T = TypeVar("_T")

# After these nobody sits at the terminal any more, so that every later question is answered by a stop as well.
_FINAL = frozenset({"SIGTERM", "SIGHUP"})
# What nothing may stop may not be suspended either: by no key, nor for the use of a terminal that another program has.
_SUSPENDING = ("SIGTSTP",)
_FOR_USING_THE_TERMINAL = ("SIGTTIN", "SIGTTOU")
_GONE = "the terminal is gone"


class StopFlag:
    """Remembers that the operator wants to end the run, until the run has been told.

    A key stops the run once, so that the way out can still ask a question. A signal that ends the process stops it for
    good. Where the work is `unstoppable`, a stop is answered and waits until that work is over. There is no other way
    from a signal into the run: no task is cancelled by one, however often it comes.
    """

    def __init__(self) -> None:
        self._reason = ""
        self._final = False
        self._raised = asyncio.Event()
        self._answer: Callable[[], None] | None = None
        self._waiting: list[tuple[str, bool]] = []
        self._taken: Taken = {}
        self._loop: asyncio.AbstractEventLoop | None = None

    @property
    def asked(self) -> bool:
        """Whether the stop was asked for and the run has not been told yet."""
        return self._raised.is_set()

    def request(self, reason: str, *, final: bool = False) -> None:
        """Ask for the stop; the reason is one phrase for the record."""
        if self._answer is not None:
            self._waiting.append((reason, final))
            self._answer()
            return
        self._reason = self._reason or reason
        self._final = self._final or final
        self._raised.set()

    def nobody_there(self) -> None:
        """Ask for the stop because nothing that is printed reaches anybody."""
        if self._answer is not None:
            self._waiting.append((_GONE, True))  # and nobody reads an answer
        else:
            self.request(_GONE, final=True)

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

    @contextmanager
    def unstoppable(self, answer: Callable[[], None]) -> Iterator[None]:
        """Within the block every stop is answered at once and changes nothing; after it, it counts.

        A stop by a key that the run had not been told of when the block began waits as well. A final one stays what it
        is: nobody is there, and no question within the block is asked.
        """
        if self._raised.is_set() and not self._final:
            self._waiting.append((self._reason, False))
            self._reason = ""
            self._raised.clear()
        self._answer = answer
        suspending = self._hold_off_suspending()
        try:
            yield
        finally:
            self._answer = None
            give_back(suspending)
            asked, self._waiting = self._waiting, []
            for reason, final in asked:
                self.request(reason, final=final)

    def listen(self) -> None:
        """Take the signals over, where this thread may. Undone by `release`."""
        self._loop = asyncio.get_running_loop()
        self._taken = take(ENDING, self._caught)

    def release(self) -> None:
        """Give the signals back to whoever had them."""
        give_back(self._taken)
        self._taken = {}

    def _hold_off_suspending(self) -> Taken:
        if not self._taken:
            return {}  # the signals are somebody else's
        return {**take(_SUSPENDING, self._caught), **take(_FOR_USING_THE_TERMINAL, signal.SIG_IGN)}

    def _caught(self, number: int, _frame: FrameType | None) -> None:
        # This only wakes the loop, which asyncio allows from a signal handler. Whoever had the signal before is not
        # told: asyncio's own handler would cancel what the loop is doing, and with it the way out of the run.
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._signalled, signal.Signals(number).name)

    def _signalled(self, name: str) -> None:
        if name in ENDING:
            self.request(ENDING[name], final=name in _FINAL)
        elif self._answer is not None:
            self._answer()


async def _put_away(*tasks: "asyncio.Future[Any]") -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
