"""Questions to the book: which runs there are, what became of them, which is the newest of a printer."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from commission.records.book import Book
from commission.records.chain import Entry
from commission.vocabulary import Outcome, Verdict


@dataclass(frozen=True)
class Run:
    """One run as its entries tell it.

    Attributes:
        number: unique in the book, printed on the report.
        tag: the owner's name for the printer.
        purpose: `install` or another job.
        started_at: wall time, ISO 8601 with offset.
        ended_at: the same, or empty when the run never came to its end.
    """

    number: str
    tag: str
    purpose: str
    started_at: str
    ended_at: str = ""
    outcome: Outcome = Outcome.BROKEN_OFF
    verdict: Verdict = Verdict.NOT_JUDGED


def runs(book: Book, tag: str | None = None) -> list[Run]:
    """All runs, oldest first; of one printer if a tag is given."""
    ends = {entry.run: entry for entry in book.entries(kind="run_ended")}
    for resumed in book.entries(kind="run_resumed"):
        if resumed.run in ends and ends[resumed.run].sequence < resumed.sequence:
            del ends[resumed.run]  # taken up again and not ended since
    found = [_run(entry, ends.get(entry.run)) for entry in book.entries(kind="run_started")]
    return [run for run in found if tag is None or run.tag == tag]


def newest_run(book: Book, tag: str) -> Run | None:
    """The printer's last run, whatever became of it."""
    return next(reversed(runs(book, tag)), None)


def next_number(book: Book, tag: str, day: date) -> str:
    """A number no run of the book has: the tag, the day and a count."""
    taken = {run.number for run in runs(book, tag)}
    numbers = (f"{tag}/{day.isoformat()}/{count}" for count in range(1, len(taken) + 2))
    return next(number for number in numbers if number not in taken)


def tags(book: Book) -> list[str]:
    """Every printer the book knows, in alphabetical order."""
    return sorted({run.tag for run in runs(book)})


def newest_finding(book: Book, name: str, numbers: Collection[str]) -> dict[str, Any] | None:
    """The facts of the newest finding of that name in the runs with these numbers; None when there is none."""
    facts: dict[str, Any] | None = None
    for entry in book.entries(kind="finding"):
        if entry.run in numbers and entry.facts["name"] == name:
            facts = entry.facts["facts"]
    return facts


def _run(started: Entry, ended: Entry | None) -> Run:
    """A run whose entries were altered is still told, as far as they can be read."""
    facts, end = _readable(started), {} if ended is None else _readable(ended)
    outcomes, verdicts = {each.value: each for each in Outcome}, {each.value: each for each in Verdict}
    return Run(
        number=started.run,
        tag=str(facts.get("tag", started.run.partition("/")[0])),
        purpose=str(facts.get("purpose", "")),
        started_at=started.at,
        ended_at="" if ended is None else ended.at,
        outcome=outcomes.get(str(end.get("outcome")), Outcome.BROKEN_OFF),
        verdict=verdicts.get(str(end.get("verdict")), Verdict.NOT_JUDGED),
    )


def _readable(entry: Entry) -> dict[str, Any]:
    try:
        return entry.facts
    except (TypeError, ValueError):
        return {}


def entries_of_kinds(book: Book, kinds: Iterable[str]) -> list[Entry]:
    """The entries of several kinds in the order of the book; the bytes of the wire stay where they are."""
    return sorted((entry for kind in kinds for entry in book.entries(kind=kind)), key=lambda entry: entry.sequence)


def facts_of(entries: Iterable[Entry], kind: str) -> list[dict[str, object]]:
    """The facts of all entries of one kind, in order."""
    return [entry.facts for entry in entries if entry.kind == kind]
