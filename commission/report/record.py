"""What the entries of one run say, read into plain data; every text of it is made printable here, once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import takewhile
from typing import Any

from commission.dialect.sanitise import clean_text
from commission.records.book import Book, BookError
from commission.records.chain import ChainFault, Entry, check_chain
from commission.vocabulary import Outcome, Verdict

PICTURES = ("svg", "text")
"""Facts under these names are drawings of our own making: they keep their line breaks."""


@dataclass(frozen=True)
class Event:
    """One entry with its facts cleaned."""

    sequence: int
    kind: str
    at: datetime
    elapsed_us: int
    facts: Mapping[str, Any]
    raw: bytes = b""

    @property
    def clock(self) -> str:
        """The wall time to the second."""
        return self.at.strftime("%H:%M:%S")


@dataclass(frozen=True)
class RunFacts:
    """One run.

    Attributes:
        number: unique in the book.
        started: facts of its first entry.
        ended: facts of its last entry, empty when it never came to its end.
        events: everything between and including them, in order.
        head: the newest entry of the run; its digest is printed.
        faults: where the book up to that entry is not as it was written.
    """

    number: str
    started: Mapping[str, Any]
    ended: Mapping[str, Any]
    events: tuple[Event, ...]
    head: Entry
    faults: tuple[ChainFault, ...]

    @property
    def tag(self) -> str:
        """The owner's name for the printer."""
        return str(self.started.get("tag", ""))

    @property
    def began(self) -> datetime:
        """When it began, with its zone."""
        return self.events[0].at

    @property
    def finished(self) -> datetime:
        """When its newest entry was written."""
        return self.events[-1].at

    @property
    def outcome(self) -> Outcome:
        """What became of the run."""
        return Outcome(self.ended.get("outcome", Outcome.BROKEN_OFF.value))

    @property
    def verdict(self) -> Verdict:
        """What the run came to; silence is *not judged*."""
        return Verdict(self.ended.get("verdict", Verdict.NOT_JUDGED.value))

    def of(self, *kinds: str) -> list[Event]:
        """The events of these kinds, in order."""
        return [event for event in self.events if event.kind in kinds]

    def finding(self, name: str) -> Mapping[str, Any]:
        """The facts of the newest finding of that name; empty when it was never established."""
        found = [event.facts for event in self.of("finding") if event.facts.get("name") == name]
        return mapping(found[-1].get("facts")) if found else {}


def read_run(book: Book, number: str) -> RunFacts:
    """All that the book holds of a run.

    Raises:
        BookError: the book has no such run.
    """
    entries = list(book.entries(run=number))
    if not entries or entries[0].kind != "run_started":
        raise BookError(f"The book {book.path} has no run {number}. `commission book list` shows the runs it has.")
    head = entries[-1]
    events = tuple(_event(entry) for entry in entries)
    ends = [event.facts for event in events if event.kind == "run_ended"]
    before = takewhile(lambda entry: entry.sequence <= head.sequence, book.entries())
    return RunFacts(number, events[0].facts, ends[-1] if ends else {}, events, head, tuple(check_chain(before)))


def _event(entry: Entry) -> Event:
    at = datetime.fromisoformat(entry.at)
    return Event(entry.sequence, entry.kind, at, entry.elapsed_us, mapping(cleaned(entry.facts)), entry.raw or b"")


def cleaned(value: object, name: str = "") -> object:
    """A JSON value with every text made printable."""
    match value:
        case str():
            return "\n".join(map(clean_text, value.split("\n"))) if name in PICTURES else clean_text(value)
        case dict():
            return {clean_text(str(key)): cleaned(each, str(key)) for key, each in value.items()}
        case list():
            return [cleaned(each, name) for each in value]
    return value


def mapping(value: object) -> Mapping[str, Any]:
    """The value if it is an object, else an empty one: an entry of unknown form never breaks a report."""
    return value if isinstance(value, Mapping) else {}


def texts(value: object) -> tuple[str, ...]:
    """The value's items as texts, whatever they are."""
    if isinstance(value, str):
        return (value,)
    return tuple(str(each) for each in value) if isinstance(value, Sequence) else ()
