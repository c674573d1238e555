"""Trials and watches: the operator's hands are busy, so everything goes by the clock and nothing waits for a key."""

import asyncio
from collections.abc import Callable
from dataclasses import replace

from commission.asking.request import Choose, Confirm, Enter, Option, TakeTrial, Watch
from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.clock import Clock
from commission.conductor.polling import Poller, largest_gap_s
from commission.conductor.scribe import Scribe
from commission.conductor.to_the_end import end
from commission.desk.base import Desk, Mark, Status
from commission.judge.exposure import LONGEST, Exposure, reached
from commission.vocabulary import Reading, Spoken

BEAT_S = 0.1
"""Ten readings a second, unless a request fixes another beat."""
STILL = "STILL"
"""Shown large once the readings of a watch begin in which something was to be done before."""
FLUSH_S = 10.0
"""How often the bytes of a trial or watch are written to the book, in which one exchange is like the other."""
WAITED = "the operator asked to wait"
THIS, BEFORE_IT, NEITHER = "this", "before", "neither"
"""Which trial the key for a spoilt one meant."""

Readings = list[TimedReading]


class TimedReadings:
    """Carries out one trial or watch.

    Attributes:
        read: of a watch, what was read so far; it stays known when the run is ended in it.
    """

    def __init__(self, poller: Poller, desk: Desk, clock: Clock, scribe: Scribe) -> None:
        self._poller = poller
        self._desk = desk
        self._clock = clock
        self._scribe = scribe
        self._marks: set[Mark] = set()
        self.read: Readings = []

    async def trial(self, request: TakeTrial) -> TrialTaken:
        """Prompt, countdown, dwell: the dwell begins when its time has come, whatever is read.

        What is read is not shown before the dwell is over: nobody can wish away what nobody has seen.
        """
        self._marks = set()
        await self._desk.begin_trial(request)
        began_s = self._clock.monotonic()
        before = await self._count_down(request.switch, began_s, request.countdown_s, hidden=True)
        if Mark.PAUSE in self._marks:
            return TrialTaken(before, (), void_reason=WAITED, spoken=Spoken.BEFORE)
        early, self._marks = self._marks, set()
        dwell = await self._dwell(request, began_s)
        taken = TrialTaken(before, dwell, _unread(dwell))
        self._marks.update(await self._desk.take_marks())
        taken = await self._set_aside(request, taken, early)
        if Mark.PAUSE in self._marks:
            await self._desk.confirm(Confirm("trial.paused", "Waiting: the next prompt comes when you say yes. Ready?"))
        return taken

    async def _set_aside(self, request: TakeTrial, taken: TrialTaken, early: set[Mark]) -> TrialTaken:
        """Which trial the key meant is on the screen before it counts."""
        if Mark.SPOILT in early | self._marks:
            which = await self._which(request)
            if which == NEITHER:
                return taken
            reason = await self._desk.enter(Enter("trial.void_reason", "What spoilt the trial?"))
            if which == BEFORE_IT:
                return replace(taken, void_before=reason)
            return replace(taken, void_reason=reason, spoken=Spoken.BEFORE if Mark.SPOILT in early else Spoken.LATER)
        if Mark.NOTHING_CHANGED in early | self._marks:
            return replace(taken, remark=Mark.NOTHING_CHANGED.value)
        return taken

    async def _which(self, request: TakeTrial) -> str:
        this = Option(THIS, f"prompt {request.number}, {request.instruction.value}", "the one just taken")
        before = Option(
            BEFORE_IT, f"prompt {request.number - 1}, the one before it", "what it read stays in the record"
        )
        neither = Option(NEITHER, "neither", "the key was pressed by mistake")
        options = (this, before, neither) if request.number > 1 else (this, neither)
        return await self._desk.choose(Choose("trial.which", "Which one was spoilt?", options))

    async def watch(self, request: Watch) -> WatchTaken:
        """Read until so long was watched and so often read, or until it has taken twice its length."""
        while True:
            self._marks = set()
            await self._desk.begin_watch(request)
            if request.lead_s > 0:
                await self._count_down(request.switch, self._clock.monotonic(), request.lead_s, request.word)
            if Mark.PAUSE not in self._marks:
                break
            await self._desk.confirm(Confirm("watch.paused", "Waiting. Go on with this from its beginning?"))
        if Mark.SPOILT in self._marks:  # said before it began: later it would choose by what was read
            reason = await self._desk.enter(Enter("watch.void_reason", "What spoilt it?"))
            return WatchTaken((), 0.0, 0.0, void_reason=reason)
        began_s = self._clock.monotonic()
        seen = Exposure()

        def enough(readings: Readings) -> bool:
            self.read = readings
            seen.add(readings[-1])
            whole = reached(seen.seconds, request.seconds) and seen.known >= request.readings
            return whole or self._clock.monotonic() - began_s >= LONGEST * request.seconds

        def status(readings: Readings) -> Status:
            left_s = max(0.0, request.seconds - seen.seconds)
            word = STILL if request.word and request.lead_s > 0 else request.word
            return _status(readings, left_s, f"reading {seen.known} of {max(request.readings, seen.known)}", word)

        readings = await self._collect(request.switch, began_s, request.interval_s, enough, status)
        await self._scribe.flush_counted(timed=True)
        elapsed_s = self._clock.monotonic() - began_s
        remark = Mark.NOTHING_CHANGED.value if Mark.NOTHING_CHANGED in self._marks else ""
        gap_s, slowed = largest_gap_s(readings), self._poller.slowed
        return WatchTaken(readings, elapsed_s, gap_s, _unread(readings), remark=remark, slowed=slowed)

    async def _count_down(
        self, switch: str, began_s: float, countdown_s: float, word: str = "", *, hidden: bool = False
    ) -> tuple[TimedReading, ...]:
        dwell_at_s = began_s + countdown_s
        last_query_s = dwell_at_s - BEAT_S

        def enough(_readings: Readings) -> bool:
            return self._clock.monotonic() >= last_query_s or Mark.PAUSE in self._marks

        def status(readings: Readings) -> Status:
            left_s = max(0.0, dwell_at_s - self._clock.monotonic())
            return Status(None, "", left_s, "get ready") if hidden else _status(readings, left_s, "get ready", word)

        readings: tuple[TimedReading, ...] = ()
        if countdown_s > BEAT_S:
            await self._scribe.flush()
            readings = await self._collect(switch, began_s, BEAT_S, enough, status)
        if Mark.PAUSE not in self._marks:
            await self._clock.sleep(max(0.0, dwell_at_s - self._clock.monotonic()))
        return readings

    async def _dwell(self, request: TakeTrial, began_s: float) -> tuple[TimedReading, ...]:
        interval_s = request.dwell_s / max(1, request.readings - 1)

        def status(readings: Readings) -> Status:
            return Status(progress=f"keep still: reading {len(readings)} of {request.readings}")

        taken = await self._collect(
            request.switch, began_s, interval_s, lambda readings: len(readings) >= request.readings, status
        )
        await self._scribe.flush_counted(timed=True)
        return taken

    async def _collect(
        self,
        switch: str,
        began_s: float,
        interval_s: float,
        enough: Callable[[Readings], bool],
        status: Callable[[Readings], Status],
    ) -> tuple[TimedReading, ...]:
        """Collect while listening for the operator's keys and writing down the bytes now and then.

        What is left of them at its end goes with those of the dwell that follows at once.
        """
        self._scribe.counting = True
        collecting = asyncio.ensure_future(self._poller.collect(switch, began_s, interval_s, enough, status))
        flushed_s = self._clock.monotonic()
        try:
            while not collecting.done():
                await asyncio.wait({collecting}, timeout=BEAT_S)
                self._marks.update(await self._desk.take_marks())
                if self._clock.monotonic() - flushed_s >= FLUSH_S:
                    flushed_s = self._clock.monotonic()
                    await self._scribe.flush_counted(timed=True)
            return collecting.result()
        finally:
            self._scribe.counting = False  # what is not written by now is written piece by piece, as ever
            await end(collecting)


def _unread(readings: tuple[TimedReading, ...]) -> int:
    return sum(reading.reading is Reading.UNKNOWN for reading in readings)


def _status(readings: Readings, seconds_left: float | None, progress: str, word: str = "") -> Status:
    newest = readings[-1]
    return Status(newest.reading, newest.wire_word, seconds_left, progress, word=word)
