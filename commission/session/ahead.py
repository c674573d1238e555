"""Polls, where it may be as fast as the wire allows: while one query is answered the next one is on its way already.

Two are on the way at a time, and three where answers come so quickly that the time of one of them is less than a
program may have to wait for its turn. Each goes out as an answer comes, so the gaps between two answers are those
between the moments at which the printer looked at the switch, whether it looks when a query arrives or when the answer
before is out; only how late an answer tells of its moment grows, and stays within about 15 ms where three are sent.

Queries are finished in the order in which they went out, whatever comes of them, so that a caller gets one exchange for
each. What ends the asking ahead: a printer that says it is busy, one that takes longer than the beat of a usual poll,
and whatever makes the conversation refuse it, such as an answer that was lost. What is on its way then is still heard.
"""

from collections import deque
from collections.abc import AsyncGenerator, Awaitable, Callable
from contextlib import aclosing
from dataclasses import dataclass

from commission.clock import Clock
from commission.dialect.commands import Command
from commission.dialect.conversation import Conversation
from commission.dialect.exchange import MOST_ON_THE_WAY, most_on_the_way
from commission.session.exchange import End, Exchange
from commission.session.opened import Opened
from commission.session.patience import KEEPALIVES
from commission.vocabulary import Slowed

BEAT_S = 0.1
"""Ten a second: how often is asked where asking ahead has ended."""
QUICK_S = 0.005
"""Answers that come closer together than this leave too little time with one question ahead: two are."""
SMOOTHED_OVER = 8
"""Over about so many answers the time between two of them is averaged."""
SLOW_LIMIT = 3
"""So many answers in a row, each longer than a beat after the one before, are no stumble any more."""


@dataclass(frozen=True)
class Line:
    """What polling needs of a session.

    Attributes:
        talk: the conversation as it is now.
        all_sorted: whether everything that was heard has been dealt with.
        begin: sends a command; with True behind the one in flight.
        finish: waits for its end, for so many seconds of silence.
        in_step: one whole exchange, for so many seconds of silence.
        slows: told why it is not asked as fast as the wire allows.
    """

    talk: Callable[[], Conversation]
    all_sorted: Callable[[], bool]
    begin: Callable[[Command, bool], Awaitable[Opened]]
    finish: Callable[[Opened, float], Awaitable[Exchange]]
    in_step: Callable[[Command, float], Awaitable[Exchange]]
    slows: Callable[[Slowed], None]

    @property
    def is_open(self) -> bool:
        """Whether a query may still be answered, or was answered and not looked at yet."""
        return self.talk().in_flight is not None or not self.all_sorted()


async def polled(
    line: Line, command: Command, interval_s: float, timeout_s: float, clock: Clock
) -> AsyncGenerator[Exchange, None]:
    """One exchange after the other: on a beat, or with an interval of zero ahead for as long as that goes well.

    Raises:
        LinkLost, ConversationBroken: as for any exchange.
    """
    if interval_s <= 0:
        interval_s = BEAT_S
        if not line.all_sorted():  # what came before is sorted with one question, before two are on the way
            yield await line.in_step(command, timeout_s)
        async with aclosing(_ahead(line, command, timeout_s, clock)) as ahead:
            async for done in ahead:
                yield done
    beat_s = clock.monotonic()
    while True:
        yield await line.in_step(command, timeout_s)
        beat_s = max(beat_s + interval_s, clock.monotonic())
        await clock.sleep(beat_s - clock.monotonic())


class _Pace:
    """How fast the printer answers, and whether it keeps up."""

    def __init__(self) -> None:
        self._last_s: float | None = None
        self._slow = 0
        self._usual_s = QUICK_S

    @property
    def most(self) -> int:
        """How many questions may be on the way."""
        return MOST_ON_THE_WAY if self._usual_s < QUICK_S else 2

    def lost_by(self, done: Exchange) -> Slowed | None:
        """Take the next exchange; why asking ahead brings nothing any more, None while it does."""
        since_s = done.ended_s - (done.sent_s if self._last_s is None else self._last_s)
        self._last_s = done.ended_s
        self._slow = self._slow + 1 if since_s > BEAT_S else 0
        self._usual_s += (min(since_s, 2 * QUICK_S) - self._usual_s) / SMOOTHED_OVER  # one stumble is not its pace
        if done.end is not End.ACKNOWLEDGED:
            return Slowed.LOST
        if any(reply.kind in KEEPALIVES for reply in done.asides):
            return Slowed.BUSY
        return Slowed.LATE if self._slow >= SLOW_LIMIT else None


async def _ahead(line: Line, command: Command, timeout_s: float, clock: Clock) -> AsyncGenerator[Exchange, None]:
    """One exchange after the other, two or three queries on the way, until that is of no use any more."""
    sent: deque[Opened] = deque()
    pace, slowed = _Pace(), _held_back(line)
    _tell(line, slowed)
    try:
        while slowed is None or sent:
            if not sent:
                sent.append(await line.begin(command, bool(sent)))
            await _fill(line, command, sent, pace.most if slowed is None else 0)
            done = await line.finish(sent[0], timeout_s) if line.is_open else _lost(sent[0], clock)
            sent.popleft()
            slowed = slowed or line.talk().held_back or pace.lost_by(done) or _held_back(line)
            _tell(line, slowed)
            await _fill(line, command, sent, pace.most if slowed is None else 0)  # now: the caller may take its time
            yield done
    finally:
        await _hear_out(line, sent, timeout_s)


def _tell(line: Line, slowed: Slowed | None) -> None:
    """At once: the caller may look at no further exchange."""
    if slowed is not None:
        line.slows(slowed)


def _held_back(line: Line) -> Slowed | None:
    """Why nothing may be queued now; an answer that may still come is one that was lost."""
    talk = line.talk()
    return None if talk.may_queue_ahead else talk.held_back or Slowed.LOST


async def _fill(line: Line, command: Command, sent: deque[Opened], most: int) -> None:
    """Send as many as may be on the way; what came together is dealt with first: after a banner nothing is sent."""
    most = min(most, most_on_the_way(command))
    while sent and len(sent) < most and line.all_sorted() and line.talk().may_queue_ahead:
        sent.append(await line.begin(command, bool(sent)))


def _lost(opened: Opened, clock: Clock) -> Exchange:
    """A query that was dropped with the one before it."""
    return opened.done(End.SILENT, clock.monotonic())


async def _hear_out(line: Line, sent: deque[Opened], timeout_s: float) -> None:
    """Leave the line in step: hear what is on its way; where even that is broken off, nobody waits for it."""
    try:
        while sent and line.is_open:
            await line.finish(sent[0], timeout_s)
            sent.popleft()
    finally:
        if line.talk().in_flight is not None:
            line.talk().give_up()
