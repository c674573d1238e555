"""The timeline of a run: its prompts and watches as they are drawn."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

from commission.drawing.timeline import Occurrence, Seen, Span, Timeline, minutes, timeline_svg
from commission.drawing.timeline_plain import timeline_text
from commission.judge.wording import counted
from commission.report.blocks import Block, Figure, Section, Table
from commission.report.record import Event, RunFacts
from commission.report.trials import counted_rows, readings_of, run_length
from commission.vocabulary import Instruction, Presence, Reading

_EVENTS: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "hold_opened": lambda facts: f"hold point: {facts['title']}",
    "hold_released": lambda facts: "hold point released",
    "interruption": lambda facts: f"interruption: {facts['what']}",
}
MOST_EVENTS = 60


def timeline_section(run: RunFacts) -> Section:
    """The picture, where anything was read at a prompt or in a watch."""
    timeline = timeline_of(run)
    blocks: tuple[Block, ...] = ()
    if timeline is not None:
        blocks = (Figure(timeline.description, timeline_svg(timeline), timeline_text(timeline)), *_events(timeline))
    return Section("timeline", "Timeline", blocks)


def _events(timeline: Timeline) -> tuple[Block, ...]:
    told = timeline.occurrences
    rows = [(str(number), minutes(each.at_s), each.text) for number, each in enumerate(told, 1)][:MOST_EVENTS]
    if not rows:
        return ()
    more = f", the first {MOST_EVENTS} of {len(told)}" if len(told) > MOST_EVENTS else ""
    return (Table(f"Events in the timeline{more}", ("Event", "At", "What"), tuple(rows)),)


def timeline_of(run: RunFacts) -> Timeline | None:
    """Prompts, watches and what happened between them; None when nothing was read."""
    begun = run.of("trial_began", "watch_began")
    taken = run.of("trial", "watch")
    if not taken:
        return None
    origin = begun[0].at
    spans = [_span(_began(begun, event), event, origin) for event in taken]
    told = [
        Occurrence(max(0.0, (event.at - origin).total_seconds()), _EVENTS[event.kind](event.facts))
        for event in run.of(*_EVENTS)
        if event.at >= origin
    ]
    return Timeline(tuple(spans), tuple(told), f"the first prompt at {origin:%H:%M:%S}")


def _began(begun: Sequence[Event], taken: Event) -> Event:
    """The newest beginning before it."""
    return max((event for event in begun if event.sequence < taken.sequence), key=lambda event: event.sequence)


def _span(began: Event, taken: Event, origin: datetime) -> Span:
    start_s = (began.at - origin).total_seconds()
    facts = taken.facts
    trial = taken.kind == "trial"
    rows = [*facts["before"], *facts["dwell"]] if trial else facts["readings"]
    seen = tuple(Seen(start_s + row[0], Reading(row[1])) for row in rows)
    steady_s = start_s + (facts["countdown_s"] if trial else seen[0].at_s - start_s if seen else 0.0)
    length_s = facts["countdown_s"] + facts["dwell_s"] if trial else facts["taken_s"]
    presence = Presence(facts["presence"]) if facts["presence"] else None
    return Span(
        name=str(facts["number"]) if trial else facts["title"],
        said=_said(taken, len(changes := _changes(taken))),
        before=_before(facts, presence) if trial else presence,
        presence=presence,
        began_s=start_s,
        steady_s=steady_s,
        ended_s=max([steady_s, start_s + length_s, *(each.at_s for each in seen)]),
        seen=seen,
        unwanted_s=tuple(start_s + at_s for at_s in changes),
        voided=bool(facts.get("void_reason")),
    )


def _before(facts: Any, presence: Presence | None) -> Presence | None:
    if presence is None or facts["instruction"] == Instruction.LEAVE.value:
        return presence
    return presence.other


def _changes(taken: Event) -> list[float]:
    """When the reading changed unasked, in seconds from the prompt."""
    known = [row for row in counted_rows(taken) if row[1] != Reading.UNKNOWN.value]
    return [after[0] for before, after in pairwise(known) if before[1] != after[1]]


def _said(taken: Event, changes: int) -> str:
    facts = taken.facts
    name = f"Trial {facts['number']}, {facts['instruction']}" if taken.kind == "trial" else str(facts["title"])
    readings = readings_of(facts["dwell"] if taken.kind == "trial" else facts["readings"])
    void = f" Voided: {facts['void_reason']}." if facts.get("void_reason") else ""
    declared = facts["presence"] or "not declared"
    return f"{name}: declared {declared}; {run_length(readings)}; {counted(changes, 'unwanted change')}.{void}"
