"""The loop that runs a procedure: each request is written, fulfilled, and its response written.

What interrupts a request is written too and thrown into the procedure, which may still say something before it ends.
"""

import asyncio
import contextlib
from collections.abc import Coroutine
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from commission.clock import Clock
from commission.conductor import evidence
from commission.conductor.connection import Connection, Returned
from commission.conductor.hands_free import HandsFree
from commission.conductor.polling import LIVE_INTERVAL_S, NoAnswer, Poller
from commission.conductor.scribe import Scribe
from commission.desk.base import Desk, OperatorStop, Status
from commission.dialect.commands import Effect
from commission.dialect.conversation import Interruption as Broken
from commission.link.base import LinkError
from commission.procedure.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Establish,
    Hold,
    HoldReleased,
    Interrupted,
    Interruption,
    InterruptionKind,
    PhaseBegins,
    PhaseEnds,
    Punch,
    Release,
    Request,
    Response,
    TakeTrial,
    Tell,
    Watch,
    Weight,
)
from commission.procedure.steps import Steps
from commission.session import ConversationBroken, End, Exchange
from commission.vocabulary import Outcome, PunchClass

_T = TypeVar("_T")
LISTEN_S = 0.05
"""While a question is open the line is heard in slices of this length, so that a restart is noticed at once."""

STOP_GRACE_S = 0.5

OUTCOMES = {
    InterruptionKind.OPERATOR_STOP: Outcome.STOPPED,
    InterruptionKind.LINK_LOST: Outcome.LINK_LOST,
}
KINDS = {
    Broken.BOARD_RESTARTED: InterruptionKind.BOARD_RESTARTED,
    Broken.HALTED: InterruptionKind.HALTED,
}


class Unreleased(Exception):
    """A procedure asked for something that would move, heat, save or erase, and nobody had released it."""


@dataclass(frozen=True)
class Ended(Generic[_T]):
    """What became of a run.

    Attributes:
        result: of the procedure, when it came to its own end.
        interruption: what ended it otherwise.
        unsafe_items: open items of class A.
    """

    outcome: Outcome
    result: _T | None = None
    interruption: Interruption | None = None
    unsafe_items: int = 0


class Conductor:
    """Runs procedures on one printer, with one operator, into one book."""

    def __init__(self, connection: Connection, desk: Desk, scribe: Scribe, clock: Clock) -> None:
        self._connection = connection
        self._desk = desk
        self._scribe = scribe
        self._clock = clock
        self._phase = ""
        self._unsafe_items = 0
        self._released: dict[str, frozenset[Effect]] = {}
        self.effects_sent: set[Effect] = set()
        self._identity: tuple[str, ...] = ()

    async def run(self, steps: Steps[_T]) -> Ended[_T]:
        """Open the port, run the procedure to its end or to what interrupts it, and let go of the port.

        Raises:
            BookError: the book cannot be written; the run is broken off.
            DeskError: nobody can answer.
        """
        try:
            with contextlib.closing(steps):
                result = await self._through(steps)
            return Ended(Outcome.COMPLETE, result, unsafe_items=self._unsafe_items)
        except Interrupted as broken:
            await self._abandon(broken.interruption)
            outcome = OUTCOMES.get(broken.interruption.kind, Outcome.INTERRUPTED)
            return Ended(outcome, interruption=broken.interruption, unsafe_items=self._unsafe_items)
        finally:
            await self._connection.close()
            await self._scribe.flush()

    async def _through(self, steps: Steps[_T]) -> _T:
        await self._connect()
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
                await self._scribe.write("interruption", evidence.interruption_facts(interruption, request))

    async def _connect(self) -> None:
        await self._scribe.write("opening", {"port": self._connection.address})
        returned = await self._guarded(self._connection.open())
        self._identity = returned.exchange.lines
        await self._came_back(returned)

    async def _came_back(self, returned: Returned) -> None:
        session = self._connection.session
        await self._scribe.flush()
        await self._scribe.write(
            "opened",
            {
                "port": self._connection.address,
                "speed_baud": 0 if session is None else session.speed_baud,
                "restarted": returned.restarted,
                "heard": [reply.text for reply in returned.heard],
            },
        )

    async def _fulfil(self, request: Request) -> Response:
        await self._scribe.write(*evidence.request_entry(request))
        response = await self._guarded(self._dispatch(request))
        await self._scribe.flush()
        answer = evidence.response_entry(request, response)
        if answer is not None:
            await self._scribe.write(*answer)
        return response

    async def _guarded(self, work: Coroutine[Any, Any, _T]) -> _T:
        """Do it; whatever interrupts it becomes an interruption, in one place."""
        try:
            return await self._unless_stopped(work)
        except OperatorStop as stop:
            raise _interrupted(InterruptionKind.OPERATOR_STOP, str(stop)) from stop
        except LinkError as lost:
            raise _interrupted(InterruptionKind.LINK_LOST, str(lost)) from lost
        except ConversationBroken as broken:
            raise _interrupted(KINDS[broken.interruption], str(broken)) from broken
        except NoAnswer as silent:
            raise _interrupted(InterruptionKind.NO_ANSWER, str(silent)) from silent

    async def _unless_stopped(self, work: Coroutine[Any, Any, _T]) -> _T:
        """Do it until the operator wants to stop; a question notices that itself and is given the time to."""
        doing, stop = asyncio.ensure_future(work), asyncio.ensure_future(self._desk.wait_for_stop())
        try:
            await asyncio.wait({doing, stop}, return_when=asyncio.FIRST_COMPLETED)
            if not doing.done():
                await asyncio.wait({doing}, timeout=STOP_GRACE_S)
            if not doing.done():
                await self._desk.take_marks()
                raise OperatorStop("stopped by the operator")
            return doing.result()
        finally:
            for task in (doing, stop):
                task.cancel()
            await asyncio.wait({doing, stop})

    async def _dispatch(self, request: Request) -> Response:
        match request:
            case Confirm() | Choose() | Enter():
                return await self._question(request)
            case Release():
                return await self._release(request)
            case TakeTrial() | Watch():
                hands_free = HandsFree(self._poller(), self._desk, self._clock, self._scribe)
                return await (
                    hands_free.trial(request) if isinstance(request, TakeTrial) else hands_free.watch(request)
                )
            case Ask():
                return await self._exchange(request)
            case Hold():
                return await self._hold(request)
        await self._say(request)
        return None

    async def _question(self, request: Confirm | Choose | Enter) -> bool | str:
        match request:
            case Confirm():
                return await self._asking(self._desk.confirm(request), watch=request.watch)
            case Choose():
                return await self._asking(self._desk.choose(request), watch=request.watch)
            case Enter():
                return await self._asking(self._desk.enter(request), watch="")

    async def _release(self, request: Release) -> bool:
        """A yes opens the way for these effects under this key, a no closes it."""
        question = Confirm(request.key, f"Release: {request.title}?", request.lines, weight=Weight.DANGER)
        granted = await self._asking(self._desk.confirm(question), watch="")
        self._released[request.key] = request.effects if granted else frozenset()
        return granted

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
                await self._desk.tell(Tell((), heading=request.title, weight=Weight.STEP))
            case PhaseEnds():
                self._phase = ""

    def _poller(self) -> Poller:
        if self._connection.session is None:
            raise _interrupted(InterruptionKind.LINK_LOST, "The link is closed.")
        return Poller(self._connection.session, self._desk, self._clock)

    async def _exchange(self, request: Ask) -> Exchange:
        if request.command.effect is not Effect.READ_ONLY:
            raise Unreleased(
                f"{request.command.text} ({request.command.effect.value}) was not released by the operator"
            )
        if self._connection.session is None:
            raise _interrupted(InterruptionKind.LINK_LOST, "The link is closed.")
        exchange = await self._connection.session.exchange(request.command, request.timeout_s)
        if exchange.end is End.SILENT:
            raise NoAnswer(f"The printer did not answer the question: {request.command.purpose}.")
        if exchange.end is End.ENDLESS:
            raise NoAnswer(f"The reply to the question had no end: {request.command.purpose}.")
        return exchange

    async def _asking(self, question: Coroutine[Any, Any, _T], *, watch: str) -> _T:
        """Have a person answer while the line is heard, or the switch is read, at the same time."""
        answer = asyncio.ensure_future(question)
        try:
            while not answer.done():
                await self._attend(answer, watch=watch)
            return answer.result()
        finally:
            if not answer.done():
                answer.cancel()
                with contextlib.suppress(asyncio.CancelledError):
                    await answer

    async def _attend(self, answer: "asyncio.Future[Any]", *, watch: str) -> None:
        session = self._connection.session
        if session is None:
            await asyncio.wait({answer})
        elif watch:
            reading = await self._poller().once(watch, self._clock.monotonic())
            self._desk.show(Status(reading=reading.reading, wire_word=reading.wire_word))
            await asyncio.wait({answer}, timeout=LIVE_INTERVAL_S)
        else:
            await session.listen(LISTEN_S)

    async def _hold(self, request: Hold) -> HoldReleased:
        if not request.power:
            await self._asking(self._desk.hold(request), watch="")
            return HoldReleased(port=self._connection.address)
        await self._connection.close()
        await self._desk.hold(request)
        returned = await self._look_for_printer()
        await self._came_back(returned)
        return HoldReleased(
            restarted=returned.restarted,
            port=self._connection.address,
            heard=tuple(reply.text for reply in returned.heard),
            same_identity=returned.exchange.lines == self._identity,
        )

    async def _look_for_printer(self) -> Returned:
        while True:
            self._desk.show(Status(note="looking for the printer"))
            try:
                return await self._connection.reopen()
            except LinkError as missing:
                again = Confirm(
                    "hold.look_again",
                    "Look for the printer again?",
                    lines=(str(missing), "Check that it has power and that the USB cable is in."),
                )
                if not await self._desk.confirm(again):
                    raise

    async def _abandon(self, interruption: Interruption) -> None:
        if self._phase:
            await self._scribe.write("phase_abandoned", {"name": self._phase, "why": interruption.kind.value})


def _interrupted(kind: InterruptionKind, detail: str) -> Interrupted:
    return Interrupted(Interruption(kind, detail))
