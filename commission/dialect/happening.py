"""What comes out of a conversation: a line with its meaning, an interruption, or the refusal to speak out of turn."""

from dataclasses import dataclass
from enum import Enum

from commission.dialect.commands import Command
from commission.dialect.moves import Belongs
from commission.dialect.replies import Reply


class Interruption(Enum):
    """What ended the conversation from the other side."""

    BOARD_RESTARTED = "the board restarted"
    HALTED = "the printer halted"
    LINE_POOR = "the line is too poor"
    ANSWERS_UNCERTAIN = "it is uncertain which answer belongs to which query"


class OutOfTurn(Exception):
    """We were about to say something that is not our turn to say."""


@dataclass(frozen=True)
class Happening:
    """One line, and what it means to the exchange in flight.

    Attributes:
        reply: the classified line.
        belongs: `answer`, `end` (the line that ends the exchange; it may carry data) or `aside`.
        exchange_done: the exchange of `command` is complete.
        to_send: bytes the printer must be sent now (a repeated line), or None.
        interruption: what ended the conversation, or None.
        command: the command this line belongs to, or was in flight beside; None when nothing was.
    """

    reply: Reply
    belongs: Belongs
    exchange_done: bool = False
    to_send: bytes | None = None
    interruption: Interruption | None = None
    command: Command | None = None
