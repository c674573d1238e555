"""What one question and its answer are, and how a conversation can break."""

from dataclasses import dataclass
from enum import Enum

from commission.dialect.commands import Command
from commission.dialect.conversation import Interruption
from commission.dialect.replies import Reply, ReplyKind
from commission.link.base import PortUnusable


class End(Enum):
    """How an exchange came to its end."""

    ACKNOWLEDGED = "acknowledged"
    SILENT = "no answer"
    ENDLESS = "the reply did not end"
    LEFT = "left open: the printer waits for a person"


@dataclass(frozen=True)
class Traffic:
    """Bytes as they went over the wire; `at_s` is the clock's monotonic time."""

    sent: bool
    data: bytes
    at_s: float


@dataclass(frozen=True)
class Exchange:
    """A command with all that came back up to its acknowledgement.

    Attributes:
        answer: the replies that belong to the command, in order.
        asides: what came in between without belonging to it: keepalives, autoreports, actions.
        sent_s, ended_s: monotonic moments; an answer ended when its last bytes came, however late it was looked at.
    """

    command: Command
    answer: tuple[Reply, ...]
    asides: tuple[Reply, ...]
    end: End
    sent_s: float
    ended_s: float

    @property
    def lines(self) -> tuple[str, ...]:
        """The answer as printable lines; the bytes are in the record."""
        return tuple(reply.text for reply in self.answer)


def shows_trouble(done: Exchange) -> bool:
    """Whether the line swallowed the question, or damaged it so that the printer took it for another."""
    garbled = (reply for reply in done.answer if reply.kind is ReplyKind.UNKNOWN_COMMAND)
    return done.end is End.SILENT or any(reply.command not in (None, done.command.text) for reply in garbled)


class ConversationBroken(Exception):
    """The printer itself ended the conversation: it restarted, or it halted.

    Attributes:
        interruption: which of the two.
        reply: the line by which it was noticed.
    """

    def __init__(self, interruption: Interruption, reply: Reply) -> None:
        super().__init__(f"{interruption.value} ({reply.text})")
        self.interruption = interruption
        self.reply = reply


class SpeedNotFound(PortUnusable):
    """No speed brought a clean reply."""


class PrinterWaits(PortUnusable):
    """The printer waits for a person and answers no question before."""
