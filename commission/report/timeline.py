"""The timeline of a run: its prompts and watches as they are drawn."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import count, pairwise, product
from string import ascii_uppercase
from typing import Any

from commission.drawing.timeline import Occurrence, Seen, Span, Timeline, minutes, timeline_svgs
from commission.drawing.timeline_plain import timeline_text
from commission.judge.wording import counted
from commission.report.document import Block, Figure, Section, Table
from commission.report.record import Event, RunFacts
from commission.report.trials import counted_rows, readings_of, run_length
from commission.vocabulary import Instruction, Presence, Reading

_EVENTS: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "hold_opened": lambda facts: f"hold point: {facts['title']}",
    "hold_released": lambda _: "hold point released",
    "interruption": lambda facts: f"interruption: {facts['what']}",
}
MOST_EVENTS = 60


def timeline_section(run: RunFacts) -> Section:
    """The picture, where anything was read at a prompt or in a watch."""
    timeline = timeline_of(run)
    blocks: tuple[Block, ...] = ()
    if timeline is not None:
        blocks = (*_figures(timeline), *_events(timeline))
    return Section("timeline", "Timeline", blocks)


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
    begun = {"trial": run.of("trial_began"), "watch": run.of("watch_began"), "moves": run.of("moves_began")}
    pairs = [(_began(begun[taken.kind], taken), taken) for taken in run.of(*begun)]
    drawn = [(began, taken) for began, taken in pairs if began is not None]
    if not drawn:
        return None
    origin = drawn[0][0].at
    letters = _letters()
    spans = [_span(began, taken, origin, letters) for began, taken in drawn]
    told = [
        Occurrence(max(0.0, (event.at - origin).total_seconds()), _EVENTS[event.kind](event.facts))
        for event in run.of(*_EVENTS)
        if event.at >= origin
    ]
    return Timeline(tuple(spans), tuple(told), f"the first prompt at {origin:%H:%M:%S}")


def _began(begun: Sequence[Event], taken: Event) -> Event | None:
    """The newest beginning before it."""
    before = [event for event in begun if event.sequence < taken.sequence]
    return before[-1] if before else None


def _letters() -> Iterator[str]:
    """A, B, ... Z, AA, AB and so on."""
    return ("".join(letters) for length in count(1) for letters in product(ascii_uppercase, repeat=length))


def _span(began: Event, taken: Event, origin: datetime, letters: Iterator[str]) -> Span:
    start_s = max(0.0, (began.at - origin).total_seconds())
    return _trial(taken, start_s) if taken.kind == "trial" else _watch(began, taken, start_s, next(letters))


def _trial(taken: Event, start_s: float) -> Span:
    facts = taken.facts
    presence = Presence(facts["presence"])
    seen = _seen([*facts["before"], *facts["dwell"]], start_s)
    steady_s = start_s + facts["countdown_s"]
    readings = run_length(readings_of(facts["dwell"]))
    void = f" Voided: {facts['void_reason']}." if facts["void_reason"] else ""
    changes = _changes(taken)
    said = f"declared {presence.value}; {readings}; {counted(len(changes), 'unwanted change')}.{void}"
    return Span(
        name=str(facts["number"]),
        said=f"Trial {facts['number']}, {facts['instruction']}: {said}",
        before=presence if facts["instruction"] == Instruction.LEAVE.value else presence.other,
        presence=presence,
        began_s=start_s,
        steady_s=steady_s,
        ended_s=max([steady_s + facts["dwell_s"], *(each.at_s for each in seen)]),
        seen=seen,
        unwanted_s=tuple(start_s + at_s for at_s in changes),
        voided=bool(facts["void_reason"]),
    )


def _watch(began: Event, taken: Event, start_s: float, letter: str) -> Span:
    """A watch, or test moves: in these the reading is meant to change."""
    facts = taken.facts
    presence = Presence(facts["presence"]) if facts.get("presence") else None
    seen = _seen(facts["readings"], start_s)
    changes = [] if taken.kind == "moves" else _changes(taken)
    declared = "nothing declared" if presence is None else f"declared {presence.value}"
    judged = "" if taken.kind == "moves" else f"; {counted(len(changes), 'unwanted change')}"
    readings = run_length(readings_of(facts["readings"]))
    return Span(
        name=letter,
        title=str(began.facts["title"]),
        said=f"{letter}, {began.facts['title']}: {declared}; {readings}{judged}.",
        before=presence,
        presence=presence,
        began_s=start_s,
        steady_s=seen[0].at_s if seen else start_s,
        ended_s=max([start_s + facts["taken_s"], *(each.at_s for each in seen)]),
        seen=seen,
        unwanted_s=tuple(start_s + at_s for at_s in changes),
    )


def _seen(rows: Sequence[Sequence[Any]], start_s: float) -> tuple[Seen, ...]:
    return tuple(Seen(start_s + row[0], Reading(row[1])) for row in sorted(rows, key=lambda row: float(row[0])))


def _changes(taken: Event) -> list[float]:
    """When the reading changed unasked, in seconds from the prompt."""
    known = [row for row in counted_rows(taken) if row[1] != Reading.UNKNOWN.value]
    return [after[0] for before, after in pairwise(known) if before[1] != after[1]]
