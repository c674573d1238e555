"""How each family pauses on a runout and goes on: when it watches, what it says, what resumes it.

A runout that is said is not yet a pause. Where a user's file decides what happens, only a pause that is seen counts.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

from commission.dialect.family import Family


class Watches(Enum):
    """In which jobs a family acts on a runout."""

    CARD_JOBS = "jobs from the card only, unless its monitor is set to every job"
    HOST_JOBS = "any job, once it has run for two seconds"
    ANY_JOB = "any job; one from the card is paused by the printer, one from the host by the host"
    ALWAYS = "always, even with no job at all"


class SaysPause(Enum):
    """What a pause can be known by."""

    TITLE = "a fault and a title, or nothing where a user's file handles it"
    ACTION = "an action line when a host streams; in a job from the card nothing but free text"
    REQUEST = "a line of its own kind, and an action line or a request to the host"
    COMMENT = "an action line before the acknowledgement, and a comment behind it once it stands"


@dataclass(frozen=True)
class PauseHabits:
    """How one family pauses.

    Attributes:
        watches: in which jobs it acts.
        says: what the pause can be known by.
        runout_may_not_pause: a runout can be announced and nothing done about it.
        resumes_by: the command that goes on; it moves, so it needs a release. Empty where it is not known.
        stopped_needs: what ends an emergency stop; everything in memory is gone with it. Empty where it is not known.
    """

    watches: Watches
    says: SaysPause
    runout_may_not_pause: bool
    resumes_by: str = ""
    stopped_needs: str = ""


PAUSES: Mapping[Family, PauseHabits] = MappingProxyType(
    {
        Family.B: PauseHabits(
            Watches.CARD_JOBS, SaysPause.TITLE, runout_may_not_pause=True, resumes_by="M24", stopped_needs="M999"
        ),
        Family.C: PauseHabits(
            Watches.HOST_JOBS,
            SaysPause.ACTION,
            runout_may_not_pause=True,
            resumes_by="RESUME",
            stopped_needs="FIRMWARE_RESTART",
        ),
        Family.D: PauseHabits(Watches.ANY_JOB, SaysPause.REQUEST, runout_may_not_pause=True),
        Family.E: PauseHabits(Watches.ALWAYS, SaysPause.COMMENT, runout_may_not_pause=False, resumes_by="resume"),
    }
)
"""Family A is not here: its pause has a procedure of its own, and its signs stand in `pausing`."""
