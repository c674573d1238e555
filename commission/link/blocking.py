"""Calls that may block, run beside the event loop.

The loop's own executor is not used: its threads are joined when the program ends, and a driver that never returns
(a hung board can hold a close for half a minute) would hold the program with it.
"""

import asyncio
import functools
import threading
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")


def in_thread(work: Callable[[], T], *, abandoned: Callable[[T], object] | None = None) -> asyncio.Future[T]:
    """Run the work in a thread of its own; the future gets its result or its exception.

    Args:
        work: what may block.
        abandoned: what to do with a result that nobody waits for any more, so that a port opened just after the
            caller gave up is not left open.
    """
    loop = asyncio.get_running_loop()
    future: asyncio.Future[T] = loop.create_future()

    def settle(result: T) -> None:
        if not future.done():
            future.set_result(result)
        elif abandoned is not None:
            threading.Thread(target=abandoned, args=(result,), daemon=True).start()

    def refuse(error: BaseException) -> None:
        if not future.done():
            future.set_exception(error)

    def run() -> None:
        try:
            result = work()
        except Exception as error:  # noqa: BLE001 - handed to whoever awaits, not swallowed
            _post(loop, functools.partial(refuse, error))
        else:
            if not _post(loop, lambda: settle(result)) and abandoned is not None:
                abandoned(result)

    threading.Thread(target=run, name="commission-link", daemon=True).start()
    return future


def _post(loop: asyncio.AbstractEventLoop, call: Callable[[], None]) -> bool:
    """Hand the call to the loop; False when the loop has ended, which a thread may learn at any moment."""
    try:
        loop.call_soon_threadsafe(call)
    except RuntimeError:
        return False
    return True
