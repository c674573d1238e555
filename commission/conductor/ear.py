"""Hears the signs of a pause among everything the printer says beside its answers, and when each came."""

from collections import deque

from commission.asking.moving import TimedSign
from commission.clock import Clock
from commission.dialect.pausing import Question, Questions, Sign, sign_of
from commission.dialect.replies import Reply

_MOST_SIGNS = 5_000
"""A printer that waits for hours says so every two seconds; the oldest of that may go."""
_WAITS = frozenset({Sign.WAITING, Sign.INSTRUCTION})
_ENDS_WAIT = frozenset({Sign.RESUMED, Sign.ACKNOWLEDGED})


class Ear:
    """Keeps the signs until somebody takes them.

    Attributes:
        waits: the printer was heard to wait for a person and not yet to go on.
        busy: it was heard to be busy, and nothing was acknowledged since.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._signs: deque[tuple[float, Sign, str]] = deque(maxlen=_MOST_SIGNS)
        self._questions = Questions()
        self.waits = self.busy = False

    @property
    def question(self) -> Question | None:
        """The question with buttons that is open now."""
        return self._questions.open

    def hear(self, reply: Reply) -> None:
        """Take one line that belongs to no answer."""
        self._questions.hear(reply)
        sign = sign_of(reply)
        if sign is None:
            return
        self._signs.append((self._clock.monotonic(), sign, reply.text))
        self.waits = (self.waits or sign in _WAITS) and sign not in _ENDS_WAIT
        self.busy = (self.busy or (sign is Sign.BUSY or sign in _WAITS)) and sign is not Sign.ACKNOWLEDGED

    def answered(self) -> None:
        """A command was acknowledged as it should be: the printer does not wait any more."""
        self.waits = self.busy = False

    def forget(self) -> None:
        """What came before does not count any more."""
        self._signs.clear()

    def take(self, began_s: float) -> tuple[TimedSign, ...]:
        """The signs since last taken, timed from this moment."""
        taken = tuple(TimedSign(at_s - began_s, sign, text) for at_s, sign, text in self._signs)
        self._signs.clear()
        return taken

    @property
    def newest(self) -> Sign | None:
        """The last sign that nobody has taken yet."""
        return self._signs[-1][1] if self._signs else None

    def has(self, signs: frozenset[Sign]) -> bool:
        """Whether one of these came and was not taken yet."""
        return any(sign in signs for _, sign, _ in self._signs)
