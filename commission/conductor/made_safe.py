"""What became of a make-safe: what was tried, what of it was delivered, and what a person must still do."""

from dataclasses import dataclass
from enum import Enum

from commission.evidence import runs
from commission.evidence.runs import WayOut
from commission.procedure.message import Punch
from commission.vocabulary import PunchClass

HALTED_ITEM = (
    "The printer has halted: it is dead until it is reset, and how hot it is is not known until its temperatures are "
    "read again."
)
HALTED_CURE = (
    "Keep clear of the nozzle and the bed. Reset it with its power switch or its reset button, read its temperatures, "
    "and home it before it moves."
)


class Doing(Enum):
    """What the printer is doing on the way out."""

    NOTHING_SENT = "nothing was switched on"
    NOTHING_LEFT = "the board was restarted since anything was switched on"
    ANSWERS = "the printer answers"
    BLOCKED = "the printer is blocked"
    RESTARTED = "the board restarted"
    HALTED = "the printer has halted"
    LINK_LOST = "the link is lost"
    LEFT_ON = "an earlier run was broken off"
    BROKEN_OFF = "it did not come to its end"


class Delivered(Enum):
    """What became of something that was sent."""

    YES = "delivered"
    NO = "NOT delivered"
    NOT_SHOWN = "sent; nothing shows that it was taken"

    @classmethod
    def of(cls, taken: bool) -> "Delivered":  # noqa: FBT001 - an answer turned into its word
        """Yes or no."""
        return cls.YES if taken else cls.NO


@dataclass(frozen=True)
class Attempt:
    """One thing that was tried, and what became of it."""

    what: str
    delivered: Delivered
    detail: str = ""

    @property
    def sentence(self) -> str:
        """The attempt in words."""
        return f"{self.what}: {self.delivered.value}{f' ({self.detail})' if self.detail else ''}."


@dataclass(frozen=True)
class MadeSafe:
    """What became of it.

    Attributes:
        complete: everything was delivered and read back.
        advice: what a person must still do; empty when nothing.
    """

    doing: Doing
    attempts: tuple[Attempt, ...] = ()
    complete: bool = True
    advice: str = ""

    @property
    def needed(self) -> bool:
        """Whether there was anything to make safe."""
        return self.doing is not Doing.NOTHING_SENT

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it in words."""
        if not self.needed:
            return ("Nothing to make safe: this run moved and heated nothing.",)
        head = f"Made safe: {self.doing.value}." if self.complete else f"NOT made safe: {self.doing.value}."
        return (head, *(attempt.sentence for attempt in self.attempts), *([self.advice] if self.advice else []))

    @property
    def item(self) -> Punch | None:
        """What is left to be put right at the printer itself; None when nothing is."""
        if self.doing is Doing.HALTED:
            return Punch(PunchClass.UNSAFE, HALTED_ITEM, HALTED_CURE)
        if self.complete or self.doing is Doing.LEFT_ON:  # the accounts of the earlier run are open as they were
            return None
        missing = [each.what for each in self.attempts if each.delivered is not Delivered.YES]
        said = f"The printer was not made safe ({self.doing.value}); not shown to be done: {', '.join(missing)}."
        return Punch(PunchClass.UNSAFE, said, f"{self.advice} Read its temperatures again before it is used.")

    @property
    def summary(self) -> str:
        """What matters of it in one line: everything, where anything was not delivered."""
        if not (self.complete and self.attempts) or self.doing is Doing.HALTED:
            return " ".join(self.sentences)
        done = sum(attempt.delivered is Delivered.YES for attempt in self.attempts)
        return " ".join((self.sentences[0], f"{done} steps delivered and read back.", self.advice)).strip()

    def on_record(self) -> WayOut:
        """It as the record holds it."""
        return WayOut(
            needed=self.needed,
            doing=self.doing.value,
            attempted=tuple(runs.Attempt(each.what, each.delivered.value, each.detail) for each in self.attempts),
            complete=self.complete,
            sentence=self.summary,
        )


NOTHING_TO_DO = MadeSafe(Doing.NOTHING_SENT)
