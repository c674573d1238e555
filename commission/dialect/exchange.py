"""One command on its way, and what to do when the printer asks for a line again."""

from enum import Enum

from commission.dialect.answers import Acknowledging, AnswerProgress
from commission.dialect.commands import Command, Effect
from commission.dialect.framing import TERMINATOR, numbered
from commission.dialect.replies import Reply

# Endless repeat requests are reported from the field; after this many the wire is not fit for the job.
RESEND_LIMIT = 5
MOST_ON_THE_WAY = 3
"""So many questions may be sent and not answered yet: the smallest printers keep four lines."""
SMALLEST_BUFFER_BYTES = 64
"""What comes while a printer is at work waits in a buffer of at least this size."""
NUMBERING_BYTES = 13
"""What a line number up to six digits, a checksum and the line end add to a command."""


def most_on_the_way(command: Command) -> int:
    """How many questions of this kind may be on the way: two, and a third where the smallest buffer takes them all."""
    fit = MOST_ON_THE_WAY * (len(command.text) + NUMBERING_BYTES) <= SMALLEST_BUFFER_BYTES
    return MOST_ON_THE_WAY if fit else 2


class Repeat(Enum):
    """What a repeat request calls for."""

    SEND_AGAIN = "send the line again"
    TAKEN_ALREADY = "the printer has this line and asks for the next"
    IGNORE = "the same request once more, without a new error"
    HOPELESS = "it cannot be met"


class Exchange:
    """One command in flight.

    Attributes:
        command: what was asked.
        number: its line number, or None where lines are not numbered.
        progress: how far its answer has come.
    """

    def __init__(self, command: Command, number: int | None, acknowledging: Acknowledging = Acknowledging.WORD) -> None:
        self.command = command
        self.number = number
        self.progress = AnswerProgress(command.answer, acknowledging)
        self._repeats = 0
        self._answered_request: int | None = None
        self._ignored = False

    @property
    def frame(self) -> bytes:
        """The line as it goes over the wire."""
        text = self.command.text
        body = text.encode("ascii") if self.number is None else numbered(self.number, text)
        return body + TERMINATOR

    def names_another(self, reply: Reply) -> bool:
        """Whether an acknowledgement names a line that is not ours."""
        return self.number is not None and reply.acknowledged_line not in (None, self.number)

    def new_error(self) -> None:
        """An error of the line was reported: the next request is a fresh one, even if it reads the same."""
        self._answered_request = None

    def repeat(self, asked: int) -> Repeat:
        """Decide on a request for line `asked`; a line sent again under that number takes the number on.

        The number may be wrong. A query may be said again under whatever number is asked for; anything that moves,
        heats or changes must not be done twice, so it is repeated only under its own.
        """
        if self._answered_request == asked and not self._ignored:
            self._ignored = True
            return Repeat.IGNORE
        self._answered_request = asked
        self._ignored = False
        self._repeats += 1
        if self._repeats > RESEND_LIMIT:
            return Repeat.HOPELESS
        if self.number is None or asked == self.number:
            return Repeat.SEND_AGAIN
        if asked == self.number + 1:
            return Repeat.TAKEN_ALREADY
        if self.command.effect is not Effect.READ_ONLY:
            return Repeat.HOPELESS
        self.number = asked
        return Repeat.SEND_AGAIN
