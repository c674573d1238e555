"""How every printer of a book stands, on one day: a pure read, the most urgent first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from commission.evidence.entry import Record
from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import FailSafeFound
from commission.evidence.findings.meeting import IdentityAfterReflash, PrinterMarks, Repair
from commission.evidence.findings.reported import (
    RunoutControlAfterReflash,
    RunoutControlAfterRestart,
    RunoutControlAsFound,
    RunoutControlled,
    RunoutControlNow,
)
from commission.evidence.findings.series import ChangeMade
from commission.evidence.findings.settings import (
    RunoutControlAsLeft,
    SettingsAfterReflash,
    SettingsAfterRestore,
    SettingsAsFound,
    SettingsAsLeft,
    SettingsReported,
)
from commission.evidence.found import Established
from commission.evidence.runs import REWIRING, Note, RunStarted
from commission.fleet.roster import Listed
from commission.records.book import Book
from commission.records.due import Against, Due, Standing, against_printers, dues_of
from commission.records.history import Run, deciding_runs
from commission.records.notes import NUISANCE, REFLASH
from commission.records.purposes import BRIEF_CHECK, COMPLETE_TESTS, HANDS_ON
from commission.records.soaks import SOAK
from commission.vocabulary import Outcome, Verdict

BACKUPS = (SettingsAsFound, SettingsAfterReflash, SettingsAfterRestore, SettingsAsLeft)
RUNOUT = (
    *(RunoutControlAsFound, RunoutControlAfterReflash, RunoutControlNow, RunoutControlAfterRestart),
    RunoutControlAsLeft,
)
CHANGES: Mapping[type[Finding], str] = {
    Repair: "repaired",
    ChangeMade: "changed",
    IdentityAfterReflash: "reflashed",
}
NOTED = {REWIRING: "rewired", REFLASH: "reflashed"}
KINDS: tuple[type[Finding], ...] = (PrinterMarks, FailSafeFound, *BACKUPS, *RUNOUT, *CHANGES)


@dataclass(frozen=True)
class Done:
    """A completed run: its day and its verdict."""

    on: date
    verdict: Verdict


@dataclass(frozen=True)
class Printer:
    """How one printer stands.

    Attributes:
        tag: the owner's name for it.
        place: where it stands; empty where nobody said.
        due: its next check and why; None for a printer of the roster of which nothing is on record.
        firmware: as it last announced it; empty where it did not.
        wiring: what a broken wire reads as, as last found: `fail-safe`, `fail-danger`, `unsteady`, `not tested`.
        full, brief, soak: the newest completed one of each kind.
        verdict: of the newest completed test with hands.
        unsafe: items of class A, and failures, that no later test has cleared.
        nuisances: nuisance trips noted since the newest whole test.
        runout_off: whether runout detection was off when it was last asked; None where that is not known.
        backup_on: the day of the newest settings report in the record.
        changed: what was changed since the newest whole test, each with its day.
    """

    tag: str
    place: str = ""
    due: Due | None = None
    firmware: str = ""
    wiring: str = "not tested"
    full: Done | None = None
    brief: Done | None = None
    soak: Done | None = None
    verdict: Verdict = Verdict.NOT_JUDGED
    unsafe: tuple[str, ...] = ()
    nuisances: int = 0
    runout_off: bool | None = None
    backup_on: date | None = None
    changed: tuple[str, ...] = ()

    @property
    def standing(self) -> Standing:
        """How urgent it is; a printer without any record is due at once."""
        return Standing.AT_ONCE if self.due is None else self.due.standing


@dataclass
class _Known:
    """What the book has of one printer."""

    runs: Sequence[Run]
    findings: list[tuple[Record[Established], Finding]]
    notes: Sequence[Record[Note]]
    site: str = ""

    def newest(self, *kinds: type[Finding]) -> tuple[Record[Established], Finding] | None:
        found = [each for each in self.findings if isinstance(each[1], kinds)]
        return found[-1] if found else None


def overview(book: Book, today: date, roster: Sequence[Listed] = ()) -> list[Printer]:
    """Every printer of the book and of the roster, the most urgent first.

    Raises:
        BookError: the book cannot be read, or an entry that decides cannot.
    """
    printers = deciding_runs(book)
    against = against_printers(book, printers)
    known = _known(book, printers, against)
    listed = {each.tag: each for each in roster}
    found = [
        _printer(due, known[due.tag], tuple(each.sentence for each in against.unsettled[due.tag]), listed.get(due.tag))
        for due in dues_of(book, printers, today, against)
    ]
    strange = [Printer(each.tag, each.place, wiring=each.wiring or "not tested") for each in roster]
    return [*(each for each in strange if each.tag not in printers), *found]


def _known(book: Book, printers: Mapping[str, Sequence[Run]], against: Against) -> dict[str, _Known]:
    known = {tag: _Known(done, [], against.noted.get(tag, ())) for tag, done in printers.items()}
    for tag, record in book.newest_findings([kind.name() for kind in KINDS]):
        if isinstance(record.entry, Established) and isinstance(record.entry.finding, KINDS) and tag in known:
            told = Record(record.sequence, record.run, record.at, 0, record.entry)
            known[tag].findings.append((told, record.entry.finding))
    newest = {done[-1].first: tag for tag, done in printers.items()}
    for start in book.at(newest):
        if isinstance(start.entry, RunStarted):
            known[newest[start.sequence]].site = start.entry.site
    return known


def _printer(due: Due, known: _Known, unsafe: tuple[str, ...], listed: Listed | None) -> Printer:
    complete = [run for run in known.runs if run.outcome is Outcome.COMPLETE]
    whole = [run for run in complete if run.purpose in COMPLETE_TESTS]
    hands = [run for run in complete if run.purpose in HANDS_ON]
    since = whole[-1].ended if whole else 0
    return Printer(
        tag=due.tag,
        place=(listed and listed.place) or known.site,
        due=due,
        firmware=_firmware(known),
        wiring=_wiring(known, listed),
        full=_done(whole),
        brief=_done([run for run in complete if run.purpose == BRIEF_CHECK]),
        soak=_done([run for run in complete if run.purpose == SOAK]),
        verdict=hands[-1].verdict if hands else Verdict.NOT_JUDGED,
        unsafe=unsafe,
        nuisances=sum(note.entry.what == NUISANCE and note.sequence > since for note in known.notes),
        runout_off=_runout_off(known),
        backup_on=_backup_on(known),
        changed=tuple(_changed(known, since)),
    )


def _done(runs: Sequence[Run]) -> Done | None:
    return Done(date.fromisoformat(runs[-1].started_at[:10]), runs[-1].verdict) if runs else None


def _firmware(known: _Known) -> str:
    newest = known.newest(PrinterMarks, IdentityAfterReflash)
    match newest and newest[1]:
        case PrinterMarks(firmware=firmware):
            return firmware
        case IdentityAfterReflash(firmware_name=name):
            return name or ""
    return ""


def _wiring(known: _Known, listed: Listed | None) -> str:
    newest = known.newest(FailSafeFound)
    if newest is not None and isinstance(newest[1], FailSafeFound):
        return newest[1].fail_safe.value
    return (listed and listed.wiring) or "not tested"


def _runout_off(known: _Known) -> bool | None:
    newest = known.newest(*RUNOUT)
    if newest is None or not isinstance(newest[1], RunoutControlled) or newest[1].enabled is None:
        return None
    return not newest[1].enabled


def _backup_on(known: _Known) -> date | None:
    newest = known.newest(SettingsReported)
    return None if newest is None else date.fromisoformat(newest[0].at[:10])


def _changed(known: _Known, since: int) -> list[str]:
    """What was changed behind that place in the book, in the order in which it was."""
    told = [
        (record.sequence, f"{CHANGES[type(finding)]} {record.at[:10]}")
        for record, finding in known.findings
        if type(finding) in CHANGES and record.sequence > since
    ]
    told += [
        (note.sequence, f"{NOTED[note.entry.what]} {note.at[:10]}")
        for note in known.notes
        if note.entry.what in NOTED and note.sequence > since
    ]
    return [text for _, text in sorted(told)]
