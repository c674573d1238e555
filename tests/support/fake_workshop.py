"""A printer with a sensor and a person who answers by chance, all in memory: whole jobs are gone through at once.

There is no port, no clock and no circuit behind it: the switch reads by a table, and the printer says little more than
that it was asked.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Any, TypeVar

from commission.asking.message import Establish, Punch, Tell
from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves, Say, TimedSign
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    EntryKind,
    Fingerprint,
    Hold,
    Keep,
    PhaseBegins,
    PhaseEnds,
    Recall,
    Release,
    Request,
    TakeTrial,
    Watch,
)
from commission.asking.reread import Reread
from commission.asking.response import (
    HoldReleased,
    Interrupted,
    Interruption,
    InterruptionKind,
    TimedReading,
    TrialTaken,
    WatchTaken,
)
from commission.asking.steps import Steps
from commission.dialect.framing import RawLine
from commission.dialect.pausing import Question
from commission.dialect.replies import classify
from commission.session import End, Exchange
from commission.vocabulary import Instruction, Presence, Reading
from tests.settings.reports import OLDER
from tests.support.kept_findings import KeptFindings

_T = TypeVar("_T")
IDENTITY = ("FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:Bench 3 EXTRUDER_COUNT:1", "Cap:RUNOUT:1")
AFTER_REFLASH = OLDER.replace("E97.50", "E93.00")
CONTROL = ("echo:Filament runout ON ; Distance 20.00mm ; Host handling OFF",)
NO_ONE_TRIES = 12
"""So often a question is answered by chance; then it is answered so that it is not asked again."""


@dataclass
class Unit:
    """How the sensor reads: with filament in, with filament out, and unplugged."""

    filament_in: Reading = Reading.ACTIVE
    filament_out: Reading = Reading.INACTIVE
    unplugged: Reading = Reading.INACTIVE


@dataclass
class Interruptions:
    """How often a request is interrupted, and by what."""

    chance: float = 0.0
    kinds: tuple[InterruptionKind, ...] = tuple(InterruptionKind)


@dataclass
class FakeWorkshop:
    """Carries steps out.

    Steer it by `unit`, by `answers` (key of a request to its answer; a function is called), by `random`, by `yes` (the
    chance of a yes), by `interruptions`, and by `plugged_in`, which says whether the sensor is. `before` sees each
    request before it is fulfilled: at a hold point it is `before` that does what is to be done. `asked` holds the keys
    of all requests, `items` the open items, `findings` what was established.
    """

    random: Random
    unit: Unit = field(default_factory=Unit)
    answers: Mapping[str, Any] = field(default_factory=dict)
    yes: float = 0.8
    interruptions: Interruptions = field(default_factory=Interruptions)
    before: Callable[[Request], None] = lambda _request: None
    plugged_in: Callable[[], bool] = lambda: True
    present: bool = False
    settings: str = OLDER
    asked: list[str] = field(default_factory=list)
    items: list[Punch] = field(default_factory=list)
    findings: KeptFindings = field(default_factory=KeptFindings)

    def carry_out(self, steps: Steps[_T]) -> _T | None:
        """Run the steps to their end, or to what interrupts them; then None."""
        response: object = None
        broken: Interruption | None = None
        while True:
            try:
                request = steps.send(response) if broken is None else steps.throw(Interrupted(broken))
            except StopIteration as end:
                result: _T = end.value
                return result
            except Interrupted:
                return None
            self.before(request)
            broken = self._interruption(request)
            response = None if broken is not None else self._fulfil(request)

    def _interruption(self, request: Request) -> Interruption | None:
        if isinstance(request, Tell | Establish | Punch | PhaseBegins | PhaseEnds | Recall | Reread):
            return None
        if self.random.random() >= self.interruptions.chance:
            return None
        return Interruption(self.random.choice(self.interruptions.kinds), "by chance")

    def _fulfil(self, request: Request) -> object:
        self.asked.append(getattr(request, "key", ""))
        match request:
            case Establish():
                self.findings.keep(request.finding)
            case Punch():
                self.items.append(request)
            case Recall():
                return None if request.earlier else self.findings.get(request.kind)
            case Reread():
                return ()
            case Keep():
                return f"/papers/{request.name}"
            case Confirm() | Choose() | Enter() | Release() | Fingerprint():
                return self._answered(request)
            case Ask() | TakeTrial() | Watch() | Hold() | RunMoves() | Listen():
                return self._done(request)
            case Tell() | PhaseBegins() | PhaseEnds() | Say():
                pass
        return None

    def _answered(self, request: Confirm | Choose | Enter | Release | Fingerprint) -> object:
        if isinstance(request, Fingerprint):
            return {"name": "new.bin", "place": "/builds", "sha256": "0" * 64, "bytes": 4096}
        if request.key in self.answers:
            given = self.answers[request.key]
            return given() if callable(given) else given
        worn_out = self.asked.count(request.key) > NO_ONE_TRIES
        match request:
            case Choose():
                return request.options[0].key if worn_out else self.random.choice(request.options).key
            case Enter():
                return self._typed(request)
        return worn_out or self.random.random() < self.yes

    def _typed(self, request: Enter) -> str:
        if request.optional and self.random.random() < 0.5:
            return ""
        if request.kind is EntryKind.TEXT:
            return "something"
        least, most = request.least or 0.0, 100.0 if request.most is None else request.most
        return f"{min(max(3.3, least), most):g}"

    def _done(self, request: Ask | TakeTrial | Watch | Hold | RunMoves | Listen) -> object:
        match request:
            case Ask():
                return self._exchange(request)
            case TakeTrial():
                if request.instruction is not Instruction.LEAVE:
                    self.present = request.presence is Presence.IN
                return TrialTaken((), self._readings(request.readings))
            case Watch():
                whole = round(request.seconds / 0.1) + 1  # the last one when the time is up: else too little is watched
                return WatchTaken(self._readings(max(request.readings, 5, whole)), request.seconds, 0.1)
            case RunMoves():
                return self._moves(request)
            case Listen():
                return self._heard(request)
            case Hold():
                if request.reflash:
                    self.settings = self.random.choice((OLDER, AFTER_REFLASH))
                return HoldReleased(restarted=True, port="memory")

    def _exchange(self, request: Ask) -> Exchange:
        word = request.command.text.split(maxsplit=1)[0]
        shown = "TRIGGERED" if self._reading() is Reading.ACTIVE else "open"
        lines = {
            "M115": IDENTITY,
            "M412": CONTROL,
            "M119": ("Reporting endstop status", "x_min: open", f"filament: {shown}"),
            "M503": tuple(self.settings.splitlines()),
            "M27": ("SD printing byte 10/1000" if "function.card_started" in self.asked else "Not SD printing",),
            "M105": ("T:210.0 /0.0 B:20.0 /0.0 @:0 B@:0",),
        }.get(word, ())
        replies = tuple(classify(RawLine.of(line)) for line in lines)
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.1)

    def _reading(self) -> Reading:
        if not self.plugged_in():
            return self.unit.unplugged
        return self.unit.filament_in if self.present else self.unit.filament_out

    def _readings(self, count: int) -> tuple[TimedReading, ...]:
        return tuple(TimedReading(0.1 * place, self._reading(), "word") for place in range(count))

    def _moves(self, request: RunMoves) -> MovesRun:
        end = MovesEnd.NO_TRIP if request.steady else self.random.choice((MovesEnd.STOPPED, *MovesEnd))
        readings = list(self._readings(4))
        if not request.steady and end is not MovesEnd.NO_TRIP:
            self.present = False
            readings += [TimedReading(1.0 + each.at_s, each.reading, each.wire_word) for each in self._readings(4)]
        done = tuple(MoveDone(request.pattern.block_s * place, 1.0, request.pattern.block_s) for place in range(4))
        return MovesRun(end, done, tuple(readings), (), 4.0)

    def _heard(self, request: Listen) -> Heard:
        """What ends the listening: by chance one of the signs that are waited for, or nothing."""
        wanted = sorted(request.until, key=lambda sign: sign.name)
        signs = (TimedSign(0.5, self.random.choice(wanted), "said"),) if wanted and self.random.random() < 0.8 else ()
        question = Question("Go on?", ("Purge more", "Continue")) if self.random.random() < 0.2 else None
        return Heard(signs, question)
