"""The timeline of a run: its prompts and watches as they are drawn."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import count, pairwise, product
from string import ascii_uppercase

from commission.drawing.timeline import (
    STRIP_S,
    Occurrence,
    Seen,
    Span,
    Timeline,
    minutes,
    strips,
    timeline_svg,
    timeline_svgs,
)
from commission.drawing.timeline_plain import timeline_text
from commission.evidence.entry import Entry, Record
from commission.evidence.measured import Moves, MovesBegan, Readings, Trial, TrialBegan, Watch, WatchBegan
from commission.evidence.runs import Interrupted
from commission.evidence.stands import Item
from commission.evidence.talk import HoldOpened, HoldReleased
from commission.judge.wording import counted
from commission.report.document import Block, Figure, Paragraph, Section, Table
from commission.report.record import RunFacts
from commission.report.trials import NOT_COUNTED, readings_of, run_length, unasked
from commission.vocabulary import Presence, Reading

MOST_EVENTS = 60
MOST_STRIPS_IN_SHORT = 2
_Began = TrialBegan | WatchBegan | MovesBegan


def timeline_section(run: RunFacts) -> Section:
    """The picture, where anything was read at a prompt or in a watch."""
    timeline = timeline_of(run)
    blocks: tuple[Block, ...] = ()
    if timeline is not None:
        blocks = (*_figures(timeline), *_events(timeline))
    return Section("timeline", "Timeline", blocks)


def timeline_in_short(run: RunFacts) -> Section:
    """As much of the picture as one page has room for, around what changed unasked or was set aside first."""
    timeline = timeline_of(run)
    if timeline is None:
        return Section("timeline", "Timeline")
    shown = excerpt(timeline)
    if shown is None:
        return Section("timeline", "Timeline", (Paragraph("It is drawn in the full report."),), page=2)
    left = len(timeline.spans) - len(shown.spans)
    excerpted = f"{len(shown.spans)} of {len(timeline.spans)} prompts and watches; the full report draws all."
    figure = Figure(excerpted if left else shown.description, timeline_svg(shown), timeline_text(shown))
    return Section("timeline", "Timeline", (figure, *_events(shown)), page=2)


def excerpt(timeline: Timeline) -> Timeline | None:
    """The prompts and watches in order that fit into the strips of one page; None where none is short enough.

    They begin one before the first that stands out, or at the beginning where none does.
    """
    short = [span for span in timeline.spans if span.ended_s - span.began_s <= STRIP_S]
    if not short:
        return None
    first = next((place for place, span in enumerate(short) if span.unwanted_s or span.voided), 0)
    begin, *others = short[max(0, first - 1) :]
    shown = replace(timeline, spans=(begin,), occurrences=())
    for span in others:
        more = replace(shown, spans=(*shown.spans, span))
        if len(strips(more, STRIP_S)) > MOST_STRIPS_IN_SHORT:
            break
        shown = more
    ended_s = shown.spans[-1].ended_s
    return replace(shown, occurrences=tuple(o for o in timeline.occurrences if begin.began_s <= o.at_s <= ended_s))


def _figures(timeline: Timeline) -> Iterator[Figure]:
    """The picture in parts that each fit on a sheet; in plain characters it stands whole in the first."""
    first, *rest = timeline_svgs(timeline)
    yield Figure(timeline.description, first, timeline_text(timeline))
    for part, svg in enumerate(rest, 2):
        yield Figure(f"The timeline continued, part {part} of {len(rest) + 1}", svg, "These strips are shown above.")


def _events(timeline: Timeline) -> tuple[Block, ...]:
    """What the letters and flags of the picture stand for, in the order of time."""
    listed = [(span.began_s, span.name, span.title) for span in timeline.spans if span.title]
    listed += [(each.at_s, f"event {number}", each.text) for number, each in enumerate(timeline.occurrences, 1)]
    rows = [(sign, minutes(at_s), what) for at_s, sign, what in sorted(listed, key=lambda row: row[0])]
    if not rows:
        return ()
    more = f", the first {MOST_EVENTS} of {len(rows)}" if len(rows) > MOST_EVENTS else ""
    return (Table(f"Letters and events in the timeline{more}", ("Sign", "At", "What"), tuple(rows[:MOST_EVENTS])),)


def timeline_of(run: RunFacts) -> Timeline | None:
    """Prompts, watches and what happened between them; None when nothing was read."""
    drawn = [(began, item) for item in run.stands.of(Entry) if (began := _began(run, item)) is not None]
    if not drawn:
        return None
    origin = drawn[0][0].moment
    letters = _letters()
    spans = [_span(began, item, origin, letters) for began, item in drawn]
    told = [
        Occurrence(max(0.0, (record.moment - origin).total_seconds()), said)
        for record in run.records
        if record.moment >= origin and (said := _told(record.entry))
    ]
    return Timeline(tuple(spans), tuple(told), f"the first prompt at {origin:%H:%M:%S}")


def _told(entry: Entry) -> str:
    """What happened between prompts and watches; empty for anything else."""
    match entry:
        case HoldOpened(title=title):
            return f"hold point: {title}"
        case HoldReleased():
            return "hold point released"
        case Interrupted(what=what):
            return f"interruption: {what}"
    return ""


def _began(run: RunFacts, item: Item[Entry]) -> Record[_Began] | None:
    """The newest beginning before it; None for what is no trial, no watch and no moves."""
    begun: Sequence[Record[_Began]] = ()
    match item.entry:
        case Trial():
            begun = run.of(TrialBegan)
        case Watch():
            begun = run.of(WatchBegan)
        case Moves():
            begun = run.of(MovesBegan)
    before = [each for each in begun if each.sequence < item.record.sequence]
    return before[-1] if before else None


def _letters() -> Iterator[str]:
    """A, B, ... Z, AA, AB and so on."""
    return ("".join(letters) for length in count(1) for letters in product(ascii_uppercase, repeat=length))


def _span(began: Record[_Began], item: Item[Entry], origin: datetime, letters: Iterator[str]) -> Span:
    start_s = max(0.0, (began.moment - origin).total_seconds())
    unwanted = _changes(item)
    match item.entry, began.entry:
        case Trial() as trial, _:
            return _trial(trial, start_s, unwanted)
        case Watch(readings=readings, taken_s=taken_s) as watch, _:
            said = f"; {counted(len(unwanted), 'unwanted change') if item.counts else NOT_COUNTED}"
            return _watch(next(letters), watch.title, watch.presence, readings, start_s, taken_s, unwanted, said)
        case Moves(readings=readings, taken_s=taken_s), MovesBegan(title=title):
            return _watch(next(letters), title, None, readings, start_s, taken_s, (), "")
    raise TypeError(f"{item.entry.kind()} is neither a trial nor a watch nor moves")


def _trial(trial: Trial, start_s: float, unwanted_s: Sequence[float]) -> Span:
    seen = _seen((*trial.before, *trial.dwell), start_s)
    steady_s = start_s + trial.countdown_s
    readings = run_length(readings_of(trial.dwell))
    void = f" Set aside: {trial.void_reason}." if trial.void_reason else ""
    said = f"declared {trial.presence.value}; {readings}; {counted(len(unwanted_s), 'unwanted change')}.{void}"
    return Span(
        name=str(trial.number),
        said=f"Trial {trial.number}, {trial.instruction.value}: {said}",
        before=trial.presence.other if trial.timed.moved else trial.presence,
        presence=trial.presence,
        began_s=start_s,
        steady_s=steady_s,
        ended_s=max([steady_s + trial.dwell_s, *(each.at_s for each in seen)]),
        seen=seen,
        unwanted_s=tuple(start_s + at_s for at_s in unwanted_s),
        voided=bool(trial.void_reason),
    )


def _watch(
    letter: str,
    title: str,
    presence: Presence | None,
    readings: Readings,
    start_s: float,
    taken_s: float,
    unwanted_s: Sequence[float],
    judged: str,
) -> Span:
    """A watch, or test moves: in these the reading is meant to change."""
    seen = _seen(readings, start_s)
    declared = "nothing declared" if presence is None else f"declared {presence.value}"
    return Span(
        name=letter,
        title=title,
        said=f"{letter}, {title}: {declared}; {run_length(readings_of(readings))}{judged}.",
        before=presence,
        presence=presence,
        began_s=start_s,
        steady_s=seen[0].at_s if seen else start_s,
        ended_s=max([start_s + taken_s, *(each.at_s for each in seen)]),
        seen=seen,
        unwanted_s=tuple(start_s + at_s for at_s in unwanted_s),
    )


def _seen(readings: Readings, start_s: float) -> tuple[Seen, ...]:
    return tuple(Seen(start_s + each.at_s, each.reading) for each in sorted(readings, key=lambda each: each.at_s))


def _changes(item: Item[Entry]) -> list[float]:
    """When the reading changed unasked, in seconds from the prompt."""
    known = [each for each in unasked(item) if each.reading is not Reading.UNKNOWN]
    return [after.at_s for before, after in pairwise(known) if before.reading is not after.reading]
