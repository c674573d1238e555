"""What the entries of one run say, read into plain data; every text of it is made printable here, once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from commission.dialect.sanitise import clean_text
from commission.drawing.trend import Trend
from commission.records.book import Book, BookError
from commission.records.chain import ChainFault, Entry, check_chain
from commission.records.history import end_that_stands
from commission.records.notes import CORRECTION, Note
from commission.records.notes import KIND as NOTE
from commission.records.open_items import ITEMS, still_open
from commission.records.trend import trends
from commission.report.shapes import misshapen
from commission.vocabulary import Outcome, Verdict

JUDGEMENTS = frozenset({"acceptance", "check"})
NEVER = datetime(1, 1, 1, tzinfo=UTC)
"""Stands for a time that was altered into none."""
_NOTE_TEXTS = ("tag", "what", "text", "person")


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
        unread: entries that are not of the known form, left out of the report and named in it.
        opening: the first entry of the run.
        head: the newest entry of the run; its digest is printed.
        faults: where the book up to that entry is not as it was written.
        corrections: notes that put right an entry of this run, whenever they were written.
        notes: every other note on the printer, up to the run's newest entry.
        trends: what the printer's runs measured, up to and including this one.
        no_trend: why the trends could not be worked out; empty when they were.
    """

    number: str
    started: Mapping[str, Any]
    ended: Mapping[str, Any]
    events: tuple[Event, ...]
    opening: Entry
    head: Entry
    faults: tuple[ChainFault, ...]
    unread: tuple[str, ...] = ()
    corrections: tuple[Note, ...] = ()
    notes: tuple[Note, ...] = ()
    trends: tuple[Trend, ...] = ()
    no_trend: str = ""

    @property
    def tag(self) -> str:
        """The owner's name for the printer."""
        return str(self.started.get("tag", ""))

    @property
    def began(self) -> datetime:
        """When it began, with its zone."""
        return moment(self.opening.at)

    @property
    def finished(self) -> datetime:
        """When its newest entry was written."""
        return moment(self.head.at)

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

    @property
    def worklist(self) -> list[Mapping[str, Any]]:
        """The facts of the items that nothing in the run settled, in order."""
        return still_open((event.kind, event.facts) for event in self.of(*ITEMS))

    @property
    def judgement(self) -> "Event | None":
        """The newest finding that holds rules against what was seen: of a loop check, or of a periodic check."""
        found = [event for event in self.of("finding") if event.facts.get("name") in JUDGEMENTS]
        return found[-1] if found else None

    @property
    def criteria(self) -> list[Mapping[str, Any]]:
        """Its rules, each with what was observed and its verdict."""
        return [] if self.judgement is None else objects(mapping(self.judgement.facts.get("facts")).get("criteria"))

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
    read = [_event(entry) for entry in entries]
    wrong = [misshapen(event.kind, event.facts, event.raw) for event in read]
    unread = [f"entry {e.sequence} ({e.kind}): {why}" for e, why in zip(read, wrong, strict=True) if why]
    # read to its end: a reading left open would keep the book locked
    before = (entry for entry in book.entries() if entry.sequence <= head.sequence)
    noted = [note for entry in book.entries(kind=NOTE) for note in _note(entry)]
    drawn, no_trend = _trends(book, str(read[0].facts.get("tag", "")), number)
    return RunFacts(
        number=number,
        started=read[0].facts,
        ended=_end([event for event, why in zip(read, wrong, strict=True) if not why]),
        events=tuple(event for event, why in zip(read, wrong, strict=True) if not why),
        opening=entries[0],
        head=head,
        faults=tuple(check_chain(before)),
        unread=tuple(unread),
        corrections=tuple(_corrections(noted, entries)),
        notes=tuple(_others(noted, str(read[0].facts.get("tag", "")), head.sequence)),
        trends=drawn,
        no_trend=no_trend,
    )


def _end(events: Sequence[Event]) -> Mapping[str, Any]:
    """The end that stands; empty where the run was taken up again after it."""
    return end_that_stands((event.kind, event.facts) for event in events) or {}


def _corrections(noted: Sequence[Note], entries: Sequence[Entry]) -> Iterator[Note]:
    """Notes written later that put right an entry of this run."""
    places = {entry.sequence for entry in entries}
    return (note for note in noted if note.what == CORRECTION and note.about in places)


def _others(noted: Sequence[Note], tag: str, upto: int) -> Iterator[Note]:
    """Notes on the printer that were there when the run ended; a later one leaves its report as it was."""
    return (note for note in noted if note.tag == tag and note.what != CORRECTION and note.sequence <= upto)


def _trends(book: Book, tag: str, number: str) -> tuple[tuple[Trend, ...], str]:
    """The trends up to this run; or why there are none, when an entry they need was altered."""
    try:
        return tuple(trends(book, tag, upto=number)), ""
    except (BookError, KeyError, TypeError, ValueError, AttributeError, IndexError) as error:
        return (), f"The entries of the printer's runs cannot all be read ({type(error).__name__})"


def _note(entry: Entry) -> Iterator[Note]:
    try:
        facts = mapping(cleaned(entry.facts))
        texts_of = {key: str(facts[key]) for key in _NOTE_TEXTS}
        yield Note(sequence=entry.sequence, at=entry.at, about=int(facts.get("about") or 0), **texts_of)
    except (KeyError, TypeError, ValueError):
        return


def _event(entry: Entry) -> Event:
    """The entry with its facts; one whose text is no JSON any more has none, and is named by its shape."""
    try:
        facts = mapping(cleaned(entry.facts))
    except (TypeError, ValueError):
        facts = {}
    return Event(entry.sequence, clean_text(entry.kind), moment(entry.at), entry.elapsed_us, facts, entry.raw or b"")


def moment(at: str) -> datetime:
    """A time of the record; one that is none any more stands at the beginning of all times."""
    try:
        found = datetime.fromisoformat(at)
    except ValueError:
        return NEVER
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def cleaned(value: object, name: str = "") -> object:
    """A JSON value with every text made printable; drawings keep their line breaks."""
    match value:
        case str():
            drawing = value.startswith("<svg") or name.endswith("text")
            return "\n".join(map(clean_text, value.split("\n"))) if drawing else clean_text(value)
        case dict():
            return {clean_text(str(key)): cleaned(each, str(key)) for key, each in value.items()}
        case list():
            return [cleaned(each) for each in value]
    return value


def mapping(value: object) -> Mapping[str, Any]:
    """The value if it is an object, else an empty one: an entry of unknown form never breaks a report."""
    return value if isinstance(value, Mapping) else {}


def texts(value: object) -> tuple[str, ...]:
    """The value's items as texts, whatever they are."""
    if isinstance(value, str):
        return (value,)
    return tuple(str(each) for each in value) if isinstance(value, Sequence) else ()


def objects(value: object) -> list[Mapping[str, Any]]:
    """The value's items that are objects, whatever it is."""
    return [each for each in value if isinstance(each, Mapping)] if isinstance(value, list) else []
