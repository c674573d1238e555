"""Runs test moves while the switch is read, and talks to a printer that waits: what the function test asks for.

Moves go out one at a time, each after the one before was acknowledged, and only as many as keep the wanted number
queued: so the queue of the test is known. Between them the switch is read. Once the printer stops taking them it waits
for a person and answers no question; that is heard, and no time-out.
"""

from collections.abc import Callable
from contextlib import aclosing

from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves, Say, TimedSign
from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.response import TimedReading, WatchTaken
from commission.clock import Clock
from commission.conductor.attention import Attention
from commission.conductor.ear import Ear
from commission.conductor.polling import NoAnswer, NoEnd, interval_of, largest_gap_s, reading_of
from commission.conductor.scribe import Scribe
from commission.desk.base import Desk, Status
from commission.dialect.commands import Command
from commission.dialect.pausing import Sign
from commission.dialect.replies import Reply, ReplyKind
from commission.judge.exposure import LONGEST, Exposure, reached
from commission.judge.pause_length import LoggedMove, drained_at_s
from commission.session import End, Exchange
from commission.vocabulary import Reading, Slowed

BEAT_S = 0.1
AFTER_S = 1.0
"""So long it is read after the last of a number of moves."""
ANNOUNCED = frozenset({Sign.RUNOUT, Sign.PRINTER_PAUSED, Sign.HOST_ASKED})
SILENCE_S = 6.0
"""So long a silence after the trip is a pause without keepalives; three times the usual interval of a busy line."""
BUSY_LIMIT_S = 120.0
"""A change parks and unloads before it waits; one that is still busy after this long is left to the operator."""
LISTEN_S = 0.1
WAIT = "WAIT"
FLUSH_S = 1.0


class _Log:
    """What has happened since the moves began.

    Attributes:
        trip_s: when the newest trip was first read; None while the reading is as at the beginning, or is to stay so.
    """

    def __init__(self, request: RunMoves, began_s: float) -> None:
        self.request = request
        self.began_s = began_s
        self.moves: list[LoggedMove] = []
        self.readings: list[TimedReading] = []
        self.seen = Exposure()
        self.signs: list[TimedSign] = []
        self.left = False
        self.silent = False
        self.flushed_s = began_s
        self.slowed: Slowed | None = None
        self.next_reading_s = began_s
        self.trip_s: float | None = None
        self._began_as: Reading | None = None

    def take(self, reading: TimedReading) -> None:
        """Keep a reading."""
        self.readings.append(reading)
        self.seen.add(reading)
        if reading.reading is Reading.UNKNOWN or self.request.steady:
            return
        self._began_as = self._began_as or reading.reading
        if reading.reading is self._began_as:
            self.trip_s = None
        elif self.trip_s is None:
            self.trip_s = reading.at_s

    def queued_s(self, now_s: float) -> float:
        """How long the queued moves will still take."""
        return drained_at_s(self.moves) - (now_s - self.began_s) if self.moves else 0.0

    @property
    def newest(self) -> tuple[Reading | None, str]:
        """The newest reading with the printer's word for it."""
        return (self.readings[-1].reading, self.readings[-1].wire_word) if self.readings else (None, "")

    def watched_out(self, now_s: float) -> bool:
        """Whether a change has been waited for long enough; where none is wanted, whether so long was watched."""
        request = self.request
        if not request.steady:
            return now_s >= request.lead_s + request.trip_s
        if request.most and self.all_done(now_s):
            return True
        seen = not request.most and reached(self.seen.seconds, request.trip_s)
        return seen or now_s >= request.lead_s + LONGEST * request.trip_s

    def all_done(self, now_s: float) -> bool:
        """Whether every move that was asked for is done, and what it changed was read."""
        return len(self.moves) >= self.request.most and now_s >= drained_at_s(self.moves) + AFTER_S

    def heard(self, sign: Sign) -> bool:
        return any(each.sign is sign for each in self.signs)


class Moving:
    """Fulfils the requests of the function test for one run."""

    def __init__(self, attention: Attention, desk: Desk, clock: Clock, scribe: Scribe, ear: Ear) -> None:
        self._attention = attention
        self._desk = desk
        self._clock = clock
        self._scribe = scribe
        self._ear = ear

    async def fulfil(self, request: RunMoves | Say | Listen) -> MovesRun | Heard | None:
        """Do what is asked for.

        Raises:
            NoAnswer: the printer fell silent before anything tripped.
        """
        match request:
            case RunMoves():
                return await self._run(request)
            case Say():
                await self._attention.session.interject(request.command)
                return None
            case Listen():
                return await self._listen(request)

    async def _listen(self, request: Listen) -> Heard:
        began_s = self._clock.monotonic()
        while not self._ear.has(request.until) and self._clock.monotonic() - began_s < request.seconds:
            left_s = request.seconds - (self._clock.monotonic() - began_s)
            self._desk.show(Status(note=request.note, live=request.live, seconds_left=left_s))
            await self._attention.session.listen(min(LISTEN_S, max(left_s, 0.001)))
            await self._desk.take_marks()
        return Heard(self._ear.take(began_s), self._ear.question)

    async def _run(self, request: RunMoves) -> MovesRun:
        watch = _as_watch(request)
        await self._desk.begin_watch(watch)
        self._ear.forget()
        log = _Log(request, self._clock.monotonic())
        while (end := self._end(log)) is None:
            now_s = self._clock.monotonic()
            if self._move_is_due(log):
                await self._move(log)
            elif request.steady:
                await self._read_on(log)
            elif now_s >= log.next_reading_s:
                await self._read(log)
            else:
                await self._clock.sleep(max(0.0, min(log.next_reading_s - now_s, BEAT_S)))
            await self._beat(log)
        elapsed_s = self._clock.monotonic() - log.began_s
        run = MovesRun(
            end,
            tuple(MoveDone(move.acked_at_s, move.feed_mm, move.block_s) for move in log.moves),
            tuple(log.readings),
            tuple(log.signs),
            elapsed_s,
            log.silent,
            self._ear.question,
            log.slowed,
        )
        await self._desk.end_watch(watch, _as_taken(run))
        return run

    async def _beat(self, log: _Log) -> None:
        log.signs += self._ear.take(log.began_s)
        await self._desk.take_marks()
        self._desk.show(_status(log, self._clock.monotonic() - log.began_s))
        if self._clock.monotonic() - log.flushed_s >= FLUSH_S:
            log.flushed_s = self._clock.monotonic()
            await self._scribe.flush()

    async def _move(self, log: _Log) -> None:
        pattern = log.request.pattern
        done = await self._unless_waiting(log, pattern.command(len(log.moves)))
        if done.end is End.ACKNOWLEDGED:
            log.moves.append(LoggedMove(done.ended_s - log.began_s, pattern.feed_mm, pattern.block_s))

    async def _read(self, log: _Log) -> None:
        log.next_reading_s = self._clock.monotonic() + BEAT_S
        source = self._attention.source_of(log.request.switch)
        done = await self._unless_waiting(log, source.question)
        if done.end is End.ACKNOWLEDGED:
            log.take(reading_of(done, source, log.began_s))

    async def _read_on(self, log: _Log) -> None:
        """Read as fast as the wire allows until a move is due, or it is over."""
        session = self._attention.session
        source = self._attention.source_of(log.request.switch)
        interval_s = interval_of(source, AS_FAST_AS_IT_GOES)
        session.waits, waited = self._waits(log), session.waits
        try:
            async with aclosing(session.poll(source.question, interval_s, SILENCE_S)) as exchanges:
                async for done in exchanges:
                    self._take_note(log, done)
                    if done.end is End.ACKNOWLEDGED:
                        log.take(reading_of(done, source, log.began_s))
                    await self._beat(log)
                    if self._move_is_due(log) or self._end(log) is not None:
                        break
        finally:
            session.waits = waited
            spared = Slowed.SPARED if interval_s > 0 else session.slowed
            log.slowed = log.slowed or spared

    def _move_is_due(self, log: _Log) -> bool:
        pattern = log.request.pattern
        queued_s = log.queued_s(self._clock.monotonic())
        if log.request.most and len(log.moves) >= log.request.most:
            return False
        return log.request.sends and queued_s < pattern.queue_blocks * pattern.block_s

    async def _unless_waiting(self, log: _Log, command: Command) -> Exchange:
        done = await self._attention.session.unless_waiting(command, SILENCE_S, self._waits(log))
        self._take_note(log, done)
        return done

    def _take_note(self, log: _Log, done: Exchange) -> None:
        """What an exchange says of a printer that has stopped taking anything.

        Raises:
            NoAnswer: it has, and nothing explains it.
        """
        if done.end is End.LEFT:
            log.left = True
        elif done.end in (End.SILENT, End.ENDLESS):
            if log.request.trips and log.trip_s is None and not self._ear.has(ANNOUNCED):
                if done.end is End.ENDLESS:
                    raise NoEnd.of(done)
                raise NoAnswer("The printer stopped answering while test moves ran, before the switch changed.")
            log.left = log.silent = True

    def _waits(self, log: _Log) -> Callable[[Reply], bool]:
        """Says of a line whether the printer waits for a person, or has been busy for too long to hope."""
        began_s = self._clock.monotonic()

        def waits(reply: Reply) -> bool:
            busy_s = self._clock.monotonic() - began_s
            if reply.kind is ReplyKind.BUSY:
                parks = "The printer takes no more moves: it parks and unloads"
                self._desk.show(Status(*log.newest, note=parks, word=WAIT))
            return self._ear.waits or (reply.kind is ReplyKind.BUSY and busy_s > BUSY_LIMIT_S)

        return waits

    def _end(self, log: _Log) -> MovesEnd | None:
        request, now_s = log.request, self._clock.monotonic() - log.began_s
        if log.left:
            return MovesEnd.STOPPED_EARLY if log.trip_s is None else MovesEnd.STOPPED
        if log.heard(Sign.FEED_REFUSED):
            return MovesEnd.FEED_REFUSED
        if log.heard(Sign.TOO_COLD):
            return MovesEnd.CHANGE_REFUSED
        if log.trip_s is None:
            return MovesEnd.NO_TRIP if log.watched_out(now_s) else None
        return MovesEnd.NO_STOP if now_s >= log.trip_s + request.stop_s else None


def _as_watch(request: RunMoves) -> Watch:
    """The moves as the desk shows them: a watch of unknown length."""
    longest_s = request.lead_s + request.trip_s + request.stop_s
    return Watch(request.key, request.title, request.lines, request.switch, None, longest_s, 0, lead_s=request.lead_s)


def _as_taken(run: MovesRun) -> WatchTaken:
    unread = sum(reading.reading is Reading.UNKNOWN for reading in run.readings)
    return WatchTaken(run.readings, run.seconds, largest_gap_s(run.readings), unread, slowed=run.slowed)


def _status(log: _Log, now_s: float) -> Status:
    request = log.request
    reading, word = log.newest
    if now_s < request.lead_s:
        return Status(reading, word, request.lead_s - now_s, "moves are running", "get ready")
    if log.trip_s is None:
        left_s = max(0.0, request.lead_s + request.trip_s - now_s)
        return Status(reading, word, left_s, "moves are running", f"Now: {request.deed}", request.word)
    left_s = max(0.0, log.trip_s + request.stop_s - now_s)
    return Status(
        reading, word, left_s, "the switch has changed", "The switch has changed: waiting for the pause", WAIT
    )
