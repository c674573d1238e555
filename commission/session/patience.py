"""How long one answer is waited for."""

import math

from commission.clock import Clock, remaining_s
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
    """With one exchange. Moments in place of deadlines: one is made for every reading, hundreds of times a second.

    Args:
        clock: where the time comes from.
        timeout_s: so long a silence ends it.
        longest_s: so long it may take at most, however often the printer says that it is busy.
    """

    def __init__(self, clock: Clock, timeout_s: float, longest_s: float) -> None:
        now_s = clock.monotonic()
        self._clock = clock
        self._timeout_s = timeout_s
        self._silent_at_s = now_s + timeout_s
        self._endless_at_s = math.inf
        self._limit_at_s = now_s + longest_s

    def heard(self, happening: Happening) -> bool:
        """Wait on for what was heard; whether it was the word of a busy printer."""
        busy = happening.reply.kind in KEEPALIVES
        if not busy and happening.belongs != "answer":
            return False
        now_s = self._clock.monotonic()
        if busy:
            self._endless_at_s = now_s + max(0.0, min(ENDLESS_S, self._limit_at_s - now_s))
        elif self._endless_at_s == math.inf:
            self._endless_at_s = now_s + ENDLESS_S
        self._silent_at_s = now_s + self._timeout_s
        return busy

    @property
    def left_s(self) -> float:
        """How long a silence may still last, in seconds."""
        return remaining_s(self._clock, self._silent_at_s)

    @property
    def silent(self) -> bool:
        """Whether nothing that counts came for too long."""
        return self.left_s == 0.0

    @property
    def endless(self) -> bool:
        """Whether it has gone on for too long, whatever came; before anything came of it, it is only silent."""
        return remaining_s(self._clock, self._endless_at_s) == 0.0
