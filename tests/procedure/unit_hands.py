"""Carries out a procedure on a simulated unit in this process: its readings, a pair of hands and a meter."""

import math
from collections.abc import Callable
from typing import Any, TypeVar

from commission.asking.form import Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.moving import MoveDone, MovesEnd, MovesRun, RunMoves
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Hold,
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
from commission.dialect.replies import ReplyKind, classify
from commission.evidence.findings.base import Finding
from commission.session import End, Exchange
from commission.vocabulary import Instruction, Reading
from fake_printer.circuit import Link, solve
from tests.fake_printer.line import Host
from tests.support.kept_findings import KeptFindings
from tests.support.phase_answers import PhaseAnswers

_T = TypeVar("_T")
SILENT_LIMIT = 5
WORDS = {"TRIGGERED": Reading.ACTIVE, "open": Reading.INACTIVE}
PLACES: dict[str, list[tuple[str, ...]]] = {
    "diagnose.unplugged_at_board.hold": [("plug",), ("unplug", "board")],
    "diagnose.unplugged_at_sensor.hold": [("plug",), ("unplug", "sensor")],
    "diagnose.bridged.hold": [("plug",), ("unplug", "board"), ("short", "signal-ground")],
    "diagnose.meter.hold": [("plug",), ("unplug", "board")],
    "meter.unplug": [("unplug", "board")],
    "meter.leave_out": [],
    "wiring.change": [("unplug", "board")],
    "sensor.unplug": [("unplug", "board")],
    "unplug.1": [("unplug", "board")],
    "unplug.2": [("unplug", "board")],
    "pull.clips": [],
    "far_end.hold": [("plug",), ("unplug", "sensor")],
    "unplug.reconnect": [("plug",), ("insert",)],
}
DEEDS: dict[str, list[tuple[str, ...]]] = {
    "diagnose.filament_in": [("withdraw",), ("insert",)],
    "diagnose.filament_out": [("insert",), ("withdraw",)],
    "diagnose.cable_worked": [("insert",), ("shake", "20")],
    "diagnose.worked_by_hand": [("withdraw",), ("press-lever",)],
    "moving_wiggle.before": [("insert",)],
    "wiggle.before": [("insert",)],
    "wiggle": [("insert",), ("shake", "60")],
    "pull.free": [("take-away",)],
    "still_plugged.insert": [("insert",)],
    "still_plugged.withdraw": [("withdraw",)],
}
LAID: dict[str, list[tuple[str, ...]]] = {
    "pull.lay.small": [("lay", "1k", "signal-ground")],
    "pull.lay.large": [("lay", "220k", "signal-ground")],
    "pull.lay.small_again": [("lay", "1k", "signal-ground")],
    "pull.lay.large_again": [("lay", "220k", "signal-ground")],
}
"""What the hands lay between the leads before they answer."""
TRIALS = {Instruction.INSERT: ("insert",), Instruction.WITHDRAW: ("withdraw",)}


class ScriptedHands:
    """An operator at a simulated unit.

    Steer it by `answer`: the key of a request to its answer, None for the usual one (a test asked for is done, a meter
    reading is taken from the unit, yes), and by `earlier`: the findings of earlier runs. `asked` holds the keys of all
    requests, `held` the hold points by key, `findings` what was established, `sent` the commands that do more than
    read. `before_watch` and `before_hold` are called with the key of each watch and hold point; `deeds` holds what the
    hands do in a watch, `places` what they do at a hold point, and `powers_off` says whether the power is off at it.
    `remembered` gives a done phase its answers again.
    """

    def __init__(self, unit: str, answer: Callable[[str], Any] = lambda _key: None, *, seed: int = 0) -> None:
        self.host = Host(unit, seed=seed)
        self.asked: list[str] = []
        self.told: list[str] = []
        self.items: list[Punch] = []
        self.briefly: dict[type[Finding], tuple[str, ...]] = {}
        self.findings = KeptFindings()
        self.earlier = KeptFindings()
        self.sent: list[str] = []
        self.question = ""
        self.questions: list[str] = []
        self.lines: list[str] = []
        self.before_watch: Callable[[str], Any] = lambda _key: None
        self.deeds = dict(DEEDS)
        self.places = dict(PLACES)
        self.laid = dict(LAID)
        self.before_hold: Callable[[str], Any] = lambda _key: None
        self.held: dict[str, list[Hold]] = {}
        self.powers_off: Callable[[str], bool] = lambda _key: True
        self.remembered = PhaseAnswers()
        self._answer = answer

    def answer_with(self, answer: Callable[[str], Any]) -> None:
        """Answer by another function from now on; `question` is what is being asked."""
        self._answer = answer

    def carry_out(self, steps: Steps[_T]) -> _T:
        """Run the steps to their end; what interrupts a watch is thrown into them."""
        response: object = None
        interruption: Interruption | None = None
        while True:
            try:
                request = steps.send(response) if interruption is None else steps.throw(Interrupted(interruption))
            except StopIteration as end:
                result: _T = end.value
                return result
            response, interruption = None, None
            try:
                response = self._fulfil(request)
                self.remembered.note(request, response)
            except Interrupted as broken:
                interruption = broken.interruption

    def _fulfil(self, request: Request) -> object:  # noqa: C901, PLR0911, PLR0912 - one case a request
        self.asked.append(getattr(request, "key", ""))
        match request:
            case Form():
                return {}  # each of its questions is asked alone
            case Tell():
                self.told += [request.heading, *request.lines]
                return None
            case Establish():
                self.findings.keep(request.finding)
                self.briefly[type(request.finding)] = request.briefly
                return None
            case Punch():
                self.items.append(request)
                return None
            case PhaseBegins() | PhaseEnds():
                return None
            case Recall():
                return self._recalled(request)
            case Reread():
                return self.remembered.of(request.phase)
            case Watch():
                return self._watch(request)
            case Hold():
                return self._hold(request)
            case TakeTrial():
                if request.instruction in TRIALS:
                    self.host.do(*TRIALS[request.instruction])
                return TrialTaken((), self._readings(request.readings, request.dwell_s))
            case RunMoves():
                return self._moves(request)
            case Ask():
                return self._exchange(request)
            case Release():
                given = self._answer(request.key)
                return True if given is None else given
            case Confirm() | Choose() | Enter():
                self.question = request.question
                self.questions += [request.question, *request.lines]
                self.lines += request.lines
                for deed in self.laid.get(request.key, []):
                    self.host.do(*deed)
                given = self._answer(request.key)
                return self._usual(request) if given is None else given
        raise AssertionError(f"these hands know no {type(request).__name__}")

    def _recalled(self, request: Recall) -> Finding | None:
        return (self.earlier if request.earlier else self.findings).get(request.kind)

    def _exchange(self, request: Ask) -> Exchange:
        if request.release:
            self.sent.append(request.command.text)
        lines = [line for line in self.host.ask(request.command.text) if line != "ok"]
        replies = tuple(classify(RawLine.of(line)) for line in lines)
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.1)

    def _usual(self, request: Confirm | Choose | Enter) -> bool | str:
        if isinstance(request, Choose):
            metered = request.key.startswith("diagnose.meter_")
            return self._metered(request.key) if metered else request.options[0].key
        return True if isinstance(request, Confirm) else ""

    def _hold(self, request: Hold) -> HoldReleased:
        self.held.setdefault(request.key, []).append(request)
        self.before_hold(request.key)
        off = request.power and self.powers_off(request.key)
        before: list[tuple[str, ...]] = [
            ("mains", "off"),
            ("usb", "out"),
            ("release-short",),
            ("take-away",),
            ("release-lever",),
        ]
        for deed in before if off else before[2:]:
            self.host.do(*deed)
        gone = not self.host.printer.usb_attached
        for deed in self.places.get(request.key, [("plug",)]):
            self.host.do(*deed)
        for verb, *words in [("usb", "in"), ("mains", "on")] if off else []:
            self.host.do(verb, *words, settle_s=5)
        heard = [classify(RawLine.of(line)).kind for line in self.host.lines()]
        return HoldReleased(restarted=ReplyKind.BANNER in heard, port_gone=gone)

    def _watch(self, request: Watch) -> WatchTaken:
        self.host.do("release-lever")
        self.before_watch(request.key)
        for deed in self.deeds.get(request.key, []):
            self.host.do(*deed)
        self.host.lines()
        readings = self._readings(max(request.readings, 5), request.seconds)
        return WatchTaken(readings, request.seconds, request.seconds / max(1, len(readings) - 1))

    def _moves(self, request: RunMoves) -> MovesRun:
        block_s = request.pattern.block_s
        number = round(request.trip_s / block_s)
        readings: list[TimedReading] = []
        for each in range(number):
            command = request.pattern.command(each).text
            self.sent.append(command)
            self.host.ask(command)
            readings += self._readings(round(10 * block_s) + 1, block_s, block_s * each)
        done = tuple(MoveDone(block_s * each, 0.0, block_s) for each in range(number))
        return MovesRun(MovesEnd.NO_TRIP, done, tuple(readings), (), request.trip_s)

    def _readings(self, count: int, seconds: float, from_s: float = 0.0) -> tuple[TimedReading, ...]:
        """So many, from the first to the last over that time; a printer at rest is not asked what it said before."""
        gap_s, silent = seconds / (count - 1), 0
        readings: list[TimedReading] = []
        while len(readings) < count:
            word = self._word()
            rest = min(self._rests_s(), seconds) / gap_s if gap_s > 0 else 0.0
            alike = min(count - len(readings), max(1, math.ceil(rest - 1e-6)))
            silent = silent + alike if word is None else 0
            if silent >= SILENT_LIMIT:
                raise Interrupted(Interruption(InterruptionKind.NO_ANSWER))
            reading = Reading.UNKNOWN if word is None else WORDS[word]
            moments = range(len(readings), len(readings) + alike)
            readings += [TimedReading(from_s + number * gap_s, reading, word or "") for number in moments]
            self.host.printer.advance(alike * gap_s)
        return tuple(readings)

    def _rests_s(self) -> float:
        """Seconds for which nothing happens that could change the word."""
        printer = self.host.printer
        if printer.board.level == "floating" or printer.disturber.armed:
            return 0.0
        return min(printer.until_next_s(), printer.plant.until_next_s())

    def _word(self) -> str | None:
        """The printer's word for the switch now; None without an answer."""
        return self.host.filament_word()

    def _metered(self, key: str) -> str:
        """What an ohmmeter shows at the cable's free connector; a module without supply conducts nothing."""
        self.host.do("insert" if key.endswith("_in") else "withdraw")
        plant = self.host.printer.plant
        spec = plant.cable
        wires: list[Link] = [(f"board.{n}", f"sensor.{n}") for n, state in spec.conductors.items() if state == "sound"]
        chafed = [f"board.{n}" for n in spec._spec.chafed]
        dry = [c.spec.between for c in plant.contacts if c.closed and not c.spec.needs_supply]
        contacts: list[Link] = [(f"sensor.{ends[0]}", f"sensor.{ends[1]}") for ends in dry]
        found = solve([*wires, *contacts, *([(chafed[0], chafed[1])] if chafed else [])])
        joined = found.supply_shorted if "supply" in key else found.held == "low"
        return "joined" if joined else "apart"
