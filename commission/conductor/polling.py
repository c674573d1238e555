"""Reads one sensor again and again, by its source, and turns the answers into timed readings."""

from collections.abc import Callable, Sequence
from contextlib import aclosing
from itertools import pairwise

from commission.asking.response import InterruptionKind, TimedReading
from commission.clock import Clock
from commission.desk.base import Desk, Status
from commission.dialect.family import Identified
from commission.dialect.habits import HABITS
from commission.dialect.replies import Reply, ReplyKind
from commission.dialect.sources.source import Source
from commission.dialect.states import PrinterState, StateReport, state_of
from commission.judge.wording import counted
from commission.session import End, Exchange, Session
from commission.vocabulary import Reading, Slowed

SILENT_LIMIT = 5
"""So many queries in a row without any answer are no bad luck of the line any more."""
BEAT_S = 0.1
"""Ten a second: the beat of a source that names none, where it is not asked as fast as the wire allows."""
LIVE_INTERVAL_S = 0.25
DIGITS = 4
"""A moment is kept to a tenth of a millisecond, in the book too: what is judged later is what was judged at once."""
LONGEST_SHOWN = 60
"""Characters of a line that is shown as the last one heard."""


RESTART_YOURSELF = (
    "Look at it, find the cause, then restart it yourself: a restart loses position and heat, so the tool sends none."
)


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


class DoesNotServe(NoAnswer):
    """The printer answers, and says that it carries nothing out."""

    kind = InterruptionKind.HALTED

    def __init__(self, told: StateReport) -> None:
        """Say the state, its reason and the way out."""
        why = f": {told.reason}" if told.reason else ""
        super().__init__(f"The printer says that it is {told.state.value}{why}. {RESTART_YOURSELF}")
        self.state = told.state

    @property
    def may_begin(self) -> bool:
        """Whether it may be a host computer that begins, and serves in a while."""
        return self.state is PrinterState.NOT_READY

    @classmethod
    def said_in(cls, exchange: Exchange, printer: Identified | None) -> "DoesNotServe | None":
        """What an exchange says of it; None where the printer serves, or its family says nothing of its state."""
        if printer is None or not HABITS[printer.family].answers_when_halted:
            return None
        told = state_of([reply.text for reply in (*exchange.asides, *exchange.answer)])
        if told is None or told.state.serves:
            return None
        return cls(told)


def strays(exchange: Exchange) -> list[str]:
    """Lines that came and are neither an answer nor what a printer reports by itself."""
    return [reply.text for reply in (*exchange.asides, *exchange.answer) if reply.kind is ReplyKind.TEXT]


def reading_of(exchange: Exchange, source: Source, began_s: float) -> TimedReading:
    """What one answer says of this source; UNKNOWN when it says nothing of it.

    Raises:
        DoesNotServe: the printer says why it answers nothing.
    """
    at_s = round(exchange.ended_s - began_s, DIGITS)
    found = source.read(exchange.lines)
    if found.reading is Reading.UNKNOWN and (stopped := DoesNotServe.said_in(exchange, source.printer)) is not None:
        raise stopped
    return TimedReading(at_s, found.reading, found.wire_word)


def interval_of(source: Source, interval_s: float) -> float:
    """The beat on which a source is asked where this one is wanted; 0 is as fast as the wire allows.

    A source that must not be asked so often is asked as often as it may be.
    """
    pace = source.way.pace
    if interval_s <= 0 and pace.ahead:
        return 0.0
    return max(interval_s, pace.least_interval_s or BEAT_S)


class Poller:
    """Asks for one source on a fixed beat and shows each reading on the live line.

    Args:
        source_of: how the sensor that goes by a name is read on this printer.

    Attributes:
        slowed: why what was collected last was not read as fast as the wire allows; None where it was, or need not be.
    """

    def __init__(self, session: Session, desk: Desk, clock: Clock, source_of: Callable[[str], Source]) -> None:
        self._session = session
        self._desk = desk
        self._clock = clock
        self._source_of = source_of
        self.slowed: Slowed | None = None
        self._silent = 0
        self._strays: list[str] = []
        self._alike: tuple[Source, tuple[Reply, ...], TimedReading] | None = None

    async def once(self, switch: str, began_s: float) -> TimedReading:
        """One reading, now.

        Raises:
            NoAnswer: too many queries in a row brought nothing.
        """
        source = self._source_of(switch)
        return self._judge(await self._session.exchange(source.question, source.way.patience_s), source, began_s)

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
        source = self._source_of(switch)
        beat_s, patience_s = interval_of(source, interval_s), source.way.patience_s
        spared = Slowed.SPARED if interval_s <= 0 < beat_s else None
        async with aclosing(self._session.poll(source.question, beat_s, patience_s)) as exchanges:
            async for exchange in exchanges:
                readings.append(self._judge(exchange, source, began_s))
                done, self.slowed = enough(readings), spared or self._session.slowed
                self._desk.show(status(readings))
                if done:
                    break
        return tuple(readings)

    def _judge(self, exchange: Exchange, source: Source, began_s: float) -> TimedReading:
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
        return self._read(exchange, source, began_s)

    def _read(self, exchange: Exchange, source: Source, began_s: float) -> TimedReading:
        """An answer that is like the one before it says the same; of a dense watch nearly every one is."""
        alike = self._alike
        if alike is not None and alike[0] is source and alike[1] == exchange.answer:
            at_s = round(exchange.ended_s - began_s, DIGITS)
            return TimedReading(at_s, alike[2].reading, alike[2].wire_word)
        found = reading_of(exchange, source, began_s)
        known = found.reading is not Reading.UNKNOWN
        self._alike = (source, exchange.answer, found) if known else None
        return found


def largest_gap_s(readings: tuple[TimedReading, ...]) -> float:
    """The longest time between two readings that could be understood, in seconds; 0 for fewer than two."""
    known = [reading.at_s for reading in readings if reading.reading is not Reading.UNKNOWN]
    return max((after - before for before, after in pairwise(known)), default=0.0)
