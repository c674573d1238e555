"""What each run of a printer measured, worked out from its entries: the history that a check is held against."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from commission.evidence.findings.loop import WiggleLeftOut, WiggleSetAside
from commission.judge.condition import Measured
from commission.judge.measuring import Circumstances, TimedTrial, TimedWatch, measure
from commission.judge.stability import Sample
from commission.procedure.wiggle import NAME as WIGGLE
from commission.records.book import Book
from commission.records.chain import Entry
from commission.records.history import Run, entries_of_kinds, runs
from commission.records.notes import REWIRING, notes
from commission.vocabulary import Instruction, Outcome, Presence, Reading, SwitchBehaviour, Verdict

COUNTED = ("steady", WIGGLE)
DISCOUNTED = {WiggleSetAside.name(): WIGGLE, WiggleLeftOut.name(): WIGGLE}
"""Of each such finding the watch that it takes back."""


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


def check_records(book: Book, tag: str) -> list[CheckRecord]:
    """Every run of the printer, oldest first."""
    everything = entries_of_kinds(book, ("note", "finding", "phase_started", "trial", "watch"))
    wiring = _wiring_changes(everything, tag)
    return [_record(run, [e for e in everything if e.run == run.number], wiring) for run in runs(book, tag)]


def history_before(book: Book, tag: str, number: str = "") -> list[Measured]:
    """What the printer's completed runs before this one measured, oldest first."""
    before = []
    for record in check_records(book, tag):
        if record.run.number == number:
            break
        if record.run.outcome is Outcome.COMPLETE and _measured_something(record.measured):
            before.append(record.measured)
    return before


def last_switch(book: Book, tag: str) -> str:
    """The switch that was tested last; empty when none was."""
    numbers = {run.number for run in runs(book, tag)}
    tested = [entry.facts["switch"] for entry in book.entries(kind="trial") if entry.run in numbers]
    return str(tested[-1]) if tested else ""


def wiring_now(book: Book, tag: str) -> str:
    """The identity of the wiring as it is now: how often it is known to have been changed."""
    return str(len(_wiring_changes(entries_of_kinds(book, ("note", "finding")), tag)))


def _wiring_changes(everything: Iterable[Entry], tag: str) -> list[int]:
    """Where in the book the printer's wiring was changed: repairs, and notes of rewiring."""
    found = [note.sequence for note in notes(everything, tag) if note.what == REWIRING]
    found += [
        entry.sequence
        for entry in everything
        if entry.kind == "finding" and entry.run.startswith(f"{tag}/") and entry.facts["name"] == "repair"
    ]
    return sorted(found)


def _record(run: Run, entries: Sequence[Entry], wiring: Sequence[int]) -> CheckRecord:
    findings = {entry.facts["name"]: entry.facts["facts"] for entry in entries if entry.kind == "finding"}
    behaviour = SwitchBehaviour(findings.get("polarity", {}).get("behaviour", SwitchBehaviour.UNDECIDED.value))
    read = _newest_of_each_phase(entries)
    trials = [_trial(entry.facts) for entry in read if entry.kind == "trial" and not entry.facts["void_reason"]]
    watches = [_watch(entry.facts) for entry in read if entry.kind == "watch" and _counts(entry.facts)]
    last = entries[-1].sequence if entries else 0
    around = Circumstances(
        label=run.started_at[:10],
        wiring=str(sum(place <= last for place in wiring)),
        firmware=str(findings.get("identity", {}).get("firmware_name") or ""),
        passed=run.verdict in (Verdict.PASS, Verdict.CONDITIONAL),
        time_to_pause_s=findings.get("pause", {}).get("announced_after_s"),
    )
    return CheckRecord(run, measure(trials, watches, behaviour, around), behaviour)


def _newest_of_each_phase(entries: Sequence[Entry]) -> list[Entry]:
    """What was read when each phase was last carried out: that is what was judged.

    A run that was broken off inside a phase carries it out again, whole, when it is taken up; the two are not pooled.
    Nor does a watch count that was set aside or left out because the filament was not where it was declared.
    """
    read: dict[str, list[Entry]] = {}
    phase = ""
    for entry in entries:
        if entry.kind == "phase_started":
            phase = str(entry.facts["name"])
            read[phase] = []
        elif entry.kind in ("trial", "watch"):
            read.setdefault(phase, []).append(entry)
        elif entry.kind == "finding" and entry.facts["name"] in DISCOUNTED:
            read[phase] = [each for each in read.get(phase, []) if not _is_watch(each, DISCOUNTED[entry.facts["name"]])]
    return [entry for each in read.values() for entry in each]


def _is_watch(entry: Entry, key: str) -> bool:
    return entry.kind == "watch" and entry.facts["key"] == key


def _counts(watch: dict[str, Any]) -> bool:
    """Whether the watch is one of those that every check takes alike, in which no change is wanted.

    A look beforehand, a start-up, or an unplugged input that may float are not.
    """
    return watch["key"] in COUNTED


def _trial(facts: dict[str, Any]) -> TimedTrial:
    return TimedTrial(
        Presence(facts["presence"]),
        facts["instruction"] != Instruction.LEAVE.value,
        _samples(facts["before"]),
        _samples(facts["dwell"]),
    )


def _watch(facts: dict[str, Any]) -> TimedWatch:
    return TimedWatch(_samples(facts["readings"]), float(facts["seconds"]))


def _samples(rows: Sequence[Sequence[Any]]) -> tuple[Sample, ...]:
    return tuple(Sample(float(row[0]), Reading(row[1])) for row in rows)


def _measured_something(measured: Measured) -> bool:
    return bool(measured.trials) or measured.time_to_pause_s is not None
