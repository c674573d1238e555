"""What each run of a printer measured, worked out from its entries: the history that a check is held against."""

from collections import deque
from dataclasses import dataclass, replace
from datetime import date
from heapq import merge
from operator import attrgetter

from commission.evidence.exposed import HELD_AGAINST_THE_RECORD, exposed_of
from commission.evidence.findings.function import Pause
from commission.evidence.findings.loop import Polarity
from commission.evidence.findings.meeting import PrinterIdentity
from commission.evidence.found import Established
from commission.evidence.measured import Moves, Trial, Watch, samples_of
from commission.evidence.runs import PhaseStarted, RunStarted
from commission.evidence.soaked import SoakStretch
from commission.evidence.standing import RunStanding, Standing
from commission.judge.condition import Measured
from commission.judge.measuring import Circumstances, TimedWatch, measure
from commission.judge.nuisance import Around, Exposed
from commission.records.book import Book
from commission.records.history import Run, runs
from commission.records.notes import notes_on
from commission.vocabulary import Outcome, SwitchBehaviour, Verdict

_KINDS = (RunStarted, PhaseStarted, Trial, Watch, Moves, SoakStretch, Established)


@dataclass(frozen=True)
class CheckRecord:
    """One run with what it measured.

    Attributes:
        run: what became of it.
        measured: of the switch.
        behaviour: the polarity found in it, `undecided` when none was.
    """

    run: Run
    measured: Measured
    behaviour: SwitchBehaviour

    @property
    def day(self) -> date:
        """The day it began."""
        return date.fromisoformat(self.run.started_at[:10])


def check_records(book: Book, tag: str, sensor: str = "") -> list[CheckRecord]:
    """Every run of the printer, oldest first; of one of several sensors what the runs measured of it."""

    def worked_out() -> list[CheckRecord]:
        standing = standing_now(book, tag)
        return [_record(run, standing.run(run.number).of_sensor(sensor), sensor) for run in runs(book, tag)]

    return list(book.once(("checks", tag, sensor), worked_out))


def history_before(book: Book, tag: str, number: str = "", sensor: str = "") -> list[Measured]:
    """What the printer's completed runs before this one measured, of one sensor where it has several; oldest first."""
    before = []
    for record in check_records(book, tag, sensor):
        if record.run.number == number:
            break
        if record.run.outcome is Outcome.COMPLETE and _measured_something(record.measured):
            before.append(record.measured)
    return before


def last_switch(book: Book, tag: str) -> str:
    """The switch that was tested last; empty when none was."""
    tested = deque(book.records(Trial, runs={run.number for run in runs(book, tag)}), maxlen=1)
    return tested[0].entry.switch if tested else ""


def wiring_now(book: Book, tag: str) -> str:
    """The identity of the wiring as it is now: how often it is known to have been changed."""
    return str(standing_now(book, tag).wiring(tag))


def exposed_now(book: Book, tag: str, sensor: str = "") -> list[Exposed]:
    """All that was watched of a printer, or of one of its sensors, since the last recorded change."""
    return standing_now(book, tag).exposed(tag, sensor)


def standing_now(book: Book, tag: str) -> Standing:
    """What stands of the printer's runs, and of the notes on it."""
    return book.once(("standing", tag), lambda: _standing(book, tag))


def _standing(book: Book, tag: str) -> Standing:
    of_runs = book.records(*_KINDS, runs={run.number for run in runs(book, tag)})
    return Standing(merge(of_runs, notes_on(book, tag), key=attrgetter("sequence")))


def _record(run: Run, stands: RunStanding, sensor: str = "") -> CheckRecord:
    polarity, pause, identity = stands.newest(Polarity), stands.newest(Pause), stands.newest(PrinterIdentity)
    behaviour = SwitchBehaviour.UNDECIDED if polarity is None else polarity.behaviour
    tried = [item.entry for item in stands.of(Trial) if item.counts]
    watches = [item.entry for item in stands.of(Watch) if item.counts and item.entry.key in HELD_AGAINST_THE_RECORD]
    # a run before several were tested together was about one of them
    trials = [trial.timed for trial in tried if sensor in ("", trial.switch)]
    watches = [watch for watch in watches if sensor in ("", watch.switch)]
    around = Circumstances(
        label=run.started_at[:10],
        wiring=str(stands.wiring),
        firmware=(None if identity is None else identity.firmware_name) or "",
        passed=run.verdict in (Verdict.PASS, Verdict.CONDITIONAL),
        time_to_pause_s=None if pause is None else pause.announced_after_s,
    )
    timed = [TimedWatch(samples_of(watch.readings), watch.seconds) for watch in watches]
    measured = measure(trials, timed, behaviour, around)
    soaked = [item.entry.exposed for item in stands.of(SoakStretch)]
    moved = [exposed_of(item.entry) for item in stands.of(Moves) if item.counts]
    at_rest = [each for each in soaked if each.around is Around.AT_REST]
    measured = replace(
        measured,
        apart=tuple(each for each in (*soaked, *moved) if each is not None and each.around is not Around.AT_REST),
        watched_s=measured.watched_s + sum(each.seconds for each in at_rest),
        unwanted_changes=measured.unwanted_changes + sum(each.changes for each in at_rest),
    )
    return CheckRecord(run, measured, behaviour)


def _measured_something(measured: Measured) -> bool:
    return bool(measured.trials) or measured.time_to_pause_s is not None
