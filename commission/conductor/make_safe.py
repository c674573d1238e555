"""Makes the printer safe on every way out, by what it is doing, and says truthfully what was delivered.

    nothing was switched on     nothing is sent, and that is said
    the link is lost            nothing can be sent; what may still be hot or moving is said
    the board restarted         a restart switches heaters and motors off; read back where it answers
    it answers                  heaters off, job stopped, limits and report intervals put back, all of it read back
    it is blocked               only emergency words are taken: by release the emergency stop, else the power switch

The word that lets a waiting printer go on is never sent from here: it would heat and move.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from commission.conductor.connection import Connection
from commission.conductor.ear import Ear
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import NOTHING_TO_DO, Attempt, Delivered, Doing, MadeSafe
from commission.desk.base import Desk, DeskError, OperatorStop
from commission.dialect.changes import Change
from commission.dialect.commands import COLD_EXTRUSION, EMERGENCY_STOP, HEATERS_OFF, TEMPERATURES, Command, Effect
from commission.dialect.conversation import Interruption, OutOfTurn
from commission.dialect.jobs import CARD, CardState, card_of
from commission.dialect.replies import Reply, ReplyKind
from commission.dialect.reports import cold_extrusion_of, temperatures_of
from commission.link.base import LinkError
from commission.procedure.message import Weight
from commission.procedure.request import Confirm
from commission.session import ConversationBroken, End, Exchange, Session

PROBE_S = 3.0
BUSY_PROBE_S = 20.0
"""How long a busy printer is waited for: homing and a short heat-up end by themselves."""
ANSWER_S = 5.0
LAST_WORDS_S = 3.0
NOBODY_S = 120.0
"""How long the emergency stop waits for its release; then nobody is there, and that it was not sent is said."""

MOVING = frozenset({Effect.MOTION, Effect.HEAT})
STILL_HOT = "What was hot or moving may still be: look at the printer, and use its power switch if in doubt."
COOLS = "What was heated cools slowly: keep clear of the nozzle and the bed until they are cool."
POWER_SWITCH = "Use the printer's power switch now, then wait until it is cool."


@dataclass
class MakeSafe:
    """Makes one printer safe.

    Attributes:
        takes_emergency_words: whether the build says that it takes them at any time; None when it says nothing.
    """

    connection: Connection
    desk: Desk
    ledger: Ledger
    ear: Ear
    takes_emergency_words: Callable[[], bool | None]
    _attempts: list[Attempt] = field(default_factory=list)

    async def run(self) -> MadeSafe:
        """Do what can be done; never raises for a printer or a line that fails."""
        self._attempts = []
        if not self.ledger.needs_make_safe:
            return MadeSafe(Doing.NOTHING_LEFT, advice=self._cools) if self.ledger.effects & MOVING else NOTHING_TO_DO
        session = self.connection.session
        if session is None:
            return self._lost("The link to the printer is closed.")
        try:
            return await self._unless_broken(session)
        except LinkError as lost:
            return self._lost(lost.message)

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
        await session.settle()
        if await self._answers(session):
            return await self._idle(session, Doing.RESTARTED if restarted else Doing.ANSWERS)
        return await self._blocked(session)

    async def _answers(self, session: Session) -> bool:
        """Whether it answers a question; one that is only busy is given some time, one that waits for a person none."""

        def waits(reply: Reply) -> bool:
            return reply.kind is ReplyKind.PAUSED_FOR_USER or self.ear.waits

        patience_s = PROBE_S if self.ear.waits else BUSY_PROBE_S if self.ear.busy else PROBE_S
        done = await _once(session, TEMPERATURES, patience_s, waits)
        return done is not None and done.end is End.ACKNOWLEDGED

    async def _idle(self, session: Session, doing: Doing) -> MadeSafe:
        for command in (*HEATERS_OFF, *self.ledger.put_back()):
            done = await _once(session, command, ANSWER_S)
            self._attempts.append(Attempt(command.purpose.capitalize(), _delivered(done), command.text))
        await self._read_back(session)
        complete = all(attempt.delivered is Delivered.YES for attempt in self._attempts)
        return MadeSafe(doing, tuple(self._attempts), complete, self._cools if complete else STILL_HOT)

    @property
    def _cools(self) -> str:
        return COOLS if Effect.HEAT in self.ledger.effects else ""

    async def _read_back(self, session: Session) -> None:
        done = await _once(session, TEMPERATURES, ANSWER_S)
        reports = temperatures_of(_said(done))
        cold = bool(reports) and reports[-1].all_targets_known and not reports[-1].any_target
        what = "Heater targets read back as zero"
        self._attempts.append(Attempt(what, Delivered.of(cold), "" if reports else "no temperatures came"))
        if Change.COLD_EXTRUSION in self.ledger.changes and self.ledger.cold is not None:
            now = cold_extrusion_of(_said(await _once(session, COLD_EXTRUSION, ANSWER_S)))
            self._attempts.append(
                Attempt("Cold extrusion limit read back as found", Delivered.of(now == self.ledger.cold))
            )
        if Change.CARD_JOB in self.ledger.changes:
            job = card_of(_said(await _once(session, CARD, ANSWER_S)))
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
        if not await self._released():
            self._attempts.append(Attempt("Emergency stop", Delivered.NO, "it was not released"))
            return MadeSafe(Doing.BLOCKED, tuple(self._attempts), complete=False, advice=POWER_SWITCH)
        return await self._emergency_stop(session)

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


async def _once(
    session: Session, command: Command, timeout_s: float, waits: Callable[[Reply], bool] = lambda _reply: False
) -> Exchange | None:
    """One exchange; None when the conversation would not let it begin."""
    try:
        return await session.unless_waiting(command, timeout_s, waits)
    except OutOfTurn:
        return None


def _delivered(done: Exchange | None) -> Delivered:
    """What may be said of a command: one that was sent and not acknowledged may have been taken all the same."""
    if done is None:
        return Delivered.NO
    return Delivered.YES if done.end is End.ACKNOWLEDGED else Delivered.NOT_SHOWN


def _said(done: Exchange | None) -> Sequence[str]:
    return () if done is None else done.lines
