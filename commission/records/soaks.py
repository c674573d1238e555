"""What the book has of a printer's soaks, and the bounds that all its watches together show."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import merge
from operator import attrgetter

from commission.evidence.entry import of_kind
from commission.evidence.found import Established
from commission.evidence.measured import Moves, Watch
from commission.evidence.runs import PhaseStarted, RunStarted
from commission.evidence.soaked import SoakBegan, SoakStretch
from commission.evidence.standing import Standing
from commission.judge.nuisance import Around, Exposed, RateBound, rate_bounds
from commission.records.book import Book
from commission.records.checks import standing_now
from commission.records.history import runs
from commission.records.notes import notes_on
from commission.vocabulary import Outcome, Reading

SOAK = "soak"
_KINDS = (RunStarted, PhaseStarted, Watch, Moves, SoakStretch, Established)


@dataclass(frozen=True)
class LastSoak:
    """The printer's newest soak, where its run came to no end.

    Attributes:
        run: its number.
        switch: what was soaked.
        planned_s, watched_s: exposure, in seconds.
        printing: whether a print was under way when it ended, or had just begun: one may still run.
        ended_at: wall time of its last entry.
        goes_on: whether its rest alone may be watched: nothing changed unasked in it, it read in, and nothing on record
            was changed since.
    """

    run: str
    switch: str
    planned_s: float
    watched_s: float
    printing: bool
    ended_at: str
    goes_on: bool


def unfinished_soak(book: Book, tag: str) -> LastSoak | None:
    """The newest soak, if it was broken off."""
    of_printer = [run for run in runs(book, tag) if run.purpose == SOAK and run.outcome is not Outcome.NOT_CONNECTED]
    if not of_printer or of_printer[-1].outcome in (Outcome.COMPLETE, Outcome.UNDER_WAY):
        return None
    records = list(book.records(SoakBegan, SoakStretch, run=of_printer[-1].number))
    begun, stretches = of_kind(records, SoakBegan), of_kind(records, SoakStretch)
    if not begun:
        return None
    last = stretches[-1].entry if stretches else None
    return LastSoak(
        run=of_printer[-1].number,
        switch=begun[-1].entry.switch,
        planned_s=begun[-1].entry.seconds,
        watched_s=sum(each.entry.exposure_s for each in stretches if not each.entry.set_aside),
        printing=last is not None and (last.around is Around.PRINTING or bool(last.set_aside)),
        ended_at=records[-1].at,
        goes_on=_clean([each.entry for each in stretches])
        and standing_now(book, tag).changed_at(tag) < records[-1].sequence,
    )


def _clean(stretches: Sequence[SoakStretch]) -> bool:
    """Whether all that was read in them is as a soak wants it; what was not read shows nothing."""
    counts = Counter[Reading]()
    for row in (row for stretch in stretches for row in stretch.repeated):
        counts[row.reading] += row.count
    return not any(stretch.changes for stretch in stretches) and not counts[Reading.INACTIVE]


def exposed_on_record(book: Book, tag: str, upto: int | None = None, sensor: str = "") -> list[Exposed]:
    """All that was watched of a printer since the last recorded change.

    Args:
        book: the record book.
        tag: the printer.
        upto: place of the last entry to take; all of them when left out.
        sensor: one of several; empty for the only one.
    """
    numbers = {run.number for run in runs(book, tag)}
    of_runs = book.records(*_KINDS, runs=numbers)
    every = merge(of_runs, notes_on(book, tag), key=attrgetter("sequence"))
    return Standing(record for record in every if upto is None or record.sequence <= upto).exposed(tag, sensor)


def bounds_on_record(
    book: Book, tag: str, upto: int | None = None, confidence: float = 0.95, sensor: str = ""
) -> tuple[RateBound, ...]:
    """What all watches since the last recorded change show, each condition for itself.

    Args:
        book: the record book.
        tag: the printer.
        upto: place of the last entry to take; all of them when left out.
        confidence: of the bounds.
        sensor: one of several; empty for the only one.
    """
    return rate_bounds(exposed_on_record(book, tag, upto, sensor), confidence)
