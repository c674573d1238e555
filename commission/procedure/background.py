"""What is known of a printer before a run begins: handed to the procedure, which reads no book beyond its findings."""

from dataclasses import dataclass

from commission.procedure.identity import Surroundings
from commission.procedure.next_check import Calendar
from commission.procedure.resume import Continuation


@dataclass(frozen=True)
class Background:
    """What a run begins with.

    Attributes:
        surroundings: tag, port and neighbours, for telling the printer from others.
        calendar: what the next date is worked out from.
        continuation: the broken-off run that is taken up again; None for one from the start.
        prove: show the tag on the printer's display first.
    """

    surroundings: Surroundings
    calendar: Calendar
    continuation: Continuation | None = None
    prove: bool = False
