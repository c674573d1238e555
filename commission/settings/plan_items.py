"""What a restore plan is made of: each value of the as-found report with what becomes of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from commission.settings.entry import Selector
from commission.settings.restore_line import RestoreLine


class Decision(Enum):
    """What the plan does with a value."""

    SEND = "send"
    ASK = "ask"
    ALREADY = "already as found"
    REFUSE = "not put back"


@dataclass(frozen=True)
class LetterChange:
    """One value of a plan, as printed on either side.

    Attributes:
        letter: the word's letter; None for a line that is known as text only.
        as_found: the digits, or the text, before the reflash.
        current: the digits now; empty when the firmware at hand does not print it.
    """

    letter: str | None
    as_found: str
    current: str


@dataclass(frozen=True)
class PlanItem:
    """One line of the plan.

    Attributes:
        decision: what becomes of it.
        command: the command word.
        selectors: which one is meant, as printed.
        changes: the values it is about.
        line: the exact line to send; None unless it is sent or asked.
        reason: why it is asked or refused, or what to know; may be empty for one that is sent.
        purpose: what the command is for; empty for an unknown one.
    """

    decision: Decision
    command: str
    selectors: Mapping[str, Selector]
    changes: tuple[LetterChange, ...]
    line: RestoreLine | None
    reason: str
    purpose: str

    def __post_init__(self) -> None:
        """Refuse an item that is to be sent without a line, or the reverse.

        Raises:
            ValueError: it is.
        """
        if (self.line is not None) != (self.decision in (Decision.SEND, Decision.ASK)):
            raise ValueError(f"{self.command}: a line is due when it is sent or asked, and only then")


@dataclass(frozen=True)
class RestorePlan:
    """Everything that the as-found report says, with what becomes of it, in the order of sending."""

    items: tuple[PlanItem, ...]

    def of(self, decision: Decision) -> tuple[PlanItem, ...]:
        """The items with this decision."""
        return tuple(item for item in self.items if item.decision is decision)
