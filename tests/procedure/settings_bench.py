"""Plays the settings phases against a simulated printer in simulated time: no port, no person, no waiting."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import Any, Generic, Protocol, TypeVar

from commission.asking.form import Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    PhaseBegins,
    PhaseEnds,
    Recall,
    Release,
)
from commission.asking.reread import Reread
from commission.asking.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps
from commission.dialect.commands import Effect
from commission.dialect.framing import RawLine
from commission.dialect.replies import ReplyKind, acknowledgement, classify
from commission.evidence.findings.base import Finding
from commission.procedure.settings.record import Sheet
from commission.session import End, Exchange
from tests.fake_printer.line import Host
from tests.settings.memory import FakeMemory
from tests.support.kept_findings import KeptFindings
from tests.support.phase_answers import PhaseAnswers

SHEET = Sheet("bench-3", "2026-03-14")
T = TypeVar("T")


class FakePrinter(Protocol):
    """What the bench asks of a printer: lines for a line, and its power taken away and given back."""

    def ask(self, text: str) -> list[str]:
        """Everything that comes back for one line; no acknowledgement when it was lost."""
        ...

    def power_cycle(self) -> list[str]:
        """Off and on; returns what it says by itself."""
        ...

    def reflash(self) -> list[str]:
        """Another firmware goes on it; returns what it says by itself."""
        ...


class FakeUnit:
    """A unit of the simulated printer, with the unit whose build it is given at a reflash."""

    def __init__(self, unit: str, build: str = "") -> None:
        self.host = Host(unit)
        self.build = build
        self.sent: list[str] = []

    def ask(self, text: str) -> list[str]:
        """Send it and give it time."""
        self.sent.append(text)
        lines = self.host.ask(text)
        for _ in range(50):
            if any(acknowledgement(line) is not None for line in lines):
                break
            lines += self.host.after(0.1)
        return lines

    def power_cycle(self) -> list[str]:
        """Mains and USB out and in."""
        self.host.printer.perform("power-cycle", "1")
        return self.host.after(8)

    def reflash(self) -> list[str]:
        """The build goes on the board; then the port is opened, which restarts the board once more."""
        self.host.do("reflash", self.build, settle_s=6)
        self.host.lines()
        self.host.printer.host_attached()
        return self.host.after(6)

    def settings(self) -> dict[str, dict[str, float]]:
        """The working values that are true of the printer."""
        told: Any = self.host.printer.state()["settings"]
        return dict(told)


class FakeStore:
    """A printer that is nothing but its settings: working values, a store, and the defaults of a new firmware.

    Steer it by the two reports; `faults` maps a number of a sent settings line (from 1) to what happens instead of
    taking it: `ignored`, `restart`, `no answer`.
    """

    def __init__(self, report: str, new_defaults: str, faults: Mapping[int, str] | None = None) -> None:
        self._working = FakeMemory(report)
        self._stored = report
        self._defaults = report
        self._new = new_defaults
        self._faults = dict(faults or {})
        self._lines = 0
        self.sent: list[str] = []

    def ask(self, text: str) -> list[str]:
        """Answer as the widespread family does."""
        self.sent.append(text)
        word = text.split(maxsplit=1)[0]
        if word == "M503":
            return [f"echo:{line}" for line in self._working.report().splitlines()] + ["ok"]
        if word == "M500":
            self._stored = self._working.report()
            return ["echo:Settings Stored (100 bytes; crc 1)", "ok"]
        if word in ("M501", "M502"):
            self._working = FakeMemory(self._stored if word == "M501" else self._defaults)
            return [*(f"echo:{line}" for line in self._working.report().splitlines()), "ok"]
        if word in ("M115", "M78"):
            return [f'echo:Unknown command: "{text}"', "ok"]
        return self._take(text)

    def _take(self, text: str) -> list[str]:
        self._lines += 1
        fault = self._faults.pop(self._lines, "")
        if fault == "restart":
            self.power_cycle()
            return ["start"]
        try:
            if fault != "ignored":
                self._working.take(text)
        except (LookupError, StopIteration):
            return [f'echo:Unknown command: "{text}"', "ok"]
        return [] if fault == "no answer" else ["ok"]

    def power_cycle(self) -> list[str]:
        """Start from what is stored."""
        self._working = FakeMemory(self._stored)
        return ["start", "echo:V87 stored settings retrieved (100 bytes; crc 1)"]

    def reflash(self) -> list[str]:
        """The new firmware begins with its defaults, without a word."""
        self._defaults = self._stored = self._new
        self._working = FakeMemory(self._new)
        return ["start"]

    def report(self) -> str:
        """The working values."""
        return self._working.report()


@dataclass
class Played(Generic[T]):
    """What came of a phase: its result, and everything it said and sent."""

    result: T | None = None
    told: list[str] = field(default_factory=list)
    findings: KeptFindings = field(default_factory=KeptFindings)
    punches: list[Punch] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)
    interruption: Interruption | None = None

    def said(self, kind: type[Finding]) -> str:
        """The sentences of the newest finding of that kind."""
        return " ".join(self.findings[kind].sentences)


Answers = Mapping[str, object]
NOTHING_DONE = "nothing done"
"""The answer to a hold point that is released with nothing done at it."""


class SettingsBench:
    """Carries out the requests of a phase.

    Steer it by `answers`: pattern of keys to answer; what no pattern matches is answered yes. `earlier` is the book's
    older findings, `found` those of this run before; `spoil` changes what the book gives back. `remembered` gives a
    done phase its answers again.
    """

    def __init__(
        self,
        printer: FakePrinter,
        answers: Answers | None = None,
        *,
        earlier: Iterable[Finding] = (),
        found: Iterable[Finding] = (),
        spoil: Callable[[Finding], Finding] = lambda finding: finding,
    ) -> None:
        self.printer = printer
        self.answers = dict(answers or {})
        self._earlier = KeptFindings(earlier)
        self.found = KeptFindings(found)
        self._spoil = spoil
        self._released: dict[str, frozenset[Effect]] = {}
        self.entered: list[Enter] = []
        self.remembered = PhaseAnswers()

    def play(self, steps: Steps[T]) -> Played[T]:
        """Run it to its end, or to what interrupts it."""
        played: Played[T] = Played()
        response: object = None
        broken: Interruption | None = None
        while True:
            try:
                request = steps.send(response) if broken is None else steps.throw(Interrupted(broken))
            except StopIteration as end:
                played.result = end.value
                return played
            except Interrupted as interrupted:
                played.interruption = interrupted.interruption
                return played
            response, broken = None, None
            try:
                response = self._fulfil(request, played)
                self.remembered.note(request, response)
            except Interrupted as interrupted:
                broken = interrupted.interruption

    def _fulfil(self, request: object, played: Played[T]) -> object:
        match request:
            case Form():
                return {}  # each of its questions is asked alone
            case Tell():
                played.told += [request.heading, *request.lines]
            case Establish():
                played.findings.keep(request.finding)
            case Punch():
                played.punches.append(request)
            case PhaseBegins() | PhaseEnds():
                pass
            case Reread():
                return self.remembered.of(request.phase)
            case Ask() | Keep() | Recall() | Fingerprint():
                return self._by_machine(request, played)
            case _:
                return self._by_hand(request, played)
        return None

    def _by_machine(self, request: Ask | Keep | Recall | Fingerprint, played: Played[T]) -> object:
        match request:
            case Ask():
                return self._exchange(request)
            case Keep():
                played.files[request.name] = request.text
                return request.name
            case Recall():
                return self._recall(request, played)
            case Fingerprint():
                return None

    def _by_hand(self, request: object, played: Played[T]) -> object:
        assert isinstance(request, Confirm | Choose | Enter | Hold | Release), request
        played.asked.append(request.key)
        answer = next((said for pattern, said in self.answers.items() if fnmatchcase(request.key, pattern)), True)
        match request:
            case Hold():
                if answer == NOTHING_DONE:
                    return HoldReleased(port="fake")
                heard = self.printer.reflash() if request.reflash else self.printer.power_cycle()
                return HoldReleased(restarted=True, port="fake", heard=tuple(heard))
            case Release():
                self._released[request.key] = request.effects if answer is True else frozenset()
                return answer
            case Choose():
                return answer if isinstance(answer, str) else request.options[0].key
            case Enter():
                self.entered.append(request)
                return answer if isinstance(answer, str) else ""
        return answer

    def _recall(self, request: Recall, played: Played[T]) -> Finding | None:
        if request.earlier:
            return self._earlier.get(request.kind)
        found = played.findings.get(request.kind) or self.found.get(request.kind)
        return None if found is None else self._spoil(found)

    def _exchange(self, request: Ask) -> Exchange:
        effect = request.command.effect
        if effect is not Effect.READ_ONLY:
            assert effect in self._released.get(request.release, frozenset()), f"{request.command.text}: not released"
        replies = tuple(classify(RawLine.of(line)) for line in self.printer.ask(request.command.text))
        if any(reply.kind is ReplyKind.BANNER for reply in replies):
            raise Interrupted(Interruption(InterruptionKind.BOARD_RESTARTED, "a boot line came"))
        if not any(reply.kind is ReplyKind.ACKNOWLEDGED for reply in replies):
            raise Interrupted(Interruption(InterruptionKind.NO_ANSWER, "the printer did not answer"))
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.0)
