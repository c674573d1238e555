"""What became of a run, told to whoever started it."""

from dataclasses import dataclass
from typing import Generic, TypeVar

from commission.conductor.made_safe import NOTHING_TO_DO, MadeSafe
from commission.link.base import LinkError, PortBusy
from commission.procedure.response import Interruption, InterruptionKind
from commission.vocabulary import Outcome

_T = TypeVar("_T")

OUTCOMES = {
    InterruptionKind.OPERATOR_STOP: Outcome.STOPPED,
    InterruptionKind.NOT_CONNECTED: Outcome.NOT_CONNECTED,
    InterruptionKind.PORT_BUSY: Outcome.NOT_CONNECTED,
    InterruptionKind.LINK_LOST: Outcome.LINK_LOST,
}


def link_trouble(error: LinkError, lost: InterruptionKind) -> InterruptionKind:
    """What a link's trouble means: a port that another program has is told apart from a printer that is not there."""
    busy = lost is InterruptionKind.NOT_CONNECTED and isinstance(error, PortBusy)
    return InterruptionKind.PORT_BUSY if busy else lost


@dataclass(frozen=True)
class Ended(Generic[_T]):
    """What became of a run.

    Attributes:
        result: of the procedure, when it came to its own end.
        interruption: what ended it otherwise.
        unsafe_items: open items of class A.
        made_safe: what was done on the way out.
    """

    outcome: Outcome
    result: _T | None = None
    interruption: Interruption | None = None
    unsafe_items: int = 0
    made_safe: MadeSafe = NOTHING_TO_DO
