"""Makes the printer safe on every way out, by what it is doing, and says truthfully what was delivered.

    nothing was switched on     nothing is sent, and that is said
    the link is lost            nothing can be sent; what may still be hot or moving is said
    the board restarted         a restart switches heaters and motors off; read back where it answers
    it answers                  heaters off, job stopped, limits and report intervals put back, all of it read back
    it is blocked               only emergency words are taken: by release the emergency stop; without one it is looked
                                at once more, and then only the power switch is left

The word that lets a waiting printer go on is never sent from here: it would heat and move. Every wait has its own
limit, also with a printer that says for ever that it is busy, and so has the whole.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from commission.asking.message import Weight
from commission.asking.request import Confirm
from commission.clock import Clock, Deadline
from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import NOTHING_TO_DO, Attempt, Delivered, Doing, MadeSafe
from commission.desk.base import Desk, DeskError, OperatorStop
from commission.dialect.changes import SwitchedOn
from commission.dialect.commands import (
    COLD_EXTRUSION,
    EMERGENCY_STOP,
    HEATERS_OFF,
    TEMPERATURES,
    WAIT_FOR_MOVES,
    Command,
    Effect,
)
from commission.dialect.conversation import Interruption, OutOfTurn
from commission.dialect.jobs import CARD, CardState, card_of
from commission.dialect.replies import Reply, ReplyKind
from commission.dialect.reports import cold_extrusion_of, temperatures_of
from commission.link.base import LinkError
from commission.session import ConversationBroken, End, Exchange, Session

PROBE_S = 3.0
BUSY_PROBE_S = 20.0
"""How long a busy printer is waited for: homing and a short heat-up end by themselves."""
ANSWER_S = 5.0
AT_WORK_S = 20.0
"""How long the answer to one command is waited for while the printer says that it is busy."""
MOVES_S = 30.0
"""Only a few short moves are queued at a time; a head that still moves after this is said to."""
LAST_WORDS_S = 3.0
NOBODY_S = 60.0
"""How long the emergency stop waits for its release; then nobody is there, and that it was not sent is said."""
LONGEST_S = 300.0
"""The whole never takes longer, whatever the printer and the line do."""

MOVING = frozenset({Effect.MOTION, Effect.HEAT})
STILL_HOT = "What was hot or moving may still be: look at the printer, and use its power switch if in doubt."
COOLS = "What was heated cools slowly: keep clear of the nozzle and the bed until they are cool."
POWER_SWITCH = "Use the printer's power switch now, then wait until it is cool."
NOT_ITS_OWN = "what an earlier run left switched on was not touched: it was not known yet whether this is its printer"


@dataclass
class MakeSafe:
    """Makes one printer safe.

    Attributes:
        takes_emergency_words: whether the build says that it takes them at any time; None when it says nothing.
        left_on: accounts of an earlier run that are set aside, because it is not known yet whose they are.
    """

    connection: Connection
    desk: Desk
    ledger: Ledger
    ear: Ear
    clock: Clock
    takes_emergency_words: Callable[[], bool | None]
    left_on: Callable[[], bool] = lambda: False
    _attempts: list[Attempt] = field(default_factory=list)

    @property
    def has_work(self) -> bool:
        """Whether the printer is to be told anything."""
        return self.ledger.needs_make_safe and self.connection.session is not None

    async def run(self) -> MadeSafe:
        """Do what can be done within the limit; never raises for a printer or a line that fails."""
        self._attempts = []
        if not self.ledger.needs_make_safe:
            return self._nothing_left()
        session = self.connection.session
        if session is None:
            return self._lost("The link to the printer is closed.")
        try:
            async with asyncio.timeout(LONGEST_S):
                return await self._unless_broken(session)
        except LinkError as lost:
            return self._lost(lost.message)
        except TimeoutError:
            return self.broken_off(f"it took longer than {LONGEST_S:.0f} s")

    def broken_off(self, why: str) -> MadeSafe:
        """What stands when it did not come to its end: nothing is taken for done that was not shown to be."""
        self._attempts.append(Attempt("Everything read back", Delivered.NO, why))
        return MadeSafe(Doing.BROKEN_OFF, tuple(self._attempts), complete=False, advice=STILL_HOT)

    def _nothing_left(self) -> MadeSafe:
        if self.left_on():
            attempt = Attempt("Heaters off", Delivered.NO, NOT_ITS_OWN)
            return MadeSafe(Doing.LEFT_ON, (attempt,), complete=False, advice=STILL_HOT)
        return MadeSafe(Doing.NOTHING_LEFT, advice=self._cools) if self.ledger.effects & MOVING else NOTHING_TO_DO

    async def _unless_broken(self, session: Session) -> MadeSafe:
        try:
            return await self._by_what_it_does(session)
        except ConversationBroken as broken:
            if broken.interruption is Interruption.HALTED:
                return self._halted()
        try:
            return await self._by_what_it_does(session, restarted=True)
        except ConversationBroken as again:
            detail = f"it broke off again: {again}"
            self._attempts.append(Attempt("Heaters off", Delivered.NOT_SHOWN, detail))
            return MadeSafe(Doing.RESTARTED, tuple(self._attempts), complete=False, advice=STILL_HOT)

    async def _by_what_it_does(self, session: Session, *, restarted: bool = False) -> MadeSafe:
        await session.wait_for_quiet()
        if await self._answers(session):
            return await self._idle(session, Doing.RESTARTED if restarted else Doing.ANSWERS)
        return await self._blocked(session)

    async def _answers(self, session: Session) -> bool:
        """Whether it answers a question; one that is only busy is given some time, one that waits for a person none."""

        def waits(reply: Reply) -> bool:
            return reply.kind is ReplyKind.PAUSED_FOR_USER or self.ear.waits

        patience_s = PROBE_S if self.ear.waits else BUSY_PROBE_S if self.ear.busy else PROBE_S
        done = await self._once(session, TEMPERATURES, patience_s, BUSY_PROBE_S, waits)
        return done is not None and done.end is End.ACKNOWLEDGED

    async def _idle(self, session: Session, doing: Doing) -> MadeSafe:
        for command in (*HEATERS_OFF, *self.ledger.put_back()):
            done = await self._once(session, command, ANSWER_S)
            self._attempts.append(Attempt(command.purpose.capitalize(), _delivered(done), command.text))
        if Effect.MOTION in self.ledger.effects:
            done = await self._once(session, WAIT_FOR_MOVES, MOVES_S, MOVES_S)
            self._attempts.append(Attempt("Queued moves ended", _delivered(done), WAIT_FOR_MOVES.text))
        await self._read_back(session)
        complete = all(attempt.delivered is Delivered.YES for attempt in self._attempts)
        return MadeSafe(doing, tuple(self._attempts), complete, self._cools if complete else STILL_HOT)

    @property
    def _cools(self) -> str:
        return COOLS if Effect.HEAT in self.ledger.effects else ""

    async def _read_back(self, session: Session) -> None:
        done = await self._once(session, TEMPERATURES, ANSWER_S)
        reports = temperatures_of(_said(done))
        cold = bool(reports) and reports[-1].all_targets_known and not reports[-1].any_target
        what = "Heater targets read back as zero"
        self._attempts.append(Attempt(what, Delivered.of(cold), "" if reports else "no temperatures came"))
        if SwitchedOn.COLD_EXTRUSION in self.ledger.changes and self.ledger.cold is not None:
            now = cold_extrusion_of(_said(await self._once(session, COLD_EXTRUSION, ANSWER_S)))
            self._attempts.append(
                Attempt("Cold extrusion limit read back as found", Delivered.of(now == self.ledger.cold))
            )
        if SwitchedOn.CARD_JOB in self.ledger.changes:
            job = card_of(_said(await self._once(session, CARD, ANSWER_S)))
            stopped = job is not None and job.state is not CardState.AT_WORK
            at_hand = "" if stopped else "stop it at the printer's own display, or with its power switch"
            self._attempts.append(Attempt("Job from the card read back as stopped", Delivered.of(stopped), at_hand))

    async def _blocked(self, session: Session) -> MadeSafe:
        self._attempts.append(
            Attempt("Heaters off", Delivered.NO, "a printer that waits or is busy takes nothing but emergency words")
        )
        if not self.takes_emergency_words():
            said = "this build is not known to take emergency words"
            self._attempts.append(Attempt("Emergency stop", Delivered.NO, said))
            return MadeSafe(Doing.BLOCKED, tuple(self._attempts), complete=False, advice=POWER_SWITCH)
        if await self._released():
            return await self._emergency_stop(session)
        return await self._after_all(session)

    async def _after_all(self, session: Session) -> MadeSafe:
        """It may have become free while the release was waited for: then nothing of the emergency is needed."""
        if await self._answers(session):
            self._attempts.clear()
            return await self._idle(session, Doing.ANSWERS)
        self._attempts.append(Attempt("Emergency stop", Delivered.NO, "it was not released"))
        return MadeSafe(Doing.BLOCKED, tuple(self._attempts), complete=False, advice=POWER_SWITCH)

    async def _once(
        self,
        session: Session,
        command: Command,
        silence_s: float,
        longest_s: float = AT_WORK_S,
        waits: Callable[[Reply], bool] = lambda _reply: False,
    ) -> Exchange | None:
        """One exchange; None when the conversation would not let it begin.

        It is left open once the printer waits for a person, has been silent for so long, or busy for the longest time.
        """
        limit = Deadline.after(self.clock, longest_s)
        try:
            return await session.unless_waiting(command, silence_s, lambda reply: limit.passed or waits(reply))
        except OutOfTurn:
            return None

    async def _emergency_stop(self, session: Session) -> MadeSafe:
        try:
            await session.interject(EMERGENCY_STOP)
            await session.listen(LAST_WORDS_S)
        except ConversationBroken as broken:
            if broken.interruption is Interruption.HALTED:
                self._attempts.append(Attempt("Emergency stop", Delivered.YES, EMERGENCY_STOP.text))
                return self._halted()
            raise
        self._attempts.append(Attempt("Emergency stop", Delivered.NOT_SHOWN, EMERGENCY_STOP.text))
        return MadeSafe(Doing.BLOCKED, tuple(self._attempts), complete=False, advice=POWER_SWITCH)

    async def _released(self) -> bool:
        lines = (
            "The printer waits for a person or is busy, and may be hot. It takes nothing but the emergency stop.",
            "The emergency stop switches heaters and motors off; afterwards the printer is dead until it is reset.",
            "With a no, use the printer's power switch yourself.",
        )
        question = Confirm("make_safe.stop", "Release: emergency stop?", lines, weight=Weight.DANGER)
        try:
            return await asyncio.wait_for(self.desk.confirm(question), NOBODY_S)
        except (OperatorStop, DeskError, TimeoutError):
            return False

    def _halted(self) -> MadeSafe:
        advice = (
            "The printer has halted: that switches heaters and motors off, and cannot be read back before a reset. "
            "Reset it with its power switch or its reset button."
        )
        return MadeSafe(Doing.HALTED, tuple(self._attempts), complete=True, advice=advice)

    def _lost(self, why: str) -> MadeSafe:
        tried = {attempt.what for attempt in self._attempts}
        missing = [what for what in ("Heaters off",) if what not in tried]
        self._attempts += [Attempt(what, Delivered.NO, why.rstrip(".")) for what in missing]
        return MadeSafe(Doing.LINK_LOST, tuple(self._attempts), complete=False, advice=STILL_HOT)


def _delivered(done: Exchange | None) -> Delivered:
    """What may be said of a command: one that was sent and not acknowledged may have been taken all the same."""
    if done is None:
        return Delivered.NO
    return Delivered.YES if done.end is End.ACKNOWLEDGED else Delivered.NOT_SHOWN


def _said(done: Exchange | None) -> Sequence[str]:
    return () if done is None else done.lines
