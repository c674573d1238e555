"""A soak: the switch is read for hours, a change is told at once, and every ten seconds the book has what was read.

Only questions are sent: the one for the switch, and where the printer answers it the one for its card, so that a print
that begins is noticed. Beside a print at most one question a second goes out. What was read before the card was asked
again counts only if no print had begun meanwhile.
"""

from commission.asking.message import Tell, Weight
from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.response import TimedReading, WatchTaken
from commission.asking.soak import Soak, SoakTaken
from commission.clock import Clock
from commission.conductor.attention import Attention
from commission.conductor.polling import Poller
from commission.conductor.scribe import Scribe
from commission.conductor.stretches import Stretch, told
from commission.desk.base import Desk, SoakNow, Status
from commission.dialect.jobs import CARD, CardState, card_of
from commission.evidence.soaked import SoakStretch
from commission.judge.exposure import LONGEST, reached
from commission.judge.nuisance import Around, bound_per_hour, length, rate
from commission.session import End
from commission.vocabulary import Presence, Reading

BEAT_S, PRINT_BEAT_S = 0.1, 1.0
SLICE_S = 10.0
"""How much is written at a time: so much a killed soak can lose, and so soon a print is noticed."""
DENSE_S = 60.0
"""So long it is read as fast as the wire allows after a change."""
MOST_TOLD = 20
"""Changes that are told one by one; those that follow are counted, shown and recorded."""
CARD_TIMEOUT_S = 5.0
LEAST_WAIT_S = 0.001
STATUS_EVERY_S = 1.0
"""How often the bound is worked out anew for the screen while every reading is like the one before it."""
PRINT_BEGAN = "a print from the card began in it"
PRINT_ENDED = "The print from the card has ended."


class Soaking:
    """Carries out one soak."""

    def __init__(self, request: Soak, attention: Attention, desk: Desk, clock: Clock, scribe: Scribe) -> None:
        self._request = request
        self._attention = attention
        self._desk = desk
        self._clock = clock
        self._scribe = scribe
        self._poller: Poller = attention.poller()
        self._began_s = 0.0
        self._dense_until_s = 0.0
        self._around = Around.AT_REST
        self._asks_card = request.asks_card
        self._last: TimedReading | None = None
        self._told: tuple[float, Status] | None = None
        self._done: list[SoakStretch] = []
        self._watched_s = 0.0

    async def soak(self) -> SoakTaken:
        """Read until so much was watched, the operator ends it, or it has taken twice its length.

        Raises:
            LinkLost, ConversationBroken, NoAnswer: the soak ends there; what was read before stands in the book.
        """
        await self._scribe.flush()
        await self._desk.begin_watch(self._panel())
        self._began_s = self._clock.monotonic()
        stretch = Stretch(self._around, 0.0)
        self._scribe.counting = True
        try:
            while not self._is_over:
                await self._slice(stretch)
                await self._write(stretch)
                stretch = Stretch(self._around, self._now_s, None if stretch.set_aside else self._last)
        except BaseException:
            if stretch.readings:  # in memory: not on disk yet, and true all the same
                await self._write(stretch, card_known=False)
            raise
        finally:
            self._scribe.counting = False
        await self._desk.end_watch(self._panel(), self._so_far())
        return SoakTaken(tuple(self._done), self._now_s, stopped=self._desk.stop_asked)

    @property
    def _now_s(self) -> float:
        return self._clock.monotonic() - self._began_s

    @property
    def _is_over(self) -> bool:
        request = self._request
        whole = reached(self._watched_s, request.seconds) or self._now_s >= LONGEST * request.seconds
        return whole or self._desk.stop_asked

    def _so_far(self) -> WatchTaken:
        said = f"{length(self._watched_s)} watched in {length(self._now_s)}"
        return WatchTaken((), self._now_s, 0.0, summary=said)

    def _panel(self) -> Watch:
        request = self._request
        return Watch(request.key, request.title, request.lines, request.switch, Presence.IN, request.seconds, 0)

    async def _slice(self, stretch: Stretch) -> None:
        """Read for ten seconds, less where a change is to be told; then see what the card does."""
        end_s = stretch.began_s + SLICE_S
        while self._now_s < end_s and not self._over_with(stretch):
            await self._read(stretch, end_s)
        if self._asks_card and not self._desk.stop_asked:
            await self._look_at_card(stretch)

    def _over_with(self, stretch: Stretch) -> bool:
        watched_s = self._watched_s + stretch.exposure_s
        return self._desk.stop_asked or reached(watched_s, self._request.seconds)

    async def _read(self, stretch: Stretch, end_s: float) -> None:
        """Read up to the next change, which is told, or to the end of the slice; every reading is kept as it comes."""
        dense = self._now_s < self._dense_until_s and self._beat_s == BEAT_S and not self._request.gentle
        interval_s = AS_FAST_AS_IT_GOES if dense else self._beat_s
        changed: list[tuple[TimedReading | None, TimedReading]] = []

        def enough(readings: list[TimedReading]) -> bool:
            newest, before = readings[-1], self._last
            if stretch.take(newest, before):
                changed.append((before, newest))
            if newest.reading is not Reading.UNKNOWN:
                self._last = newest
            left = newest.at_s + interval_s >= end_s or interval_s >= PRINT_BEAT_S or self._over_with(stretch)
            return left or bool(changed) or (dense and newest.at_s >= self._dense_until_s)

        began_s, count = self._clock.monotonic(), stretch.readings
        await self._poller.collect(
            self._request.switch, self._began_s, interval_s, enough, lambda taken: self._status(stretch, taken[-1])
        )
        stretch.slowed = (self._poller.slowed if dense else None) or stretch.slowed
        for before, now in changed:
            await self._tell_change(before, now)
        await self._pause(began_s + (stretch.readings - count) * interval_s)

    async def _pause(self, until_s: float) -> None:
        """Wait, in pieces: a stop waits for nobody."""
        while (left_s := until_s - self._clock.monotonic()) > LEAST_WAIT_S and not self._desk.stop_asked:
            await self._clock.sleep(min(left_s, BEAT_S))

    @property
    def _beat_s(self) -> float:
        return PRINT_BEAT_S if self._request.beside_print or self._around is Around.PRINTING else BEAT_S

    async def _tell_change(self, before: TimedReading | None, now: TimedReading) -> None:
        self._dense_until_s = now.at_s + DENSE_S
        told_so_far = sum(len(each.changes) for each in self._done)
        if told_so_far >= MOST_TOLD:
            return
        await self._desk.end_watch(self._panel(), self._so_far())
        await self._desk.tell(Tell((told(before, now),), heading="The reading changed", weight=Weight.CAUTION))
        await self._desk.begin_watch(self._panel())

    async def _look_at_card(self, stretch: Stretch) -> None:
        """Ask for the card, and beside a print let a second pass before the next question."""
        asked_s, slow = self._clock.monotonic(), self._beat_s == PRINT_BEAT_S
        done = await self._attention.session.once(CARD, CARD_TIMEOUT_S)
        card = card_of(done.lines) if done.end is End.ACKNOWLEDGED else None
        if card is None:
            self._asks_card = False
        else:
            await self._card_does(card.state, stretch)
        if slow or self._beat_s == PRINT_BEAT_S:
            await self._pause(asked_s + PRINT_BEAT_S)

    async def _card_does(self, state: CardState, stretch: Stretch) -> None:
        """What was read since the card was last asked counts at rest only if no print has begun."""
        prints = state is CardState.AT_WORK
        if prints and self._around is Around.AT_REST:
            stretch.set_aside = PRINT_BEGAN
        if not prints and self._around is Around.PRINTING:
            await self._desk.tell(Tell((PRINT_ENDED,)))
        self._around = Around.PRINTING if prints else Around.AT_REST

    async def _write(self, stretch: Stretch, *, card_known: bool = True) -> None:
        if not card_known and self._asks_card and stretch.around is Around.AT_REST:
            stretch.set_aside = "it was broken off before the card was asked again"
        entry = stretch.entry(self._now_s)
        self._done.append(entry)
        self._watched_s += entry.exposure_s
        await self._scribe.flush_counted()
        await self._scribe.write(entry)

    def _status(self, stretch: Stretch, newest: TimedReading) -> Status:
        if self._told is not None and newest.at_s - self._told[0] < STATUS_EVERY_S:
            status = self._told[1]
            if (status.reading, status.wire_word) == (newest.reading, newest.wire_word):
                return status
        status = self._status_now(stretch, newest)
        self._told = (newest.at_s, status)
        return status

    def _status_now(self, stretch: Stretch, newest: TimedReading) -> Status:
        watched_s = self._watched_s + stretch.exposure_s
        changes = sum(len(each.changes) for each in self._done) + len(stretch.changes)
        at_rest_s = sum(each.exposure_s for each in self._done if each.around is self._around)
        here = sum(len(each.changes) for each in self._done if each.around is self._around)
        per_hour = bound_per_hour(at_rest_s, here)
        bound = "" if per_hour is None else f", at most {rate(per_hour)} an hour {self._around.value}"
        left_s = max(0.0, self._request.seconds - watched_s)
        now = SoakNow(round(watched_s, 1), round(left_s, 1), changes, per_hour, self._around.value)
        progress = f"watched {length(watched_s)}, {changes} changed{bound}"
        return Status(newest.reading, newest.wire_word, left_s, progress, soak=now)
