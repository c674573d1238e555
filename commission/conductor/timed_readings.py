"""Trials and watches: the operator's hands are busy, so everything goes by the clock and nothing waits for a key."""

import asyncio
from collections.abc import Callable

from commission.asking.request import Confirm, Enter, TakeTrial, Watch
from commission.asking.response import TimedReading, TrialTaken, WatchTaken
from commission.clock import Clock
from commission.conductor.polling import Poller, largest_gap_s
from commission.conductor.scribe import Scribe
from commission.conductor.to_the_end import end
from commission.desk.base import Desk, Mark, Status
from commission.judge.exposure import LONGEST, Exposure, reached
from commission.vocabulary import Reading

BEAT_S = 0.1
"""Ten readings a second, unless a request fixes another beat."""
STILL = "STILL"
"""Shown large once the readings of a watch begin in which something was to be done before."""
FLUSH_S = 1.0
"""How often the bytes of a long watch are written to the book."""

Readings = list[TimedReading]


class TimedReadings:
    """Carries out one trial or watch."""

    def __init__(self, poller: Poller, desk: Desk, clock: Clock, scribe: Scribe) -> None:
        self._poller = poller
        self._desk = desk
        self._clock = clock
        self._scribe = scribe
        self._marks: set[Mark] = set()

    async def trial(self, request: TakeTrial) -> TrialTaken:
        """Prompt, countdown, dwell: the dwell begins when its time has come, whatever is read."""
        while True:
            self._marks = set()
            await self._desk.begin_trial(request)
            began_s = self._clock.monotonic()
            before = await self._count_down(request.switch, began_s, request.countdown_s)
            if Mark.PAUSE not in self._marks:
                break
            await self._desk.confirm(Confirm("trial.paused", "Waiting. Go on with this prompt from its beginning?"))
        dwell = await self._dwell(request, began_s)
        return await self._marked(TrialTaken(before, dwell, _unread(dwell)))

    async def watch(self, request: Watch) -> WatchTaken:
        """Read until so long was watched and so often read, or until it has taken twice its length."""
        self._marks = set()
        await self._desk.begin_watch(request)
        if request.lead_s > 0:
            await self._count_down(request.switch, self._clock.monotonic(), request.lead_s, request.word)
        began_s = self._clock.monotonic()
        seen = Exposure()

        def enough(readings: Readings) -> bool:
            seen.add(readings[-1])
            whole = reached(seen.seconds, request.seconds) and seen.known >= request.readings
            return whole or self._clock.monotonic() - began_s >= LONGEST * request.seconds

        def status(readings: Readings) -> Status:
            left_s = max(0.0, request.seconds - seen.seconds)
            word = STILL if request.word else ""
            return _status(readings, left_s, f"reading {seen.known} of {max(request.readings, seen.known)}", word)

        readings = await self._collect(request.switch, began_s, request.interval_s, enough, status)
        elapsed_s = self._clock.monotonic() - began_s
        return WatchTaken(readings, elapsed_s, largest_gap_s(readings), _unread(readings))

    async def _count_down(
        self, switch: str, began_s: float, countdown_s: float, word: str = ""
    ) -> tuple[TimedReading, ...]:
        dwell_at_s = began_s + countdown_s
        last_query_s = dwell_at_s - BEAT_S

        def enough(_readings: Readings) -> bool:
            return self._clock.monotonic() >= last_query_s or Mark.PAUSE in self._marks

        def status(readings: Readings) -> Status:
            return _status(readings, max(0.0, dwell_at_s - self._clock.monotonic()), "get ready", word)

        readings: tuple[TimedReading, ...] = ()
        if countdown_s > BEAT_S:
            readings = await self._collect(switch, began_s, BEAT_S, enough, status)
        if Mark.PAUSE not in self._marks:
            await self._clock.sleep(max(0.0, dwell_at_s - self._clock.monotonic()))
        return readings

    async def _dwell(self, request: TakeTrial, began_s: float) -> tuple[TimedReading, ...]:
        interval_s = request.dwell_s / max(1, request.readings - 1)

        def status(readings: Readings) -> Status:
            return _status(readings, None, f"keep still: reading {len(readings)} of {request.readings}")

        return await self._collect(
            request.switch, began_s, interval_s, lambda readings: len(readings) >= request.readings, status
        )

    async def _collect(
        self,
        switch: str,
        began_s: float,
        interval_s: float,
        enough: Callable[[Readings], bool],
        status: Callable[[Readings], Status],
    ) -> tuple[TimedReading, ...]:
        """Collect while listening for the operator's keys and writing down the bytes now and then."""
        collecting = asyncio.ensure_future(self._poller.collect(switch, began_s, interval_s, enough, status))
        flushed_s = self._clock.monotonic()
        try:
            while not collecting.done():
                await asyncio.wait({collecting}, timeout=BEAT_S)
                self._marks.update(await self._desk.take_marks())
                if self._clock.monotonic() - flushed_s >= FLUSH_S:
                    flushed_s = self._clock.monotonic()
                    await self._scribe.flush()
            return collecting.result()
        finally:
            await end(collecting)

    async def _marked(self, taken: TrialTaken) -> TrialTaken:
        self._marks.update(await self._desk.take_marks())
        if Mark.SPOILT in self._marks:
            reason = await self._desk.enter(Enter("trial.void_reason", "What spoilt the trial?"))
            return TrialTaken(taken.before, taken.dwell, taken.unread, void_reason=reason)
        if Mark.NOTHING_CHANGED in self._marks:
            return TrialTaken(taken.before, taken.dwell, taken.unread, remark=Mark.NOTHING_CHANGED.value)
        return taken


def _unread(readings: tuple[TimedReading, ...]) -> int:
    return sum(reading.reading is Reading.UNKNOWN for reading in readings)


def _status(readings: Readings, seconds_left: float | None, progress: str, word: str = "") -> Status:
    newest = readings[-1]
    return Status(newest.reading, newest.wire_word, seconds_left, progress, word=word)
