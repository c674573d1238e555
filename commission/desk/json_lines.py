"""The desk of a soak that a program reads: one JSON object a line, and nobody is asked."""

import json
from collections.abc import Mapping
from typing import TextIO

from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Watch
from commission.asking.response import WatchTaken
from commission.clock import Clock
from commission.desk.base import Status
from commission.desk.narrator import Narrator
from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk
from commission.desk.wording import clean

EVERY_S = 10.0
"""How often progress is said; what happens is said at once."""


class JsonLinesDesk(ScriptedDesk):
    """Answers from a script as its base does, and prints objects with `event` and the values that belong to it.

    `progress` has watched_s, left_s, changes, at_most_per_hour, around, reading; `said` has heading and lines;
    `established` has name and sentences; `open_item` has class, text and cure. Anything else that is printed is `said`.
    """

    def __init__(self, script: OperatorScript, out: TextIO, clock: Clock, variables: Mapping[str, str]) -> None:
        super().__init__(script, out, clock, variables)
        self._now = clock.monotonic
        self._narrator: _JsonNarrator = _JsonNarrator(out, self._stop.nobody_there)
        self._said_s: float | None = None

    def show(self, status: Status) -> None:
        """Say how far the soak is, every ten seconds."""
        now_s = self._now()
        if status.soak is None or (self._said_s is not None and now_s - self._said_s < EVERY_S):
            return
        self._said_s = now_s
        reading = None if status.reading is None else status.reading.value
        self._narrator.event("progress", **vars(status.soak), reading=reading)


class _JsonNarrator(Narrator):
    """Writes events instead of sentences."""

    def event(self, event: str, **values: object) -> None:
        """One object on a line of its own."""
        self._write(json.dumps({"event": event, **values}) + "\n")

    def say(self, *lines: str) -> None:
        """Anything that has no event of its own."""
        if any(lines):
            self.event("said", heading="", lines=[line for line in lines if line])

    def ring(self) -> None:
        """A program hears no bell."""

    def tell(self, message: Tell) -> None:
        """Say a message."""
        self.event("said", heading=clean(message.heading), lines=[clean(line) for line in message.lines])

    def begin_watch(self, request: Watch) -> None:
        """The progress says it."""

    def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """What it saw is said as a finding."""

    def establish(self, finding: Establish) -> None:
        """Say a finding."""
        found = finding.finding
        self.event("established", name=found.name(), sentences=[clean(each) for each in found.sentences])

    def punch(self, item: Punch) -> None:
        """Say an open item."""
        self.event("open_item", **{"class": item.grade.value}, text=clean(item.text), cure=clean(item.cure))
