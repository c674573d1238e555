"""Polls as fast as the wire allows: while one query is answered the next one is on its way already.

Queries are finished in the order in which they went out, whatever comes of them, so that a caller gets one exchange for
each. What ends the asking ahead: a printer that says it is busy, one that takes longer than the beat of a usual poll,
and whatever makes the conversation refuse it, such as an answer that was lost. What is on its way then is still heard.
"""

from collections import deque
from collections.abc import AsyncGenerator, Awaitable, Callable
from dataclasses import dataclass

from commission.dialect.commands import Command
from commission.dialect.conversation import MOST_ON_THE_WAY, Conversation
from commission.session.exchange import End, Exchange
from commission.session.opened import Opened
from commission.session.patience import KEEPALIVES

BEAT_S = 0.1
"""Ten a second: how often is asked where asking ahead has ended."""
SLOW_LIMIT = 3
"""So many answers in a row, each longer than a beat after the one before, are no stumble any more."""


@dataclass(frozen=True)
class Line:
    """What asking ahead needs of a session.

    Attributes:
        talk: the conversation as it is now.
        all_sorted: whether everything that was heard has been dealt with.
        begin: sends a command; with True behind the one in flight.
        finish: waits for its end, for so many seconds of silence.
    """

    talk: Callable[[], Conversation]
    all_sorted: Callable[[], bool]
    begin: Callable[[Command, bool], Awaitable[Opened]]
    finish: Callable[[Opened, float], Awaitable[Exchange]]

    @property
    def is_open(self) -> bool:
        """Whether a query may still be answered, or was answered and not looked at yet."""
        return self.talk().in_flight is not None or not self.all_sorted()


class _Pace:
    """Whether the printer keeps up."""

    def __init__(self) -> None:
        self._last_s: float | None = None
        self._slow = 0

    def keeps_up(self, done: Exchange) -> bool:
        """Take the next exchange; false once asking ahead brings nothing."""
        since_s = done.ended_s - (done.sent_s if self._last_s is None else self._last_s)
        self._last_s = done.ended_s
        self._slow = self._slow + 1 if since_s > BEAT_S else 0
        busy = any(reply.kind in KEEPALIVES for reply in done.asides)
        return done.end is End.ACKNOWLEDGED and not busy and self._slow < SLOW_LIMIT


async def poll_ahead(line: Line, command: Command, timeout_s: float) -> AsyncGenerator[Exchange, None]:
    """One exchange after the other, two queries on the way at a time, until that is of no use any more.

    Raises:
        LinkLost, ConversationBroken: as for any exchange.
    """
    sent: deque[Opened] = deque()
    pace, going = _Pace(), True
    try:
        while going or sent:
            if not sent:
                sent.append(await line.begin(command, bool(sent)))
            await _fill(line, command, sent, going=going)
            done = await line.finish(sent[0], timeout_s) if line.is_open else _lost(sent[0])
            sent.popleft()
            going = pace.keeps_up(done) and going and line.talk().may_queue_ahead
            await _fill(line, command, sent, going=going)  # now: while the caller looks at this one the wire is busy
            yield done
    finally:
        await _hear_out(line, sent, timeout_s)


async def _fill(line: Line, command: Command, sent: deque[Opened], *, going: bool) -> None:
    """Send as many as may be on the way; what came together is dealt with first: after a banner nothing is sent."""
    while going and sent and len(sent) < MOST_ON_THE_WAY and line.all_sorted() and line.talk().may_queue_ahead:
        sent.append(await line.begin(command, bool(sent)))


def _lost(opened: Opened) -> Exchange:
    """A query that was dropped with the one before it."""
    return opened.done(End.SILENT, opened.sent_s)


async def _hear_out(line: Line, sent: deque[Opened], timeout_s: float) -> None:
    """Leave the line in step: hear what is on its way; where even that is broken off, nobody waits for it."""
    try:
        while sent and line.is_open:
            await line.finish(sent[0], timeout_s)
            sent.popleft()
    finally:
        if line.talk().in_flight is not None:
            line.talk().give_up()
