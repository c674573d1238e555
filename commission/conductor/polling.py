"""Reads one switch again and again and turns the answers into timed readings."""

from collections.abc import Callable, Sequence
from contextlib import aclosing
from itertools import pairwise

from commission.clock import Clock
from commission.desk.base import Desk, Status
from commission.dialect.commands import SWITCHES
from commission.dialect.replies import ReplyKind
from commission.dialect.switches import switches_of
from commission.judge.wording import counted
from commission.procedure.response import InterruptionKind, TimedReading
from commission.session import End, Exchange, Session
from commission.vocabulary import Reading

SILENT_LIMIT = 5
"""So many queries in a row without any answer are no bad luck of the line any more."""
QUERY_TIMEOUT_S = 1.0
LIVE_INTERVAL_S = 0.25
DIGITS = 4
"""A moment is kept to a tenth of a millisecond, in the book too: what is judged later is what was judged at once."""
LONGEST_SHOWN = 60
"""Characters of a line that is shown as the last one heard."""


class NoAnswer(Exception):
    """The printer has stopped answering; the text is one sentence."""

    kind = InterruptionKind.NO_ANSWER


class NoEnd(NoAnswer):
    """The printer sends and sends, and nothing of it ends the answer."""

    kind = InterruptionKind.NO_END

    def __init__(self, lines: Sequence[str], purpose: str) -> None:
        """Say what came, and what was to be done."""
        last = lines[-1] if lines else ""
        last = last if len(last) <= LONGEST_SHOWN else f"{last[:LONGEST_SHOWN]}..."
        heard = f"{counted(len(lines), 'line')} came, the last of them {last!r}" if lines else "No whole line came"
        super().__init__(f"{heard}, and nothing ended the answer. What was to be done: {purpose}.")

    @classmethod
    def of(cls, exchange: Exchange) -> "NoEnd":
        """An exchange whose answer had no end."""
        return cls([reply.text for reply in (*exchange.asides, *exchange.answer)], exchange.command.purpose)


def strays(exchange: Exchange) -> list[str]:
    """Lines that came and are neither an answer nor what a printer reports by itself."""
    return [reply.text for reply in (*exchange.asides, *exchange.answer) if reply.kind is ReplyKind.TEXT]


def reading_of(exchange: Exchange, switch: str, began_s: float) -> TimedReading:
    """What one switch query says of this switch; UNKNOWN when the answer has no line for it."""
    at_s = round(exchange.ended_s - began_s, DIGITS)
    for state in switches_of(exchange.lines):
        if state.name == switch:
            return TimedReading(at_s, state.reading, state.wire_word)
    return TimedReading(at_s, Reading.UNKNOWN, "")


class Poller:
    """Asks for the switch states on a fixed beat and shows each on the live line."""

    def __init__(self, session: Session, desk: Desk, clock: Clock) -> None:
        self._session = session
        self._desk = desk
        self._clock = clock
        self._silent = 0
        self._strays: list[str] = []

    async def once(self, switch: str, began_s: float) -> TimedReading:
        """One reading, now.

        Raises:
            NoAnswer: too many queries in a row brought nothing.
        """
        return self._judge(await self._session.exchange(SWITCHES, QUERY_TIMEOUT_S), switch, began_s)

    async def collect(
        self,
        switch: str,
        began_s: float,
        interval_s: float,
        enough: Callable[[list[TimedReading]], bool],
        status: Callable[[list[TimedReading]], Status],
    ) -> tuple[TimedReading, ...]:
        """Readings on the beat until there are enough; every one is shown.

        Raises:
            NoAnswer: too many queries in a row brought nothing.
        """
        readings: list[TimedReading] = []
        async with aclosing(self._session.poll(SWITCHES, interval_s, QUERY_TIMEOUT_S)) as exchanges:
            async for exchange in exchanges:
                readings.append(self._judge(exchange, switch, began_s))
                done = enough(readings)
                self._desk.show(status(readings))
                if done:
                    break
        return tuple(readings)

    def _judge(self, exchange: Exchange, switch: str, began_s: float) -> TimedReading:
        if exchange.end is End.LEFT:
            raise NoAnswer("The printer waits for a person and answers no question.")
        if exchange.end is End.ENDLESS:
            raise NoEnd.of(exchange)
        silent = exchange.end is End.SILENT
        self._silent = self._silent + 1 if silent else 0
        self._strays = [*self._strays, *strays(exchange)] if silent else []
        if self._silent >= SILENT_LIMIT:
            if len(self._strays) >= SILENT_LIMIT:
                raise NoEnd(self._strays, exchange.command.purpose)
            raise NoAnswer(f"{self._silent} questions in a row were not answered.")
        return reading_of(exchange, switch, began_s)


def largest_gap_s(readings: tuple[TimedReading, ...]) -> float:
    """The longest time between two readings that could be understood, in seconds; 0 for fewer than two."""
    known = [reading.at_s for reading in readings if reading.reading is not Reading.UNKNOWN]
    return max((after - before for before, after in pairwise(known)), default=0.0)
