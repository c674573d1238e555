"""Benches on which a share of the answers to one part of a check brings no reading of the switch.

The parts are the watches and trials of the real procedures; the patterns say which of a part's answers are damaged. A
damaged answer is a whole one in which the filament line is missing, or has one letter of its name changed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

from commission.asking.request import Hold
from commission.asking.steps import Steps
from commission.conductor.conductor import Ended
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import Acceptance, Judgement
from commission.jobs.check import periodic_check
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.meeting.identity import Surroundings
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import DeviceBench
from tests.support.fake_bench import FakeBench
from tests.support.fake_desk import FakeDesk

Known = Callable[[int], bool]
"""Whether the answer of this number, from 0 within its part, is whole."""
MISSING = b"Reporting endstop status\nx_min: open\nok\n"
RENAMED = b"Reporting endstop status\nx_min: open\nfilAment: open\nok\n"
PLAN = Plan(seed=20, cycles=6, countdown_s=1.0)
SUBJECT = Subject(
    Surroundings("bench-3", PortIdentity("", "", "", "fake")),
    "R. Okafor",
    date(2031, 3, 14),
    PLAN,
    switch="filament",
    steady_s=30.0,
)


@dataclass(frozen=True)
class Part:
    """One watch, or the trials, of a check.

    Attributes:
        keys: what the keys of its requests begin with.
        criterion: by which it is judged.
        check: the subject of the periodic check it belongs to; None for the loop check of an installation.
        answers: what is answered otherwise than usual.
    """

    keys: tuple[str, ...]
    criterion: str
    check: Subject | None = None
    answers: Mapping[str, Any] = field(default_factory=dict)


MOTORS = {"moving.how": "motors"}
BRIEF, UNATTENDED = SUBJECT, replace(SUBJECT, unattended=True)
PARTS: Mapping[str, Part] = {
    "wiggle": Part(("wiggle",), "wiggle"),
    "moving watch": Part(("moving",), "steadiness while the machine moves", answers=MOTORS),
    "unplugged watch": Part(("unplugged.",), "unplugged"),
    "moves while unplugged": Part(("still_plugged.",), "unplugged"),
    "start-up watch": Part(("start_up",), "start-up"),
    "trials": Part(("trial.",), "polarity"),
    "steady watch, unattended": Part(("steady",), "steadiness", UNATTENDED),
    "steady watch, brief check": Part(("steady",), "steadiness", BRIEF),
    "wiggle, brief check": Part(("wiggle",), "wiggle", BRIEF),
    "trials, brief check": Part(("trial.",), "misreads", BRIEF),
}
TWO_AT = 35
"""Beyond any countdown, so that the two readings stand among those that count."""


def patterns(seed: int) -> Mapping[str, Known]:
    """The patterns of the table; those by chance differ with the seed."""
    chance = Random(seed)  # noqa: S311 - repeatable, not secret
    by_chance = [chance.random() for _ in range(5000)]
    return {
        "0 readings": lambda _number: False,
        "2 of 600": lambda number: number in (TWO_AT, TWO_AT + 1),
        "50 % unread, every second": lambda number: number % 2 == 0,
        "50 % unread, by chance": lambda number: by_chance[number % 5000] < 0.5,
        "95 % unread, by chance": lambda number: by_chance[number % 5000] < 0.05,
        "95 % unread, every twentieth whole": lambda number: number % 20 == 0,
    }


def procedure_of(part: Part) -> Steps[Any]:
    """The whole check in which the part is done."""
    return loop_check(PLAN, "filament") if part.check is None else periodic_check(part.check)


def belongs(key: str, part: Part) -> bool:
    """Whether a request belongs to the part; a look beforehand and a question do not."""
    return key.startswith(part.keys) and not key.endswith((".before", ".ready", ".again", ".how", ".release"))


def verdicts_of(desk: FakeDesk, part: Part) -> dict[str, str]:
    """The verdict of each criterion, of the part itself and of the whole; *not judged* where none was reached."""
    kind: type[Judgement] = Acceptance if part.check is None else CheckJudged
    found = desk.findings.get(kind)
    if found is None:
        return {"part": "not judged", "whole": "not judged"}
    criteria = {each.name: each.verdict.value for each in found.criteria}
    return criteria | {"part": criteria.get(part.criterion, "not judged"), "whole": found.verdict.value}


class UnreadBench(FakeBench):
    """A bench on which some answers to one part bring no reading; `damaged` is what comes instead."""

    def __init__(self, folder: Path, part: Part, known: Known, damaged: bytes = MISSING) -> None:
        super().__init__(folder)
        self._part = part
        self._known = known
        self._damaged = damaged
        self._asked_in_part = 0
        self.answers = part.answers.get
        self.surprise = self._damage

    async def check(self) -> Ended[Any]:
        """Carry out the procedure this part belongs to."""
        return await self.run(procedure_of(self._part))

    @property
    def criteria(self) -> dict[str, str]:
        """The verdict of each criterion and of the whole, by its name."""
        return verdicts_of(self.desk, self._part)

    def _damage(self, _queries: int) -> bytes | None:
        if not (self.desk.asked and belongs(self.desk.asked[-1], self._part)):
            return None
        number = self._asked_in_part
        self._asked_in_part += 1
        return None if self._known(number) else self._damaged


DEEDS: Mapping[str, tuple[str, ...]] = {
    "trial.insert": ("insert",),
    "trial.withdraw": ("withdraw",),
    "loop_check.ready": ("withdraw",),
    "wiggle.ready": ("insert",),
    "still_plugged.insert": ("insert",),
    "still_plugged.withdraw": ("withdraw",),
}
AT_HOLDS: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "unplug.1": (("unplug", "board"),),
    "unplug.2": (),
    "unplug.reconnect": (("plug",), ("insert",)),
}


class UnreadPrinter(DeviceBench):
    """The same on the simulated printer: its own hands, its own power, and a wire that damages some answers."""

    def __init__(self, folder: Path, unit: str, part: Part, known: Known) -> None:
        super().__init__(Printer(load_profile(unit)), folder)
        self.speed_baud = 4_800
        self._part = part
        self._known = known
        self._asked_in_part = 0
        self.answers = self._do
        self.desk.at_hold = self._power_off
        self.on_the_wire = self._damage

    async def check(self) -> Ended[Any]:
        """Carry out the procedure this part belongs to."""
        return await self.run(procedure_of(self._part))

    @property
    def criteria(self) -> dict[str, str]:
        """The verdict of each criterion and of the whole, by its name."""
        return verdicts_of(self.desk, self._part)

    def _do(self, key: str) -> bool | str | None:
        if key in DEEDS:
            self.printer.perform(*DEEDS[key])
            self.clock.pass_time(1.0)
        answer: bool | str | None = self._part.answers.get(key)
        return False if answer is None and key.endswith(".now") else answer

    def _power_off(self, request: Hold) -> None:
        self.printer.perform("mains", "off")
        self.printer.perform("usb", "out")
        self.links[-1].lose()
        for deed in AT_HOLDS.get(request.key, ()):
            self.printer.perform(*deed)
        self.clock.pass_time(5.0)
        self.printer.perform("usb", "in")
        if request.key == "unplug.reconnect":
            self.printer.perform("mains", "on")

    def _damage(self, data: bytes) -> bytes:
        if b"filament" not in data or not self.desk.asked or not belongs(self.desk.asked[-1], self._part):
            return data
        number = self._asked_in_part
        self._asked_in_part += 1
        return data if self._known(number) else data.replace(b"filament", b"fi1ament")
