"""What was done, phase by phase, with times."""

from collections.abc import Callable, Mapping
from typing import Any

from commission.report.blocks import Paragraph, Section, Table
from commission.report.findings import shown, title_of, words
from commission.report.record import Event, RunFacts, texts

OUTSIDE = "Before and between the phases"

_SILENT = frozenset(
    {
        "run_started",
        "run_ended",
        "traffic",
        "phase_started",
        "phase_ended",
        "told",
        "asked",
        "trial_began",
        "watch_began",
        "recall",
        "recalled",
        "fingerprint_asked",
        "file_asked",
        "release_asked",
        "result",
    }
)
"""Entries that are told with the one that answers them, or elsewhere in the report."""


def work_section(run: RunFacts) -> Section:
    """The run as it went, trials folded to their count."""
    parts, rows, title = [], [], OUTSIDE
    questions = {event.facts.get("key"): event for event in run.of("asked", "release_asked")}
    trials = 0
    for event in run.events:
        if event.kind == "trial":
            trials += 1
            if trials == 1:
                rows.append((event.clock, "The trials began; each is in the trial table."))
            continue
        if event.kind == "phase_started":
            parts.append((title, rows))
            title, rows = str(event.facts["title"]), [(event.clock, "The phase began.")]
        elif event.kind == "phase_ended":
            parts.append((title, [*rows, (event.clock, "The phase ended.")]))
            title, rows = OUTSIDE, []
        said = _said(event, questions)
        if said:
            rows.append((event.clock, said))
    parts.append((title, rows))
    tables = tuple(
        Section(f"work-{index}", name, (Table(f"{name}, step by step", ("Time", "What"), tuple(done)),))
        for index, (name, done) in enumerate(parts, 1)
        if done
    )
    return Section("work", "What was done", (Paragraph("Times are local to the run's own zone.", "quiet"),), tables)


def _said(event: Event, questions: Mapping[Any, Event]) -> str:
    if event.kind in _SILENT:
        return ""
    facts = event.facts
    if event.kind in ("answered", "release_answered"):
        asked = questions.get(facts.get("key"))
        given = facts.get("answer", facts.get("granted"))
        return f"{_question(asked, str(facts.get('key')))} Answer: {shown(given)}."
    if event.kind == "finding":
        return f"Established: {title_of(event).lower()}."
    if event.kind in _TOLD:
        return _TOLD[event.kind](facts)
    return f"{words(event.kind).capitalize()}: {shown(facts)}."


def _question(asked: Event | None, key: str) -> str:
    if asked is None:
        return f"{key}:"
    return str(asked.facts.get("question") or f"Release: {asked.facts.get('title')}?")


def _opened(facts: Mapping[str, Any]) -> str:
    restarted = " The board restarted on opening." if facts.get("restarted") else ""
    return f"Port {facts['port']} answered at {facts.get('speed_baud')} Bd.{restarted}"


def _released(facts: Mapping[str, Any]) -> str:
    port = f" The printer answered on {facts['port']}." if facts.get("port") else ""
    same = "" if facts.get("same_identity", True) else " It announces itself differently than before."
    return f"Hold point released by the operator.{port}{same}"


_TOLD: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "opening": lambda facts: f"Port {facts['port']} was to be opened.",
    "opened": _opened,
    "intent": lambda facts: f"Sent {facts['command']}: {facts['purpose']} ({facts['effect']}).",
    "hold_opened": lambda facts: f"Hold point: {facts['title']}. " + " ".join(texts(facts.get("steps"))),
    "hold_released": _released,
    "phase_abandoned": lambda facts: f"The phase was abandoned: {facts['why']}.",
    "interruption": lambda facts: f"Interruption: {facts['what']}. {facts.get('detail', '')}".strip(),
    "file_kept": lambda facts: f"File kept: {shown(facts)}.",
    "punch": lambda facts: f"Open item, class {facts['grade']}: {facts['text']}",
    "watch": lambda facts: f"Watched: {facts['title']}, {len(facts['readings'])} readings.",
}
