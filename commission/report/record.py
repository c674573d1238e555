"""What the entries of one run say, and what of it stands; every text of it is made printable here, once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from heapq import merge
from operator import attrgetter
from typing import TypeVar

from commission.command_lines import LIST, filled
from commission.dialect.sanitise import clean_text
from commission.drawing.trend import Trend
from commission.evidence.entry import AnyRecord, Entry, Record, Unreadable, moment, of_kind
from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Criterion, Judgement
from commission.evidence.findings.several import SensorBegun
from commission.evidence.found import Established
from commission.evidence.place import number_in_chain
from commission.evidence.runs import Note, RunEnded, RunStarted, tag_in
from commission.evidence.standing import RunStanding
from commission.evidence.stands import Item
from commission.evidence.talk import Punched
from commission.judge.nuisance import RateBound
from commission.records.book import Book, BookError, record_of
from commission.records.chain import ChainFault, CheckedSoFar, Row
from commission.records.history import end_that_stands, same_printer_before
from commission.records.notes import CORRECTION
from commission.records.open_items import still_open
from commission.records.soaks import bounds_on_record
from commission.records.trend import trends
from commission.report.on_record import Kept, newest_of_each
from commission.vocabulary import Outcome, Verdict

_E = TypeVar("_E", bound=Entry)
_F = TypeVar("_F", bound=Finding)


@dataclass(frozen=True)
class RunFacts:
    """One run.

    Attributes:
        number: unique in the book.
        started: its first entry; one that tells nothing when that cannot be read.
        ended: its end that stands; None when it never came to one, or that cannot be read.
        records: everything between and including them that can be read, in order.
        stands: what of it counts.
        unread: entries that cannot be read, left out of the report and named in it.
        opening: the row of its first entry.
        head: the row of its newest entry; the digest is printed.
        faults: where the book up to that entry is not as it was written.
        corrections: notes that put right an entry of this run, whenever they were written.
        notes: every other note on the printer, up to the run's newest entry.
        trends: what the printer's runs measured, up to and including this one.
        bounds: how often the reading can change by itself, of each condition, by all that was watched until then.
        no_trend: why the trends could not be worked out; empty when they were.
        kept: what the printer's runs up to this one established of what is fitted, the newest of each kind.
        sensor: of several sensors the one that this part of the run is about; empty for the whole run.
        parts: the run as far as it goes for each of several sensors, in their order; empty where it tested one.
    """

    number: str
    started: RunStarted
    ended: RunEnded | None
    records: tuple[Record[Entry], ...]
    stands: RunStanding
    opening: Row
    head: Row
    faults: tuple[ChainFault, ...]
    unread: tuple[str, ...] = ()
    corrections: tuple[Record[Note], ...] = ()
    notes: tuple[Record[Note], ...] = ()
    trends: tuple[Trend, ...] = ()
    bounds: tuple[RateBound, ...] = ()
    no_trend: str = ""
    kept: tuple[Kept, ...] = ()
    sensor: str = ""
    parts: tuple["RunFacts", ...] = ()

    @property
    def tag(self) -> str:
        """The owner's name for the printer."""
        return self.started.tag

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
        return Outcome.BROKEN_OFF if self.ended is None else self.ended.outcome

    @property
    def verdict(self) -> Verdict:
        """What the run came to; silence is *not judged*."""
        return Verdict.NOT_JUDGED if self.ended is None else self.ended.verdict

    @property
    def why(self) -> str:
        """Why it was not finished; empty when it was, or nothing says so."""
        return "" if self.ended is None else self.ended.why

    @property
    def left(self) -> str:
        """How the printer was left, in one sentence; empty when nothing says so."""
        return "" if self.ended is None else self.ended.way_out.sentence

    def of(self, kind: type[_E]) -> list[Record[_E]]:
        """The entries of this kind, in order."""
        return of_kind(self.records, kind)

    @property
    def worklist(self) -> list[Punched]:
        """The items that nothing in the run settled, in order; a cure that names a command has this printer in it."""
        own = (self.tag, self.started.port)
        items = [item.entry for item in still_open(self.records)]
        return [item.cured_by(filled(item.cure, *own)) for item in items]

    @property
    def findings(self) -> list[Item[Established]]:
        """Everything that was established, in order, each with whether it stands."""
        return self.stands.of(Established)

    def finding(self, kind: type[_F]) -> _F | None:
        """The newest finding of that kind that stands; None when there is none."""
        return self.stands.newest(kind)

    def known(self, kind: type[_F]) -> tuple[_F, str] | None:
        """The same with the number of its run; else, of what is fitted, the newest that an earlier run established."""
        here = self.finding(kind)
        if here is not None:
            return here, self.number
        found = ((each.finding, each.run) for each in self.kept if each.run != self.number)
        return next(((finding, run) for finding, run in found if isinstance(finding, kind)), None)

    @property
    def judgement(self) -> Judgement | None:
        """The newest finding that holds rules against what was seen: of a loop check, or of a periodic check."""
        return self.stands.newest(Judgement)

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """Its rules, each with what was observed and its verdict; those of several sensors name theirs."""
        if self.parts:
            return tuple(
                Criterion.of(replace(each.judged, name=f"{part.sensor}: {each.name}"))
                for part in self.parts
                for each in part.criteria
            )
        return () if self.judgement is None else self.judgement.criteria


def clock_of(record: AnyRecord) -> str:
    """The wall time of an entry, to the second."""
    return record.moment.strftime("%H:%M:%S")


def read_run(book: Book, number: str, checked: CheckedSoFar | None = None) -> RunFacts:
    """All that the book holds of a run.

    Args:
        book: the record book.
        number: of the run.
        checked: how far the book's chains were checked already; from their beginning if left out.

    Raises:
        BookError: the book has no such run.
    """
    rows = list(book.rows(run=number))
    if not rows or rows[0].kind != RunStarted.kind():
        raise BookError(f"The book {book.path} has no run {number}. `{LIST}` shows the runs it has.")
    head = rows[-1]
    read = [record_of(row, cleaned) for row in rows]
    end = end_that_stands(read)
    first = read[0].entry
    started = first if isinstance(first, RunStarted) else RunStarted(number=number, tag=tag_in(number), purpose="")
    notes = list(book.rows(None, Note.kind()))
    noted = of_kind([record_of(row, cleaned) for row in notes], Note)
    here = of_kind([record_of(row, cleaned) for row in notes if row.chain == head.chain], Note)
    others = same_printer_before(book, number)
    found = (row for row in book.rows(None, Established.kind(), runs=others) if row.place <= head.place)
    before = tuple(_others(noted, started.tag, head.place))
    established = merge((record_of(row, cleaned) for row in found), before, key=attrgetter("sequence"))
    drawn, no_trend = _trends(book, started.tag, number)
    bounds = _bounds(book, started.tag, head.place)
    run = RunFacts(
        number=number,
        started=started,
        ended=end.entry if end is not None and isinstance(end.entry, RunEnded) else None,
        records=tuple(of_kind(read, Entry)),
        stands=_standing(number, read),
        opening=rows[0],
        head=head,
        faults=(checked or CheckedSoFar()).upto(head, book.faults_before),
        unread=tuple(_unread(read)),
        corrections=tuple(_corrections(here, rows)),
        notes=before,
        trends=drawn,
        bounds=bounds,
        no_trend=no_trend,
        kept=newest_of_each(established, others),
    )
    return replace(run, parts=tuple(_parts(book, run)))


def _parts(book: Book, run: RunFacts) -> Iterator[RunFacts]:
    """The run for each of several sensors: its own entries, and those that belong to none."""
    sensors = tuple(dict.fromkeys(each.sensor for each in _begun(run)))
    for sensor in sensors if sensors[1:] else ():
        others = set(sensors) - {sensor}
        drawn, no_trend = _trends(book, run.tag, run.number, sensor)
        yield replace(
            run,
            records=tuple(record for record in run.records if record.about.sensor not in others),
            stands=run.stands.of_sensor(sensor),
            trends=drawn,
            no_trend=no_trend,
            bounds=_bounds(book, run.tag, run.head.place, sensor),
            kept=(),
            sensor=sensor,
        )


def _begun(run: RunFacts) -> Iterator[SensorBegun]:
    return (each.entry.finding for each in run.findings if isinstance(each.entry.finding, SensorBegun))


def _standing(number: str, records: Sequence[AnyRecord]) -> RunStanding:
    stands = RunStanding(number)
    for record in records:
        stands.take(record)
    return stands


def _unread(records: Sequence[AnyRecord]) -> Iterator[str]:
    for record in records:
        if isinstance(record.entry, Unreadable):
            yield f"entry {number_in_chain(record.sequence)} ({clean_text(record.entry.kind)}): {record.entry.why}"


def _corrections(noted: Sequence[Record[Note]], rows: Sequence[Row]) -> Iterator[Record[Note]]:
    """Notes of the run's chain, written later, that put right an entry of this run."""
    places = {row.sequence for row in rows}
    return (note for note in noted if note.entry.what == CORRECTION and note.entry.about in places)


def _others(noted: Sequence[Record[Note]], tag: str, upto: int) -> Iterator[Record[Note]]:
    """Notes on the printer that were there when the run ended; a later one leaves its report as it was."""
    of_printer = (note for note in noted if note.entry.tag_of_printer == tag and note.sequence <= upto)
    return (note for note in of_printer if note.entry.what != CORRECTION)


def _trends(book: Book, tag: str, number: str, sensor: str = "") -> tuple[tuple[Trend, ...], str]:
    """The trends up to this run; or why there are none, when an entry they need cannot be read."""
    try:
        return tuple(trends(book, tag, upto=number, sensor=sensor)), ""
    except (BookError, ValueError) as error:
        return (), f"The entries of the printer's runs cannot all be read ({type(error).__name__})"


def _bounds(book: Book, tag: str, upto: int, sensor: str = "") -> tuple[RateBound, ...]:
    """What all watches until then show; none where an entry they need cannot be read, which is told of the trends."""
    try:
        return bounds_on_record(book, tag, upto, sensor=sensor)
    except (BookError, ValueError):
        return ()


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
