"""The broken-off run of a printer, as it can be taken up again: which phases are done, and what each kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from commission.dialect.commands import Effect
from commission.records.book import Book
from commission.records.chain import Entry
from commission.records.history import Run, entries_of_kinds, runs
from commission.records.purposes import BRIEF_CHECK, FULL_CHECK, HANDS_ON
from commission.vocabulary import Outcome

KINDS = (
    "run_started",
    "run_resumed",
    "run_ended",
    "phase_started",
    "phase_ended",
    "phase_abandoned",
    "finding",
    "intent",
)
ALWAYS_AGAIN = frozenset(
    {"identify", "same_printer", "resume", "condition_check", "judgement", "sign_off", "repair"},
)
"""Phases that a run begins or ends with each time; having done them is nothing to go on from."""
PASSING = (BRIEF_CHECK, FULL_CHECK)
"""Tell how a printer was at that time: one that was broken off is past once a later test with hands was completed."""


@dataclass(frozen=True)
class BrokenOff:
    """A run that never came to its end.

    Attributes:
        number: of the run.
        started: what its first entry says: operator, plan, site.
        last_at: wall time of its last entry, ISO 8601.
        why: what became of it, in a sentence.
        done: the phases that came to their own end and count, with what each kept.
        findings: the newest facts of each finding, by name.
        found_at: where in the book each of them stands.
        last_change: sequence of the run's last command that did more than ask; 0 for none.
    """

    number: str
    started: Mapping[str, Any]
    last_at: str
    why: str
    done: Mapping[str, Mapping[str, Any]]
    findings: Mapping[str, Mapping[str, Any]]
    found_at: Mapping[str, int]
    last_change: int = 0


def broken_off(book: Book, tag: str, purpose: str) -> BrokenOff | None:
    """The printer's newest run of that purpose, if it is broken off and some phase of it is done."""
    reached = [run for run in runs(book, tag) if run.purpose == purpose and run.outcome is not Outcome.NOT_CONNECTED]
    newest = reached[-1] if reached else None
    if newest is None or newest.outcome in (Outcome.COMPLETE, Outcome.UNDER_WAY):
        return None
    if purpose in PASSING and _tested_since(runs(book, tag), newest):
        return None
    entries = [entry for entry in entries_of_kinds(book, KINDS) if entry.run == newest.number]
    done = phases_done(entries)
    if not done:
        return None
    findings = {entry.facts["name"]: entry.facts["facts"] for entry in entries if entry.kind == "finding"}
    why = next((str(e.facts.get("why", "")) for e in reversed(entries) if e.kind == "run_ended"), "")
    asked = Effect.READ_ONLY.value
    return BrokenOff(
        number=newest.number,
        started=entries[0].facts,
        last_at=entries[-1].at,
        why=why or "the tool or the computer stopped",
        done=done,
        findings=findings,
        last_change=max((e.sequence for e in entries if e.kind == "intent" and e.facts["effect"] != asked), default=0),
        found_at={entry.facts["name"]: entry.sequence for entry in entries if entry.kind == "finding"},
    )


def _tested_since(known: Sequence[Run], broken: Run) -> bool:
    since = known[known.index(broken) + 1 :]
    return any(run.purpose in HANDS_ON and run.outcome is Outcome.COMPLETE for run in since)


def phases_done(entries: list[Entry]) -> dict[str, dict[str, Any]]:
    """The phases that ended and were not begun again afterwards, in order, with what each kept."""
    done: dict[str, dict[str, Any]] = {}
    for entry in entries:
        if entry.kind == "phase_started":
            done.pop(entry.facts["name"], None)
        elif entry.kind == "phase_ended" and entry.facts["name"] not in ALWAYS_AGAIN:
            done[entry.facts["name"]] = entry.facts["facts"]
    return done
