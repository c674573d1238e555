"""Plugs the real parts of a guided run together: desk, link, book and clock, for every command that needs them."""

import asyncio
import contextlib
import sys
from functools import partial
from typing import TextIO

from commission.asking.message import Tell, Weight
from commission.asking.steps import Steps
from commission.cli.background import offered, plan_of
from commission.cli.beforehand import planned, said_and_agreed
from commission.cli.beginning import beginning
from commission.cli.bench_name import bench_name
from commission.cli.endings import FORESEEN, code_of, end_with
from commission.cli.exit_codes import NOT_FINISHED, PASSED, WRONG_USAGE, exit_code
from commission.cli.heads import head_kept
from commission.cli.last_screen import last_screen
from commission.cli.locate import Locator
from commission.cli.options import Context, Job, Settings
from commission.cli.prepared import Given, Prepared, prepared
from commission.cli.signals import Signals
from commission.cli.surroundings import Surroundings, settle_memory, surroundings
from commission.cli.tag import mistyped
from commission.cli.telling import complain
from commission.cli.way_out import make_safe, still_open, why_unfinished
from commission.clock import Clock
from commission.conductor.conductor import Conductor, Ended
from commission.conductor.connection import Connection
from commission.conductor.ledger import Ledger
from commission.conductor.on_paper import OnPaper
from commission.conductor.previous_run import nothing_to_ask
from commission.conductor.scribe import Scribe
from commission.desk.base import Desk, OperatorStop
from commission.desk.choosing import make_desk, silent_desk
from commission.desk.outlet import outlet
from commission.desk.spoken import aloud
from commission.dialect.commands import Effect
from commission.evidence.entry import About
from commission.evidence.findings.settings import SettingsSaved
from commission.evidence.runs import RULES, RunEnded, RunResumed, RunStarted
from commission.jobs.install import JobResult
from commission.judge.advice import Advice
from commission.judge.unsafe import while_unsafe
from commission.link.base import PortMissing, PortUnusable
from commission.link.port import require_present
from commission.procedure.meeting.identity import left_on_here
from commission.records.book import Book, BookError
from commission.records.continuation import BrokenOff, broken_off
from commission.records.history import newest_finding, runs, tags
from commission.records.open_items import unsafe_in
from commission.records.place import book_path
from commission.records.run_lock import RunLock
from commission.records.unsettled import unsettled as unsettled_things
from commission.session.silence import Silence
from commission.vocabulary import Outcome, Verdict

BEGINS_A_RECORD = ("install", "borrow", "backup")
"""The commands with which a printer comes into the book: its tag is new then."""
STOPPED_BEFORE = ("Stopped before a run began.", "Nothing was sent to the printer and nothing was recorded.")


def run_guided(settings: Settings, job: Job) -> int:
    """Carry out a guided run and return its exit code; every error ends in one clear sentence."""
    with Signals() as signals, outlet(sys.stdout) as out:
        return _run_guided(settings, job, signals, out)


def _run_guided(settings: Settings, job: Job, signals: Signals, out: TextIO) -> int:
    try:
        if job.has_printer:
            require_present(settings.port)
    except PortUnusable as error:
        complain(str(error))
        return WRONG_USAGE
    except PortMissing as error:
        complain(str(error))
        return NOT_FINISHED
    try:
        around = surroundings()
        shown = silent_desk(out) if not job.has_printer else _desk(settings, out, around.clock)
        desk = aloud(shown, speak=settings.speak, named=settings.speak_with)
        with (
            Book(book_path(settings.book), around.clock) as book,
            head_kept(book),
            RunLock(book.path, settings.tag) as lock,
            asyncio.Runner(loop_factory=around.new_loop) as runner,
        ):
            settle_memory()
            return runner.run(Guided(settings, job, desk, book, around, lock, signals).run())
    except FORESEEN as error:
        return end_with(error)


def _desk(settings: Settings, out: TextIO, clock: Clock) -> Desk:
    return make_desk(
        out,
        operator_file=settings.script,
        plain=settings.plain,
        variables=settings.variables,
        bell=settings.bell,
        clock=clock,
        as_json=settings.as_json,
    )


class Guided:
    """One call of the command: one run, and another after each repair done at once."""

    def __init__(
        self,
        settings: Settings,
        job: Job,
        desk: Desk,
        book: Book,
        around: Surroundings,
        lock: RunLock,
        signals: Signals,
    ) -> None:
        self._settings = settings
        self._job = job
        self._desk = desk
        self._book = book
        self._around = around
        self._clock = around.clock
        self._lock = lock
        self._signals = signals

    async def run(self) -> int:
        """Do it; the exit code."""
        await self._desk.open()
        try:
            return await self._runs()
        except OperatorStop:
            open_still = self._left_by_earlier_runs()
            await self._desk.tell(Tell((*STOPPED_BEFORE, *still_open(open_still))))
            return exit_code(Outcome.STOPPED, Verdict.NOT_JUDGED, open_still)
        finally:
            await self._desk.close()

    async def _runs(self) -> int:
        if self._signals.asked:
            raise OperatorStop(self._signals.asked)
        settings = self._settings
        if doubt := self._doubt():
            await self._desk.tell(Tell((doubt,)))
        broken = await self._broken_before()
        said = await said_and_agreed(self._desk, settings, self._job, plan_stands=broken is not None)
        plan = planned(settings, said.cycles) if broken is None else plan_of(broken)
        repair, follows = Advice.NONE, ""
        while True:
            known = Given(said.person, plan, self._clock.now().date(), repair, broken)
            ready = await self._around.aside(partial(prepared, self._book, settings, self._job, known))
            number, code, walked = await self._one_run(ready, follows)
            if walked is None or walked.repair is Advice.NONE:
                return code
            repair, follows, broken, plan = walked.repair, number, None, planned(settings, plan.cycles)

    def _doubt(self) -> str:
        """What is to be said where nothing is on record of the printer and another's tag is near; else empty."""
        if self._job.purpose in BEGINS_A_RECORD or runs(self._book, self._settings.tag):
            return ""
        return mistyped(self._settings.tag, tags(self._book))

    async def _broken_before(self) -> BrokenOff | None:
        """The broken-off run that is taken up again; of a job that begins anew it is only said that there is one."""
        tag, purpose = self._settings.tag, self._job.purpose
        if self._job.resumable:
            return await offered(self._desk, self._book, tag, purpose)
        broken = broken_off(self._book, tag, purpose) if self._job.has_printer and self._job.asks_to_open else None
        if broken is not None:
            said = f"The {purpose} {broken.number} did not come to its end: {broken.why.rstrip('.')}."
            again = "This one begins anew; what the other one recorded stays in the book."
            await self._desk.tell(Tell((said, again)))
        return None

    async def _one_run(self, ready: Prepared, follows: str) -> tuple[str, int, JobResult | None]:
        context = ready.context
        number = await self._around.written(partial(self._begin, context, follows))
        scribe = Scribe(self._book, number, self._about, self._around.hand)
        try:
            conductor = self._conductor(scribe, ready.left_on, context) if self._job.has_printer else None
            ended, effects = await self._carried_out(ready.steps, scribe, conductor)
            code = await self._end(scribe, ended, effects)
        except Exception as error:
            await self._broken_off(scribe, error)
            raise
        finally:
            scribe.close()
        return number, code, ended.result

    def _begin(self, context: Context, follows: str) -> str:
        """Write the beginning of a run, or that it is taken up again; returns its number, which the lock carries."""
        zone = self._clock.now().tzname() or ""

        def begun(number: str) -> RunStarted:
            self._lock.carry(number)
            return beginning(RunStarted, number, self._settings, self._job, context, follows, zone)

        resumed = None if context.background is None else context.background.continuation
        if resumed is None:
            return self._book.start_run(self._settings.tag, self._clock.now().date(), begun, self._about).run
        self._lock.carry(resumed.run)
        again = beginning(RunResumed, resumed.run, self._settings, self._job, context, follows, zone)
        return self._book.append(resumed.run, again, self._about).run

    @property
    def _about(self) -> About:
        """What every entry of the run belongs to from its beginning on."""
        return About(bench=bench_name(self._settings.bench))

    async def _broken_off(self, scribe: Scribe, error: Exception) -> None:
        """What broke the run off stands in the book, unless it is the book that broke, or the run has its end."""
        end = RunEnded(
            outcome=Outcome.BROKEN_OFF,
            verdict=Verdict.NOT_JUDGED,
            why=f"Not finished: {error}",
            exit_code=code_of(error),
            rules=RULES,
        )
        with contextlib.suppress(BookError):
            await scribe.write(end)

    async def _carried_out(
        self, steps: Steps[JobResult], scribe: Scribe, conductor: Conductor | None
    ) -> tuple[Ended[JobResult], frozenset[Effect]]:
        if conductor is None:
            return await OnPaper(self._desk, scribe, self._settings.reports).run(steps), frozenset()
        return await conductor.run(steps), frozenset(conductor.effects_sent)

    def _conductor(self, scribe: Scribe, previous_run: Ledger, context: Context) -> Conductor:
        settings, background = self._settings, context.background
        confirm_printer = nothing_to_ask if background is None else partial(left_on_here, background.surroundings)
        connection = Connection(
            settings.port,
            make_link=lambda address: self._around.make_link(address, reset=settings.reset_lines),
            find=Locator(settings.port),
            speeds_baud=settings.speeds_baud,
            clock=self._clock,
            on_traffic=scribe.overheard,
            longest_wait_s=settings.longest_wait_s(told=self._job.asks_to_open),
            silence=Silence(settings.silent_wait_s(told=self._job.asks_to_open)),
        )
        return Conductor(connection, self._desk, scribe, self._clock, settings.reports, previous_run, confirm_printer)

    async def _end(self, scribe: Scribe, ended: Ended[JobResult], effects: frozenset[Effect]) -> int:
        verdict = Verdict.NOT_JUDGED if ended.result is None else ended.result.verdict
        kind = None if ended.interruption is None else ended.interruption.kind
        unsettled = 0 if ended.result is None else ended.result.unsettled
        if ended.outcome is Outcome.STOPPED:
            unsettled = self._left_by_earlier_runs(scribe.run)
        unsafe_items = self._open_in(scribe.run, ended)
        verdict = while_unsafe(verdict, found_here=bool(unsafe_items), on_record=bool(unsettled))
        code = exit_code(ended.outcome, verdict, unsafe_items + unsettled, kind)
        why = why_unfinished(ended)
        saved = newest_finding(self._book, SettingsSaved, [scribe.run])
        safe = make_safe(ended, effects, saved, has_printer=self._job.has_printer)
        end = RunEnded(outcome=ended.outcome, verdict=verdict, why=why, exit_code=code, way_out=safe, rules=RULES)
        await scribe.write(end)
        lines: tuple[str, ...] = (f"Verdict: {verdict.value}.", safe.sentence)
        try:
            if code != PASSED or self._settings.draws_passed:
                shown = partial(last_screen, unsafe_items=unsafe_items, left_by_others=unsettled)
                lines = await self._around.aside(
                    partial(shown, self._book, scribe.run, self._settings.reports, self._around.checked)
                )
        finally:
            await self._desk.tell(Tell(lines, heading="Result", weight=Weight.FINDING))
        return code

    def _left_by_earlier_runs(self, number: str = "") -> int:
        """What other runs than this one found wrong with the printer and nothing has cleared since."""
        return sum(each.run.number != number for each in unsettled_things(self._book, self._settings.tag))

    def _open_in(self, number: str, ended: Ended[JobResult]) -> int:
        """Items of class A: those that a run left which came to its own end, else what all parts of it left."""
        if ended.result is not None:
            return ended.unsafe_items + ended.result.carried
        return max(ended.unsafe_items, unsafe_in(self._book, number))
