"""Unattended runs on the printers of a roster, beside each other in this process, and the overview behind them."""

import asyncio
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import click
from click.core import ParameterSource

from commission.cli.exit_codes import NO_CONSENT, PASSED, STOPPED, WRONG_USAGE, worst
from commission.cli.opening import opened_book
from commission.cli.options import Job, Settings
from commission.cli.overview import tell_overview
from commission.cli.running import Guided
from commission.cli.several import Came, Ended, Several, Teller, Work
from commission.cli.signals import Signals
from commission.cli.surroundings import Surroundings, surroundings
from commission.desk.beside import BesideDesk
from commission.desk.script import OperatorScript
from commission.desk.stop import StopFlag
from commission.fleet.roster import Listed
from commission.link.base import PortUnusable
from commission.link.port import require_present
from commission.records.book import Book
from commission.records.chain import CheckedSoFar
from commission.records.consent import consent_on_record
from commission.records.eye import Eye
from commission.records.hand import Hand
from commission.records.openings import opening_on_record
from commission.records.run_lock import RunLock

SWITCH_S = 0.0005
NOBODY = "nobody (unattended)"
UNATTENDED = Path(__file__).with_name("unattended.toml")


@dataclass(frozen=True)
class Wanted:
    """What is the same for every printer.

    Attributes:
        jobs: printers at the same time.
        limit_s: seconds that one printer may take.
        may_restart: a port may be opened also where that can restart the board.
        as_json: events and overview as JSON.
        options: those of a guided run, as `Settings` names them.
        job: what is done on a printer, by its settings.
        refused: what else than consent speaks against opening a printer's port; None for nothing.
    """

    jobs: int
    limit_s: float
    may_restart: bool
    as_json: bool
    options: Mapping[str, object]
    job: Callable[[Settings], Job]
    refused: Callable[[Book, Listed], Came | None] = lambda _book, _listed: None


def run_beside(roster: Sequence[Listed], wanted: Wanted, place: Path | None) -> int:
    """Do it, show the overview, and return the worst exit code.

    Args:
        roster: the printers.
        wanted: what is done.
        place: the record book named on the command line.

    Raises:
        Ending: there is no record book, or it cannot be used.
    """
    refusals = _refusals(roster, wanted, place)
    teller = Teller(as_json=wanted.as_json)
    with (
        Signals() as signals,
        opened_book(place, writes=True) as book,
        Hand(book) as hand,
        Eye(book) as eye,
        quick_turns(),
    ):
        around = replace(surroundings(), hand=hand, eye=eye, checked=CheckedSoFar())
        options = {**wanted.options, "draws_passed": _named("reports")}

        def work(listed: Listed) -> Work | Came:
            settings = settings_of(listed, options, place)
            told: Callable[[str], None] = lambda text: teller.said(listed.tag, text)  # noqa: E731 - one printer's ear
            return refusals.get(listed.tag) or OnePrinter(settings, wanted.job(settings), book, around, told)

        several = Several(work, wanted.jobs, wanted.limit_s, teller)
        if signals.asked:
            several.stop(signals.asked)
        with asyncio.Runner(loop_factory=around.new_loop) as runner:
            ended = runner.run(_until_stopped(several, roster))
    tell_overview(place, roster, as_json=wanted.as_json)
    return worst(one.code for one in ended)


@contextmanager
def quick_turns() -> Iterator[None]:
    """Let the threads of this process wait less for each other: the one that writes is behind every run."""
    usual_s = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)
    try:
        yield
    finally:
        sys.setswitchinterval(usual_s)


def _named(option: str) -> bool:
    """Whether somebody named that option, so that it is not the usual one."""
    context = click.get_current_context(silent=True)
    return context is not None and context.get_parameter_source(option) is not ParameterSource.DEFAULT


def settings_of(listed: Listed, options: Mapping[str, object], place: Path | None) -> Settings:
    """The settings of an unattended run on a printer of the roster."""
    own = {"port": listed.port, "site": listed.place, "source": listed.source, "speed": listed.speed or None}
    return Settings.of(listed.tag, {**options, **own, "book": place, "script": UNATTENDED, "person": NOBODY})


async def _until_stopped(several: Several, roster: Sequence[Listed]) -> list[Ended]:
    """A signal ends all of them: those at work end by themselves, and no further one begins."""
    flag = StopFlag()
    flag.listen()

    async def pass_on() -> None:
        await flag.wait()
        several.stop("the program was told to end")

    listening = asyncio.create_task(pass_on())
    try:
        return await several.run(roster)
    finally:
        listening.cancel()
        flag.release()


def _refusals(roster: Sequence[Listed], wanted: Wanted, place: Path | None) -> dict[str, Came]:
    """The printers whose port is not opened, and why; looked up once, before any is."""
    found: dict[str, Came] = {}
    with opened_book(place) as book:
        for listed in roster:
            with book.one_look():
                refused = _consent(book, listed) or _restart(book, listed, wanted) or wanted.refused(book, listed)
            if refused is not None and listed.port:
                found[listed.tag] = refused
    return found


def _consent(book: Book, listed: Listed) -> Came | None:
    consent = consent_on_record(book, listed.tag)
    if consent.granted:
        return None
    return Came(NO_CONSENT, f"{consent.sentence} Run `commission check {listed.tag} --port PORT` once: it asks for it.")


def _restart(book: Book, listed: Listed, wanted: Wanted) -> Came | None:
    if wanted.may_restart:
        return None
    opening = opening_on_record(book, listed.tag, listed.port)
    if opening.harmless:
        return None
    said = "Opening it can restart the board and kill a print: give --may-restart when none runs."
    return Came(NO_CONSENT, f"{opening.sentence} {said}")


class OnePrinter:
    """An unattended run on one printer, beside others of this process.

    Args:
        settings: its options.
        job: what is done.
        book: the record book, which all runs of this process share.
        around: with the threads that all runs share.
        pass_on: gets what is worth a line while it goes on.
    """

    def __init__(
        self, settings: Settings, job: Job, book: Book, around: Surroundings, pass_on: Callable[[str], None]
    ) -> None:
        self._settings = settings
        self._job = job
        self._book = book
        self._around = around
        self._desk = BesideDesk(OperatorScript.load(UNATTENDED), around.clock, pass_on)

    async def run(self) -> Came:
        """Do it.

        Raises:
            Exception: what went wrong before a run began, or with the record book.
        """
        try:
            require_present(self._settings.port)
        except PortUnusable as error:
            return Came(WRONG_USAGE, str(error))
        code = await self._run()
        return Came(code, "" if code in (PASSED, STOPPED) else self._desk.why)

    def stop(self, reason: str) -> None:
        """End it as a signal would: its printer and its record are left in order."""
        self._desk.stop(reason)

    async def _run(self) -> int:
        settings, around = self._settings, self._around
        lock = RunLock(self._book.path, settings.tag)
        await asyncio.to_thread(lock.__enter__)
        try:
            return await Guided(settings, self._job, self._desk, self._book, around, lock, Signals()).run()
        finally:
            lock.__exit__(None, None, None)
