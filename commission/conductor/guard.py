"""Does one piece of a run's work; whatever interrupts it becomes an interruption, in this one place."""

import asyncio
from collections.abc import Coroutine
from typing import Any, TypeVar

from commission.conductor.ended import link_trouble
from commission.conductor.polling import NoAnswer
from commission.conductor.to_the_end import end
from commission.conductor.watchdog import Unattended
from commission.desk.base import Desk, OperatorStop
from commission.dialect.conversation import Interruption as Broken
from commission.link.base import LinkError
from commission.procedure.response import Interrupted, Interruption, InterruptionKind
from commission.session import ConversationBroken

_T = TypeVar("_T")

STOP_GRACE_S = 0.5

KINDS = {
    Broken.BOARD_RESTARTED: InterruptionKind.BOARD_RESTARTED,
    Broken.HALTED: InterruptionKind.HALTED,
}


async def guarded(desk: Desk, work: Coroutine[Any, Any, _T], lost: InterruptionKind = InterruptionKind.LINK_LOST) -> _T:
    """Do the work unless something interrupts it; a link's trouble means `lost`.

    Raises:
        Interrupted: by the operator, the printer, the line, or because nobody is there.
    """
    try:
        return await _unless_stopped(desk, work)
    except OperatorStop as stop:
        raise _interrupted(InterruptionKind.OPERATOR_STOP, str(stop)) from stop
    except LinkError as error:
        raise _interrupted(link_trouble(error, lost), str(error)) from error
    except ConversationBroken as broken:
        raise _interrupted(KINDS[broken.interruption], str(broken)) from broken
    except Unattended as nobody:
        raise _interrupted(InterruptionKind.WATCHDOG, str(nobody)) from nobody
    except NoAnswer as silent:
        raise _interrupted(silent.kind, str(silent)) from silent


async def _unless_stopped(desk: Desk, work: Coroutine[Any, Any, _T]) -> _T:
    """Do it until the operator wants to stop; a question notices that itself and is given the time to."""
    doing, stop = asyncio.ensure_future(work), asyncio.ensure_future(desk.wait_for_stop())
    try:
        await asyncio.wait({doing, stop}, return_when=asyncio.FIRST_COMPLETED)
        if not doing.done():
            await asyncio.wait({doing}, timeout=STOP_GRACE_S)
        if not doing.done():
            await desk.take_marks()
            raise OperatorStop("stopped by the operator")
        return doing.result()
    finally:
        await end(doing, stop)


def _interrupted(kind: InterruptionKind, detail: str) -> Interrupted:
    return Interrupted(Interruption(kind, detail))
