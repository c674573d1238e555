"""The broken-off run of a printer, as it can be taken up again: and which of its phases are done."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from commission.dialect.commands import Effect
from commission.evidence.entry import Entry, Record, of_kind
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.evidence.runs import (
    PhaseAbandoned,
    PhaseEnded,
    PhaseStarted,
    RunEnded,
    RunResumed,
    RunStarted,
)
from commission.evidence.sensor_phase import plain_phase
from commission.evidence.wire import Intent
from commission.records.book import Book
from commission.records.history import Run, runs
from commission.records.purposes import BRIEF_CHECK, FULL_CHECK, HANDS_ON
from commission.vocabulary import Outcome

KINDS = (RunStarted, RunResumed, RunEnded, PhaseStarted, PhaseEnded, PhaseAbandoned, Established, Intent)
_F = TypeVar("_F", bound=Finding)
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
        started: its first entry: operator, plan, site.
        last_at: wall time of its last entry, ISO 8601.
        why: what became of it, in a sentence.
        done: the phases that came to their own end and count, in order.
        found: everything that it established, in order.
        last_change: sequence of the run's last command that did more than ask; 0 for none.
    """

    number: str
    started: RunStarted
    last_at: str
    why: str
    done: tuple[str, ...]
    found: tuple[Record[Established], ...]
    last_change: int

    def newest(self, *kinds: type[_F]) -> tuple[int, _F] | None:
        """The newest finding of these kinds, with its place in the book; None where there is none."""
        for record in reversed(self.found):
            if isinstance(record.entry.finding, kinds):
                return record.sequence, record.entry.finding
        return None


def broken_off(book: Book, tag: str, purpose: str) -> BrokenOff | None:
    """The printer's newest run of that purpose, if it was broken off at this bench and some phase of it is done."""
    known = runs(book, tag)
    reached = [run for run in known if run.purpose == purpose and run.outcome is not Outcome.NOT_CONNECTED]
    newest = reached[-1] if reached else None
    if newest is None or newest.outcome in (Outcome.COMPLETE, Outcome.UNDER_WAY):
        return None
    if not book.goes_on_here(newest.number):
        return None
    if purpose in PASSING and _tested_since(known, newest):
        return None
    records = list(book.records(*KINDS, run=newest.number))
    done = phases_done(records)
    if not done:
        return None
    ends = [ended.entry.why for ended in of_kind(records, RunEnded)]
    return BrokenOff(
        number=newest.number,
        started=of_kind(records, RunStarted)[0].entry,
        last_at=records[-1].at,
        why=(ends and ends[-1]) or "the tool or the computer stopped",
        done=done,
        found=tuple(of_kind(records, Established)),
        last_change=_last_change(of_kind(records, Intent)),
    )


def _last_change(sent: Iterable[Record[Intent]]) -> int:
    return max((each.sequence for each in sent if each.entry.effect is not Effect.READ_ONLY), default=0)


def _tested_since(known: Sequence[Run], broken: Run) -> bool:
    since = known[known.index(broken) + 1 :]
    return any(run.purpose in HANDS_ON and run.outcome is Outcome.COMPLETE for run in since)


def phases_done(records: Iterable[Record[Entry]]) -> tuple[str, ...]:
    """The phases that ended and were not begun again afterwards, in order."""
    done: dict[str, None] = {}
    for record in records:
        match record.entry:
            case PhaseStarted(name=name):
                done.pop(name, None)
            case PhaseEnded(name=name) if plain_phase(name) not in ALWAYS_AGAIN:
                done[name] = None
    return tuple(done)
