"""Plays a phase with answers made up beforehand; there is no port, no person and no book behind it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from commission.asking.form import Answers, Form, Known
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Recall, Request
from commission.asking.reread import Reread
from commission.asking.steps import Steps
from commission.desk.forms import Filling
from commission.evidence.findings.base import Finding
from tests.support.kept_findings import KeptFindings
from tests.support.phase_answers import PhaseAnswers

_T = TypeVar("_T")


@dataclass
class Played(Generic[_T]):
    """What a phase came to: its result, its findings, its open items, everything told and asked."""

    result: _T
    findings: KeptFindings = field(default_factory=KeptFindings)
    items: list[Punch] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@dataclass
class ScriptedPhase:
    """Answers what a phase asks.

    Steer it by `answers` (by key of the question; a list is used up one by one), by `recalled` (findings of earlier
    runs) and `recalled_here` (of this run), and by `other` for every other request. A question without an
    answer is answered with yes, an entry with an empty text. `remembered` gives a done phase its answers again.
    `typed` are the lines that close a sheet, by its key; a sheet without any is asked question by question.
    """

    answers: Mapping[str, Any] = field(default_factory=dict)
    recalled: Sequence[Finding] = ()
    recalled_here: Sequence[Finding] = ()
    other: Callable[[Request], Any] = lambda _request: None
    remembered: PhaseAnswers = field(default_factory=PhaseAnswers)
    typed: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def play(self, steps: Steps[_T]) -> Played[_T]:
        """Run it to its end."""
        played: Played[Any] = Played(None)
        response: Any = None
        while True:
            try:
                request = steps.send(response)
            except StopIteration as end:
                played.result = end.value
                return played
            response = self._respond(request, played)
            self.remembered.note(request, response)

    def _respond(self, request: Request, played: Played[Any]) -> Any:
        match request:
            case Confirm() | Choose() | Enter():
                played.asked.append(request.key)
                return self._answer(request)
            case Recall():
                return KeptFindings(self.recalled if request.earlier else self.recalled_here).get(request.kind)
            case Form() | Known():
                return self._filled(request) if isinstance(request, Form) else request.answer
            case Reread():
                return self.remembered.of(request.phase)
            case Establish():
                played.findings.keep(request.finding)
            case Punch():
                played.items.append(request)
            case Tell():
                played.told += [request.heading, *request.lines]
            case _:
                return self.other(request)
        return None

    def _filled(self, sheet: Form) -> Answers:
        filling = Filling(sheet)
        for line in self.typed.get(sheet.key, ()):
            assert not filling.take(line)
        assert filling.closed is (sheet.key in self.typed)
        return filling.answers if filling.closed else {}

    def _answer(self, request: Confirm | Choose | Enter) -> Any:
        default: Any = {Confirm: True, Enter: ""}.get(type(request))
        answer = self.answers.get(request.key, default)
        return answer.pop(0) if isinstance(answer, list) else answer
