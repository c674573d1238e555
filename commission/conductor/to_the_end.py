"""Work that is done to its end, and work that is ended, whoever is in a hurry."""

import asyncio
from collections.abc import Coroutine
from typing import Any, TypeVar

_T = TypeVar("_T")

TIDY_S = 2.0
"""How long work that was cancelled may take to tidy up before it is cancelled once more."""
TIMES = 3


async def to_its_end(work: Coroutine[Any, Any, _T]) -> _T:
    """Do the work to its own end; who cancels the waiting for it ends nothing, and is heeded afterwards."""
    doing = asyncio.ensure_future(work)
    cancelled: asyncio.CancelledError | None = None
    while not doing.done():
        try:
            await asyncio.wait({doing})
        except asyncio.CancelledError as asked:
            cancelled = asked
    result = doing.result()
    if cancelled is not None:
        raise cancelled
    return result


async def end(*tasks: "asyncio.Future[Any]", tidy_s: float = TIDY_S) -> None:
    """Cancel tasks and wait until they have ended; one that never does is cancelled again, and left to itself at last.

    Nobody may have to wait for a printer that stays busy, least of all the way out. What such a task still raises
    concerns nobody any more.
    """
    left = set(tasks)
    for _ in range(TIMES):
        for task in left:
            task.cancel()
        ended, left = await asyncio.wait(left, timeout=tidy_s)
        for task in ended:
            if not task.cancelled():
                task.exception()  # looked at, or the event loop would print it
        if not left:
            return
