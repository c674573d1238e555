"""How long one answer is waited for."""

from commission.clock import Clock, Deadline
from commission.dialect.conversation import Happening
from commission.dialect.replies import ReplyKind

ENDLESS_S = 20.0
"""A reply that is still coming this long after it began, or after the last sign of a busy printer, has no end."""
LONGEST_WAIT_S = 600.0
"""A printer that says for this long that it is busy is not waited for any longer: heating up takes less."""
LONGEST_TOLD_WAIT_S = 1800.0
"""The same where a person is told that it is busy, and can stop."""
QUIET_S = 1.0
"""Silence that counts as quiet."""
QUIET_LIMIT_S = 10.0
"""How long quiet is waited for: small boards print their settings for several seconds after a restart."""
KEEPALIVES = (ReplyKind.BUSY, ReplyKind.PAUSED_FOR_USER)
QUIET_KINDS = (*KEEPALIVES, ReplyKind.IDLE, ReplyKind.TEMPERATURE, ReplyKind.POSITION, ReplyKind.BLANK)
"""What a printer says by itself while nothing goes on."""


class Patience:
    """With one exchange.

    Args:
        clock: where the time comes from.
        timeout_s: so long a silence ends it.
        longest_s: so long it may take at most, however often the printer says that it is busy.
    """

    def __init__(self, clock: Clock, timeout_s: float, longest_s: float) -> None:
        self._clock = clock
        self._timeout_s = timeout_s
        self._silence = Deadline.after(clock, timeout_s)
        self._whole: Deadline | None = None
        self._limit = Deadline.after(clock, longest_s)

    def heard(self, happening: Happening) -> bool:
        """Wait on for what was heard; whether it was the word of a busy printer."""
        busy = happening.reply.kind in KEEPALIVES
        if busy:
            self._whole = Deadline.after(self._clock, min(ENDLESS_S, self._limit.remaining_s))
        elif happening.belongs == "answer" and self._whole is None:
            self._whole = Deadline.after(self._clock, ENDLESS_S)
        if busy or happening.belongs == "answer":
            self._silence = Deadline.after(self._clock, self._timeout_s)
        return busy

    @property
    def left_s(self) -> float:
        """How long a silence may still last, in seconds."""
        return self._silence.remaining_s

    @property
    def silent(self) -> bool:
        """Whether nothing that counts came for too long."""
        return self._silence.passed

    @property
    def endless(self) -> bool:
        """Whether it has gone on for too long, whatever came; before anything came of it, it is only silent."""
        return self._whole is not None and self._whole.passed
