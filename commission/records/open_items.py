"""What a printer's installation left open, and its newest whole test and the runs since: what a check begins with."""

from collections.abc import Iterable, Mapping
from typing import Any

from commission.records.book import Book
from commission.records.history import entries_of_kinds, runs
from commission.records.purposes import COMPLETE_TESTS, INSTALL
from commission.vocabulary import Outcome, PunchClass

ITEMS = ("punch", "hold_released")
"""The kinds of entries that open an item, and that settle one."""


def still_open(entries: Iterable[tuple[str, Mapping[str, Any]]]) -> list[Mapping[str, Any]]:
    """The items of one run that nothing later in it settled, in order; each entry is its kind and its facts."""
    left: list[Mapping[str, Any]] = []
    for kind, facts in entries:
        if kind == "punch":
            left.append(facts)
        elif kind == "hold_released":
            left = [item for item in left if item.get("settled_by") != facts.get("key")]
    return left


def unsafe_in(book: Book, number: str) -> int:
    """How many items of class A a run has open, over all its parts."""
    entries = [entry for entry in entries_of_kinds(book, ITEMS) if entry.run == number]
    return sum(map(is_unsafe, still_open((entry.kind, entry.facts) for entry in entries)))


def is_unsafe(item: Mapping[str, Any]) -> bool:
    """Whether the item is one of class A."""
    return bool(item.get("grade") == PunchClass.UNSAFE.value)


def open_items(book: Book, tag: str) -> list[str]:
    """Each open item once, as a sentence with its day and class, oldest first.

    The book knows when an item was opened. Whether it was put right since is for the next test to show, so everything
    from the newest completed whole test on is told; and what the installation found, which no check looks at again.
    """
    done = [run for run in runs(book, tag) if run.outcome is Outcome.COMPLETE]
    whole = max((place for place, run in enumerate(done) if run.purpose in COMPLETE_TESTS), default=0)
    installed = [run for run in done[:whole] if run.purpose == INSTALL][-1:]
    days = {run.number: run.started_at[:10] for run in (*installed, *done[whole:])}
    told: dict[tuple[str, str], str] = {}
    entries = entries_of_kinds(book, ITEMS)
    for number, day in days.items():
        for item in still_open((entry.kind, entry.facts) for entry in entries if entry.run == number):
            grade, text = str(item["grade"]), str(item["text"])
            told.setdefault((grade, text), f"{day}, class {grade}: {text}")
    return list(told.values())
