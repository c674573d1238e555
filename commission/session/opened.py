"""An exchange under way."""

from collections.abc import Callable
from dataclasses import dataclass, field

from commission.dialect.commands import Command
from commission.dialect.conversation import Happening
from commission.dialect.replies import Reply
from commission.session.exchange import End, Exchange


@dataclass
class Opened:
    """A command that was sent, with what has come of it so far.

    Attributes:
        leave: says of a line beside the answer that no answer will come before a person acts.
    """

    command: Command
    sent_s: float
    answer: list[Reply] = field(default_factory=list)
    asides: list[Reply] = field(default_factory=list)
    leave: Callable[[Reply], bool] | None = None
    received_bytes: int = 0

    def sort(self, happening: Happening) -> None:
        """Keep a line where it belongs."""
        (self.asides if happening.belongs == "aside" else self.answer).append(happening.reply)

    def done(self, end: End, ended_s: float) -> Exchange:
        """The exchange as it is now."""
        return Exchange(self.command, tuple(self.answer), tuple(self.asides), end, self.sent_s, ended_s)
