"""The words every room shares: one word for one thing, in code, on screen and in the report."""

from enum import Enum


class Presence(Enum):
    """The truth about the filament, as the operator declares it."""

    IN = "in"
    OUT = "out"

    @property
    def other(self) -> "Presence":
        """The opposite declaration."""
        return Presence.OUT if self is Presence.IN else Presence.IN


class Instruction(Enum):
    """What a prompt asks the operator to do."""

    INSERT = "insert"
    WITHDRAW = "withdraw"
    LEAVE = "leave it"


class Spoken(Enum):
    """When the operator had a trial set aside: before its dwell began, or later, when the reading may be known."""

    BEFORE = "before its dwell"
    LATER = "after its dwell began"


class Reading(Enum):
    """What the firmware reports of one switch."""

    ACTIVE = "active"
    INACTIVE = "inactive"
    UNKNOWN = "unknown"


class Level(Enum):
    """What stands at the input pin."""

    HIGH = "high"
    LOW = "low"
    FLOATING = "floating"


class Contact(Enum):
    """A dry contact at rest."""

    NORMALLY_OPEN = "NO"
    NORMALLY_CLOSED = "NC"


class Pull(Enum):
    """The resistor that gives an input its resting level."""

    UP = "up"
    DOWN = "down"
    NONE = "none"


class Polarity(Enum):
    """How the reading follows the presence: direct means active when the filament is in."""

    DIRECT = "direct"
    INVERTED = "inverted"


class SwitchBehaviour(Enum):
    """What a series of trials showed of one switch: the finding of the polarity rule."""

    DIRECT = "direct"
    INVERTED = "inverted"
    STUCK_ACTIVE = "stuck active"
    STUCK_INACTIVE = "stuck inactive"
    NO_RELATION = "no relation shown"
    NOT_REPORTED = "not reported"
    UNDECIDED = "undecided"


class Slowed(Enum):
    """Why a sensor was not read as fast as the wire allows."""

    SPARED = "a sensor that is read this way is asked so often at most"
    SILENCE = "nothing but silence ends some of the printer's answers"
    AFTERWARDS = "the printer's answers come after their acknowledgement"
    BUSY = "the printer said that it was busy"
    LATE = "the printer's answers came more than a tenth of a second apart"
    LOST = "an answer was lost"
    ERROR = "the printer answered with an error"
    RESEND = "the printer asked for a line once more"

    @property
    def sentence(self) -> str:
        """That it was, and why."""
        return f"Not read as fast as the wire allows: {self.value}."


class FailSafe(Enum):
    """What a broken or unplugged wire reads as: out is safe, in is dangerous."""

    SAFE = "fail-safe"
    DANGER = "fail-danger"  # as books have it; on screen and paper the word is fail-to-danger
    UNSTEADY = "unsteady"
    NOT_TESTED = "not tested"


class PullConclusion(Enum):
    """What a proof of the input's pull came to."""

    PROVEN = "pull proven"
    WEAK = "too weak or absent"
    NOT_FITTED = "nothing was fitted"
    NOT_JUDGED = "not judged"


class Verdict(Enum):
    """A finding held against the plan. Silence never passes: every verdict begins as not judged."""

    PASS = "pass"  # noqa: S105 - a verdict
    CONDITIONAL = "conditional pass"
    FAIL = "fail"
    NOT_JUDGED = "not judged"


class Outcome(Enum):
    """What became of the run; never mixed with the verdict."""

    COMPLETE = "complete"
    STOPPED = "stopped by the operator"
    NOT_CONNECTED = "not connected"
    LINK_LOST = "link lost"
    INTERRUPTED = "interrupted by the printer"
    BROKEN_OFF = "broken off"
    UNDER_WAY = "under way"


class PunchClass(Enum):
    """How much an open item weighs."""

    UNSAFE = "A"
    INCOMPLETE = "B"
    MINOR = "C"

    @property
    def meaning(self) -> str:
        """The class in words."""
        return {"A": "unsafe to go on", "B": "incomplete", "C": "minor"}[self.value]
