"""Nothing hot is left without an operator: an open question asks whether anybody is there, then ends the run."""

from collections.abc import Callable

from commission.clock import Clock
from commission.desk.base import Desk, Status

ASK_AFTER_S = 300.0
"""Changing a spool takes a minute or two; after five nobody may be there any more."""
GIVE_UP_AFTER_S = 60.0


class Unattended(Exception):
    """Nobody answered while the printer was hot; the text is one sentence."""


class Watchdog:
    """Watches one open question.

    Args:
        hot: whether the run has heated and the heat was not made safe since.
    """

    def __init__(self, clock: Clock, desk: Desk, hot: Callable[[], bool]) -> None:
        self._clock = clock
        self._desk = desk
        self._hot = hot
        self._since_s = clock.monotonic()

    def look(self) -> None:
        """Look whether it is time to ask, or to give up.

        Raises:
            Unattended: the printer is hot, and the question has been open for too long.
        """
        open_s = self._clock.monotonic() - self._since_s
        if not self._hot() or open_s < ASK_AFTER_S:
            return
        left_s = ASK_AFTER_S + GIVE_UP_AFTER_S - open_s
        if left_s <= 0:
            raise Unattended(f"The printer is hot and the question was not answered for {open_s / 60:.0f} minutes.")
        self._desk.show(
            Status(note="The printer is hot: are you there? Answer, or the printer is made safe in a minute")
        )
