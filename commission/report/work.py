"""What was done, phase by phase, with times."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from commission.judge.power import power_seen
from commission.report.document import Block, Paragraph, Section, Table
from commission.report.in_words import shown, title_of, words
from commission.report.record import Event, RunFacts, texts

BEFORE, AFTER = "Before the first phase", "After this phase"
_Facts = Mapping[str, Any]


def work_section(run: RunFacts) -> Section:
    """The run as it went; the trials are told once and stand in a table of their own."""
    course = _Course()
    for event in run.events:
        course.take(event)
    parts = tuple(
        Section(f"work-{index}", stage.heading, stage.blocks)
        for index, stage in enumerate((each for each in course.stages if each.rows or each.began), 1)
    )
    return Section("work", "What was done", (Paragraph("Times are those of the run's own zone.", "quiet"),), parts)


@dataclass
class _Stage:
    """A phase with the time from its beginning to its end, or what lies between two, with neither."""

    title: str
    began: str = ""
    ended: str = ""
    rows: list[tuple[str, str]] = field(default_factory=list)
    trials: int = 0

    @property
    def heading(self) -> str:
        """The title with the time it took."""
        if not self.began:
            return self.title
        until = f" to {self.ended}" if self.ended else ", without an end"
        return f"{self.title} ({self.began}{'' if self.ended == self.began else until})"

    @property
    def blocks(self) -> tuple[Block, ...]:
        """What was done in it."""
        if not self.rows:
            return (Paragraph("Nothing was asked, sent or found in it.", "quiet"),)
        return (Table("", ("Time", "What was done"), tuple(self.rows)),)


class _Course:
    """Takes the events in order and keeps what is told of them."""

    def __init__(self) -> None:
        self.stages = [_Stage(BEFORE)]
        self._asked: dict[object, str] = {}
        self._before = ""

    def take(self, event: Event) -> None:
        """Tell one event, or keep it for the one that answers it."""
        if event.kind == "phase_started":
            self.stages.append(_Stage(str(event.facts["title"]), began=event.clock))
        stage = self.stages[-1]
        stage.trials += event.kind == "trial"
        said = self._said(event, stage)
        if said and stage.rows and event.kind == self._before == "finding":
            said = f"{stage.rows.pop()[1].removesuffix('.')}, {said.removeprefix('Established: ')}"
        if said:
            stage.rows.append((event.clock, said))
            self._before = event.kind
        if event.kind in ("phase_ended", "phase_abandoned"):
            stage.ended = event.clock
            self.stages.append(_Stage(AFTER))

    def _said(self, event: Event, stage: _Stage) -> str:
        facts = event.facts
        if event.kind == "trial":
            return "The first trial was taken; the table of trials has them all." if stage.trials == 1 else ""
        if event.kind == "asked":
            self._asked[facts["key"]] = str(facts["question"])
        if event.kind == "release_asked":
            self._asked[facts["key"]] = f"Release: {facts['title']}?"
        if event.kind in ("answered", "release_answered"):
            question = self._asked.get(facts["key"], f"{facts['key']}:")
            return f"{question} Answer: {shown(facts.get('answer', facts.get('granted')))}."
        if event.kind in _SILENT:
            return ""
        tell = _TOLD.get(event.kind)
        return f"{title_of(event.kind)}: {shown(facts)}." if tell is None else tell(facts)


def _opened(facts: _Facts) -> str:
    speed = f" at {facts['speed_baud']} Bd" if facts.get("speed_baud") else ""
    restarted = " The board restarted on opening." if facts.get("restarted") else ""
    return f"Port {facts['port']} answered{speed}.{restarted}"


def _released(facts: _Facts) -> str:
    port = f" The printer answered on {facts['port']}." if facts.get("port") else ""
    same = "" if facts.get("same_identity", True) else " It announces itself differently than before."
    restarted, gone = facts.get("restarted") is True, facts.get("port_gone") is True
    seen = f" Power: {power_seen(restarted=restarted, port_gone=gone).value}." if restarted or gone else ""
    return f"Hold point released by the operator.{seen}{port}{same}"


def _told(facts: _Facts) -> str:
    """Only dangers: everything else that was told stands in the report as a caution, the plan or a finding."""
    if facts.get("weight") != "danger":
        return ""
    return " ".join([f"Told, as a danger: {facts.get('heading') or ''}".rstrip(": "), *texts(facts.get("lines"))])


def _kept(facts: _Facts) -> str:
    return f"File kept: {facts.get('path')} ({facts.get('bytes')} bytes, SHA-256 {facts.get('sha256')})."


def _fingerprint(facts: _Facts) -> str:
    return f"File named by its digest: {shown(facts.get('file'))}."


def _moves(facts: _Facts) -> str:
    return f"Test moves: {len(facts['moves'])} acknowledged over {facts['taken_s']:.1f} s; they ended: {facts['end']}."


def _signs(facts: _Facts) -> str:
    """What was heard, the same thing over and over only once, with how often."""
    signs = facts.get("signs")
    heard = [tuple(map(shown, sign[1:])) for sign in signs if isinstance(sign, list)] if isinstance(signs, list) else []
    said = [f"{', '.join(what)}{f' ({times} times)' if times > 1 else ''}" for what, times in Counter(heard).items()]
    return f"Heard: {'; '.join(said)}." if said else "Listened; nothing was heard."


_SILENT = (
    *("run_started", "run_ended", "traffic", "asked", "release_asked", "result", "listening"),
    *("phase_started", "phase_ended", "trial_began", "watch_began", "moves_began"),
    *("recall", "recalled", "reread", "reread_done", "fingerprint_asked", "file_asked"),
)
"""Told with what answers them, or elsewhere in the report."""
_TOLD: Mapping[str, Callable[[_Facts], str]] = {
    "run_resumed": lambda facts: f"The run was taken up again by {facts.get('operator') or 'someone not named'}.",
    "phase_abandoned": lambda facts: f"The phase was abandoned: {facts['why']}.",
    "opening": lambda facts: f"Port {facts['port']} was to be opened.",
    "opened": _opened,
    "told": _told,
    "intent": lambda facts: f"Sent {facts['command']}: {facts['purpose']} ({facts['effect']}).",
    "watch": lambda facts: f"Watched: {facts['title']}; {len(facts['readings'])} readings.",
    "moves": _moves,
    "heard": _signs,
    "hold_opened": lambda facts: " ".join([f"Hold point: {facts['title']}.", *texts(facts["steps"])]),
    "hold_released": _released,
    "file_kept": _kept,
    "fingerprint": _fingerprint,
    "finding": lambda facts: f"Established: {words(str(facts['name']))}.",
    "punch": lambda facts: f"Open item, class {facts['grade']}: {facts['text']}",
    "interruption": lambda facts: f"Interruption: {facts['what']}. {facts.get('detail') or ''}".strip(),
    "made_safe": lambda facts: f"On the way out: {facts.get('sentence') or shown(facts)}",
}
