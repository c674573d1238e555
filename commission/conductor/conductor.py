"""The loop that runs a procedure: each request is written, fulfilled, and its response written.

What interrupts a request is written too and thrown into the procedure, which may still say something before it ends.
"""

import asyncio
import contextlib
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from commission.asking import table
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import (
    Fingerprint,
    Hold,
    Keep,
    PhaseBegins,
    PhaseEnds,
    Release,
    Request,
    Response,
    TakeTrial,
    Watch,
)
from commission.asking.response import Interrupted, Interruption, InterruptionKind, TrialTaken, WatchTaken
from commission.asking.soak import Soak
from commission.asking.steps import Steps
from commission.asking.table import By
from commission.clock import Clock
from commission.conductor import evidence
from commission.conductor.attention import Attention
from commission.conductor.connection import Connection, Returned
from commission.conductor.course import Course
from commission.conductor.ear import Ear
from commission.conductor.ended import OUTCOMES, Ended
from commission.conductor.guard import guarded
from commission.conductor.holding import Holding
from commission.conductor.keeping import fingerprint, keep_file
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import NOTHING_TO_DO
from commission.conductor.moving import Moving
from commission.conductor.previous_run import LEFT_ON, nothing_to_ask
from commission.conductor.scribe import Scribe
from commission.conductor.sending import Sending, Unreleased, changes_something
from commission.conductor.soaking import Soaking
from commission.conductor.timed_readings import TimedReadings
from commission.conductor.to_the_end import to_its_end
from commission.conductor.way_out import WayOut
from commission.desk.base import Desk
from commission.dialect.commands import Effect
from commission.dialect.family import printer_of
from commission.dialect.identity import Identity
from commission.evidence.measured import WatchBrokenOff
from commission.evidence.runs import Opened, Opening, PhaseAbandoned
from commission.session import Exchange
from commission.vocabulary import Outcome, PunchClass

__all__ = ["Conductor", "Ended", "Unreleased"]

_T = TypeVar("_T")


class Conductor:
    """Runs procedures on one printer, with one operator, into one book."""

    def __init__(
        self,
        connection: Connection,
        desk: Desk,
        scribe: Scribe,
        clock: Clock,
        folder: Path,
        ledger: Ledger | None = None,
        confirm_printer: Callable[[Identity | None], Steps[None]] = nothing_to_ask,
    ) -> None:
        self._connection = connection
        self._desk = desk
        self._scribe = scribe
        self._clock = clock
        self._folder = folder
        self._phase = ""
        self._course = Course(clock)
        desk.follow(self._course.now)
        self._broken_off: WatchBrokenOff | None = None
        self._unsafe_items = 0
        self.ledger = Ledger() if ledger is None else ledger
        self._confirm_printer = confirm_printer
        ear = Ear(clock)
        connection.listeners.append(ear.hear)
        connection.waits = lambda _reply: ear.waits
        self._attention = Attention(
            connection,
            desk,
            clock,
            lambda: self.ledger.may_be_hot,
            lambda: printer_of(self._holding.identity),
        )
        moving = Moving(self._attention, desk, clock, scribe, ear)
        self._sending = Sending(self._attention, moving, self.ledger, ear)
        self._holding = Holding(connection, desk, self._attention, self._came_back)
        self._left_on = Ledger()
        self._way_out = WayOut(
            connection,
            desk,
            scribe,
            clock,
            self.ledger,
            ear,
            self._takes_emergency_words,
            lambda: self._left_on.needs_make_safe,
        )

        self._fulfillers: Mapping[By, Callable[[Any], Awaitable[Response]]] = {
            By.SAYING: self._say,
            By.QUESTION: self._attention.question,
            By.HANDS: self._by_hand,
            By.RELEASE: self._release,
            By.LINE: self._line,
            By.BOOK: self._scribe.read_back,
            By.FILES: self._file,
            By.BEFOREHAND: self._attention.known,
        }

    @property
    def effects_sent(self) -> set[Effect]:
        """Every effect that went out, beyond reading."""
        return self.ledger.effects

    def _takes_emergency_words(self) -> bool | None:
        identity = self._holding.identity
        return None if identity is None else identity.takes_emergency_words

    async def run(self, steps: Steps[_T]) -> Ended[_T]:
        """Open the port, run the procedure to its end or to what interrupts it, make safe, and let go of the port.

        Raises:
            BookError: the book cannot be written; the run is broken off.
            DeskError: nobody can answer.
        """
        made_safe = NOTHING_TO_DO
        try:
            ended = await self._run(steps)
        finally:
            try:
                made_safe = await self._way_out.take()
            finally:
                await to_its_end(self._let_go())
        unsafe = ended.unsafe_items + (made_safe.item is not None)
        return replace(ended, made_safe=made_safe, unsafe_items=unsafe)

    async def _let_go(self) -> None:
        await self._connection.close()
        await self._scribe.flush()

    async def _run(self, steps: Steps[_T]) -> Ended[_T]:
        try:
            with contextlib.closing(steps):
                result = await self._through(steps)
            return Ended(Outcome.COMPLETE, result, unsafe_items=self._unsafe_items)
        except Interrupted as broken:
            await self._abandon(broken.interruption)
            outcome = OUTCOMES.get(broken.interruption.kind, Outcome.INTERRUPTED)
            return Ended(outcome, interruption=broken.interruption, unsafe_items=self._unsafe_items)

    async def _through(self, steps: Steps[_T]) -> _T:
        await self._connect()
        return await self._drive(steps)

    async def _drive(self, steps: Steps[_T]) -> _T:
        response: object = None
        interruption: Interruption | None = None
        while True:
            try:
                request = steps.send(response) if interruption is None else steps.throw(Interrupted(interruption))
            except StopIteration as end:
                result: _T = end.value
                return result
            response, interruption = None, None
            try:
                response = await self._fulfil(request)
            except Interrupted as broken:
                interruption = broken.interruption
                await self._scribe.flush()
                if self._broken_off is not None:
                    await self._scribe.write(self._broken_off)
                    self._broken_off = None
                await self._scribe.write(evidence.instead(interruption, request))

    async def _connect(self) -> None:
        await self._scribe.write(Opening(port=self._connection.address))
        silence = self._connection.silence
        silence.told = self._attention.tell_silent
        returned = await guarded(self._desk, self._connection.open(silence), InterruptionKind.NOT_CONNECTED)
        self._left_on = self.ledger.set_aside()
        self._holding.remember(returned)
        await self._came_back(returned)
        if returned.other_speed:
            await self._desk.tell(Tell((returned.other_speed,)))
        if self._left_on.needs_make_safe:
            await self._drive(self._confirm_printer(self._holding.identity))
            self.ledger.take_over(self._left_on)
            self._left_on = Ledger()
            await self._desk.tell(LEFT_ON)
            if (await self._way_out.take()).complete:
                self.ledger.effects.clear()  # they were another run's

    async def _came_back(self, returned: Returned) -> None:
        session = self._connection.session
        await self._scribe.flush()
        await self._scribe.write(
            Opened(
                port=self._connection.address,
                speed_baud=0 if session is None else session.speed_baud,
                restarted=returned.restarted,
                heard=tuple(reply.text for reply in returned.heard),
            )
        )

    async def _fulfil(self, request: Request) -> Response:
        if self._desk.stop_asked and changes_something(request):
            await guarded(self._desk, self._desk.take_marks())  # before the book says that it is sent
        await self._scribe.write(table.before(request))
        response = await guarded(self._desk, self._dispatch(request))
        await self._scribe.flush()
        answer = table.after(request, response)
        if answer is not None:
            await self._scribe.write(answer)
        await guarded(self._desk, self._show_done(request, response))
        return response

    async def _show_done(self, request: Request, response: Response) -> None:
        """What is shown as done stands in the book already."""
        match request, response:
            case TakeTrial(), TrialTaken():
                await self._desk.end_trial(request, response)
            case Watch(), WatchTaken():
                await self._desk.end_watch(request, response)

    async def _dispatch(self, request: Request) -> Response:
        return await self._fulfillers[table.TABLE[type(request)].by](request)

    async def _line(self, request: Any) -> Response:
        response = await self._sending.fulfil(request)
        if isinstance(response, Exchange):
            self._holding.learn(response)
        return response

    async def _by_hand(self, request: TakeTrial | Watch | Soak | Hold) -> Response:
        if isinstance(request, Soak):
            return await Soaking(request, self._attention, self._desk, self._clock, self._scribe).soak()
        if isinstance(request, Hold):
            released = await self._holding.hold(request)
            if request.power and (released.restarted or not released.same_identity):
                # nothing survives a restart, and nothing of it was switched on at another printer
                self.ledger.close_accounts()
            return released
        timed = TimedReadings(self._attention.poller(), self._desk, self._clock, self._scribe)
        if isinstance(request, TakeTrial):
            return await timed.trial(request)
        try:
            return await timed.watch(request)
        except BaseException:  # whatever ended it: what was read of it stays
            if timed.read:
                self._broken_off = evidence.watch_broken_off(request, timed.read)
            raise

    async def _release(self, request: Release) -> bool:
        granted = await self._attention.release(request)
        self._sending.released[request.key] = request.effects if granted else frozenset()
        return granted

    async def _file(self, request: Keep | Fingerprint) -> Response:
        if isinstance(request, Fingerprint):
            return await asyncio.to_thread(fingerprint, request.path)
        kept = await asyncio.to_thread(keep_file, request, self._folder)
        await self._scribe.write(evidence.file_kept(request, kept))
        return str(kept.path)

    async def _say(self, request: Tell | Establish | Punch | PhaseBegins | PhaseEnds) -> None:
        match request:
            case Tell():
                await self._desk.tell(request)
            case Establish():
                await self._desk.establish(request)
            case Punch():
                self._unsafe_items += request.grade is PunchClass.UNSAFE
                await self._desk.punch(request)
            case PhaseBegins():
                self._phase = request.name
                await self._desk.tell(self._course.begins(request))
            case PhaseEnds():
                self._phase = ""

    async def _abandon(self, interruption: Interruption) -> None:
        if self._phase:
            await self._scribe.write(PhaseAbandoned(name=self._phase, why=interruption.kind.value))
