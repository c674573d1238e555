"""What is known of a printer before a run begins: handed to the procedure, which reads no book beyond its findings."""

from collections.abc import Collection
from dataclasses import dataclass

from commission.procedure.meeting.identity import PrinterMarks, Surroundings
from commission.procedure.meeting.next_check import Calendar


@dataclass(frozen=True)
class Continuation:
    """The run that is taken up again.

    Attributes:
        run: its number.
        broken_off_at: wall time of its last entry, ISO 8601.
        why: what became of it.
        done: the phases that came to their own end, in order.
        marks: of the printer it was done on; None when it did not get so far.
        settings_digest: of its last settings report; empty when none was read, or the run changed settings after it.
    """

    run: str
    broken_off_at: str
    why: str
    done: Collection[str]
    marks: PrinterMarks | None = None
    settings_digest: str = ""


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
