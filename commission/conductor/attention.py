"""Has a person answer while the printer is heard: a board that restarts does not wait for an answer."""

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any, TypeVar

from commission.asking.form import Answer, Answers, Form, Known
from commission.asking.message import Tell, Weight
from commission.asking.request import Ask, Choose, Confirm, Enter, Release
from commission.clock import Clock, Deadline
from commission.conductor.connection import Connection
from commission.conductor.polling import LIVE_INTERVAL_S, DoesNotServe, NoAnswer, NoEnd, Poller
from commission.conductor.to_the_end import end
from commission.conductor.watchdog import Watchdog
from commission.desk.base import Desk, Status
from commission.dialect.commands import Effect
from commission.dialect.family import Identified
from commission.dialect.habits import HABITS
from commission.dialect.sources.source import CannotBeAsked, Source
from commission.dialect.sources.ways import SILENT_WORK_PATIENCE_S
from commission.dialect.states import state_question
from commission.link.base import LinkLost
from commission.session import End, Exchange, Session

_T = TypeVar("_T")
LISTEN_S = 0.05
"""While a question is open the line is heard in slices of this length, so that a restart is noticed at once."""
TELL_AFTER_S = 5.0
"""A printer that says for so long that it is busy is told of: who waits knows why, and can stop."""

SILENT = (
    "Nothing has come from this port at any speed yet.",
    "A host computer that heats, homes or runs a macro says nothing before it is through. It is waited for; Ctrl-C "
    "ends that. Where the printer stands still, or is off, nothing will come: end it and look at the port.",
)
NOT_READY_S, ASK_READY_S = 60.0, 2.0
"""A host computer that begins is waited for so long, and asked so often."""


class Attention:
    """One operator and one printer, both attended to at the same time.

    Args:
        hot: whether the printer may be hot.
        printer: the printer that answers, as far as its identity proves its family.
    """

    def __init__(
        self,
        connection: Connection,
        desk: Desk,
        clock: Clock,
        hot: Callable[[], bool] = lambda: False,
        printer: Callable[[], Identified | None] = lambda: None,
    ) -> None:
        self._connection = connection
        self._desk = desk
        self._clock = clock
        self._hot = hot
        self._printer = printer
        self._told_silent = False

    @property
    def session(self) -> Session:
        """The open conversation.

        Raises:
            LinkLost: there is none.
        """
        if self._connection.session is None:
            raise LinkLost("The link to the printer is closed.", "Start again.")
        return self._connection.session

    @property
    def printer(self) -> Identified | None:
        """The printer that answers, where its identity proves its family."""
        return self._printer()

    def poller(self) -> Poller:
        """What reads the switch."""
        return Poller(self.session, self._desk, self._clock, self.source_of)

    def source_of(self, name: str) -> Source:
        """How the sensor that goes by this name is read on the printer that answers.

        Raises:
            NoAnswer: this printer cannot be asked for it.
        """
        try:
            return Source.called(name, self._printer())
        except CannotBeAsked as other:
            raise NoAnswer(f"{other} It was to be read as '{name}'. Run this again from the start.") from other

    async def question(self, request: Confirm | Choose | Enter | Form) -> bool | str | Answers:
        """Have it answered."""
        match request:
            case Confirm():
                return await self.while_heard(self._desk.confirm(request), watch=request.watch)
            case Choose():
                return await self.while_heard(self._desk.choose(request), watch=request.watch)
            case Enter():
                return await self.while_heard(self._desk.enter(request))
            case Form():
                return await self.while_heard(self._desk.form(request), watch=request.watch)

    async def known(self, request: Known) -> Answer:
        """Its answer; what goes with the question is said where that is wanted."""
        if request.tells and request.question.lines:
            await self._desk.tell(Tell(request.question.lines))
        return request.answer

    async def release(self, request: Release) -> bool:
        """Have the operator decide."""
        question = Confirm(request.key, request.asked, request.lines, weight=request.weight)
        return await self.while_heard(self._desk.confirm(question))

    async def exchange(self, request: Ask) -> Exchange:
        """Send it and bring back the answer.

        Raises:
            NoAnswer: nothing came back, or no end of it.
        """
        session = self.session
        session.on_busy = self._tell_busy
        exchange = await session.exchange(request.command, self._patience_s(request.timeout_s))
        if exchange.end is End.SILENT:
            raise NoAnswer(f"The printer did not answer. What was to be done: {request.command.purpose}.")
        if exchange.end is End.LEFT:
            raise NoAnswer("The printer waits for a person and answers no question.")
        if exchange.end is End.ENDLESS:
            raise NoEnd.of(exchange)
        if request.command.effect is not Effect.READ_ONLY:
            return exchange
        return await self._once_it_serves(request, exchange)

    async def until_it_serves(self) -> None:
        """Wait for a printer that has just come back to serve, where it can be asked whether it does.

        Raises:
            NoAnswer: it does not answer, or does not serve.
        """
        question = None if self.printer is None else state_question(self.printer)
        if question is not None:
            await self.exchange(Ask(question))

    async def _once_it_serves(self, request: Ask, exchange: Exchange) -> Exchange:
        """The answer of a printer that serves; one that is not ready yet is asked again for a while.

        Raises:
            DoesNotServe: it says that it does not, and is not beginning, or not for too long.
        """
        limit = Deadline.after(self._clock, NOT_READY_S)
        while (stopped := DoesNotServe.said_in(exchange, self.printer)) is not None:
            if not stopped.may_begin or limit.passed:
                raise stopped
            note = f"The printer says that it is {stopped.state.value}: it is asked again"
            self._desk.show(Status(note=note, seconds_left=limit.remaining_s))
            await self.session.listen(ASK_READY_S)
            exchange = await self.session.exchange(request.command, self._patience_s(request.timeout_s))
        return exchange

    def _patience_s(self, usual_s: float) -> float:
        """How long an answer is waited for: longer where a question waits in silence behind whatever runs."""
        printer = self._printer()
        silent_work = printer is not None and HABITS[printer.family].keepalives is False
        return max(usual_s, SILENT_WORK_PATIENCE_S) if silent_work else usual_s

    def _tell_busy(self, waited_s: float) -> None:
        if waited_s >= TELL_AFTER_S:
            self._desk.show(Status(note=f"The printer says that it is busy, for {waited_s:.0f} s now"))

    async def tell_silent(self, left_s: float) -> None:
        """Tell that nothing came from the console, once, and then how long it is still waited for."""
        if not self._told_silent:
            await self._desk.tell(Tell(SILENT, weight=Weight.NOTE))
            self._told_silent = True
        self._desk.show(Status(note="nothing came yet", seconds_left=left_s))

    async def while_heard(self, question: Coroutine[Any, Any, _T], *, watch: str = "") -> _T:
        """Wait for the answer; meanwhile the line is heard, or this switch is read and shown."""
        answer = asyncio.ensure_future(question)
        watchdog = Watchdog(self._clock, self._desk, self._hot)
        try:
            while not answer.done():
                watchdog.look()
                await self._attend(answer, watch)
            return answer.result()
        finally:
            await end(answer)

    async def _attend(self, answer: "asyncio.Future[Any]", watch: str) -> None:
        if watch:
            reading = await self.poller().once(watch, self._clock.monotonic())
            self._desk.show(Status(reading=reading.reading, wire_word=reading.wire_word))
            await asyncio.wait({answer}, timeout=LIVE_INTERVAL_S)
        else:
            await self.session.listen(LISTEN_S)
