"""Whoever does what the screen says never opens or touches anything with power on it, and finds every sentence true.

The jobs are gone through with answers by chance, by a person who does at each hold point what its steps say and nothing
else. What the steps do is read from their words by `PowerWorld`, which takes nothing from the procedures.
"""

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import cache, partial
from random import Random
from typing import Any

import pytest

from commission.asking.cautions import SUPPLY_SHORT
from commission.asking.message import Establish, Punch, Tell
from commission.asking.moving import RunMoves
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Hold,
    PhaseBegins,
    Release,
    Request,
    TakeTrial,
    Watch,
)
from commission.asking.response import InterruptionKind
from commission.asking.steps import Steps
from commission.desk import show
from commission.dialect.commands import Effect
from commission.jobs.borrow import borrow_run
from commission.jobs.check import periodic_check
from commission.jobs.diagnosis import diagnose_run
from commission.jobs.function import function_run
from commission.jobs.install import install_run
from commission.jobs.settings import backup_run, restore_run
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.vocabulary import PunchClass, Reading
from tests.settings.reports import OLDEST
from tests.support.fake_workshop import FakeWorkshop, Interruptions, Unit
from tests.support.power_world import Contradiction, PowerWorld, followed, need
from tests.support.sweeps import WHOLE, as_many

SEEDS = as_many(8, 30)
DAY = date(2031, 3, 14)
PLAN = Plan(seed=20, cycles=6, readings_per_dwell=5, dwell_s=0.5, wiggle_s=1, wiggle_readings=10)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "memory"))
SHEET = Sheet("bench-3", DAY.isoformat())
KNOWN = Background(HERE, Calendar(DAY, DAY))
SUBJECT = Subject(HERE, "R. Okafor", DAY, PLAN, steady_s=1.0)
RECORD = SettingsRecord(tuple(OLDEST.splitlines()), "printer", DAY.isoformat())
REPAIRS = (Advice.NONE, Advice.CHANGE_CONTACT, Advice.INVERT_LOGIC, Advice.CHANGE_BOTH)

JOBS: dict[str, Callable[[], Steps[Any]]] = {
    "brief check": lambda: periodic_check(SUBJECT),
    "full check": lambda: periodic_check(replace(SUBJECT, full=True)),
    "diagnose": lambda: diagnose_run(PLAN, HERE),
    "backup": lambda: backup_run(SHEET, KNOWN),
    "restore": lambda: restore_run(SHEET, [("1", RECORD)], KNOWN),
}
JOBS["borrow"] = partial(borrow_run, PLAN, "me", HERE)
JOBS |= {f"install, {repair.value}": partial(install_run, PLAN, "me", KNOWN, SHEET, repair) for repair in REPAIRS}
JOBS |= {f"function, {mode.value}": partial(function_run, FunctionPlan(mode), "me", HERE) for mode in Mode}
NOBODY_KNOWS = ("borrow", "diagnose", "install, nothing to change")
"""The jobs that may begin with the sensor unplugged; in the others it was plugged in when it was tested before."""

READINGS = [(Reading.ACTIVE, Reading.INACTIVE), (Reading.INACTIVE, Reading.ACTIVE), (Reading.ACTIVE,) * 2]
UNITS = [Unit(*reads, rests) for reads in READINGS for rests in (Reading.ACTIVE, Reading.INACTIVE)]
BOARD = {"pressed-when": "in", "pull": "up", "pull-by": "board", "absent": "high", "logic": "3.3", "supply": "3.3"}
CHANGEOVER = {"sensor": "switch", "wires": "3"} | BOARD
WIRINGS: list[dict[str, str]] = [
    {},
    {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground"} | BOARD,
    {"common": "signal", "no-side": "ground", "nc-side": "supply"} | CHANGEOVER,
    {"common": "ground", "no-side": "supply", "nc-side": "signal"} | CHANGEOVER,
    {"sensor": "push-pull", "output-when-in": "low"} | BOARD,
]
"""By chance, or one that is right, one that is right with three wires, one that is forbidden, a driven one."""
METERED = {"supply_ground_in": "open", "supply_ground_out": "open", "signal_ground_in": "joined", "header_v": "3.3"}
HOLD_POINTS = {
    "wiring.change",
    "sensor.unplug",
    "sensor.plug_in",
    "meter.unplug",
    "meter.plug_in",
    "meter.leave_out",
    "unplug.1",
    "unplug.2",
    "pull.clips",
    "far_end.hold",
    "unplug.reconnect",
    "proof.power_cycle",
    "function.power",
    "restore.power",
    "watching.power",
    "reflash.hold",
    "reflash.power",
    "repair.change_contact",
    "repair.invert_logic",
    "diagnose.meter.hold",
    "diagnose.bridged.hold",
    "diagnose.unplugged_at_board.hold",
    "diagnose.unplugged_at_sensor.hold",
    "diagnose.reconnect.hold",
    "borrow.meter.hold",
    "borrow.empty",
    "borrow.plug",
    "borrow.back",
}
"""Every hold point there is, but those at which the diagnosis plugs in again before a test."""

LEAVE_IT_OUT = ("wiring.change", "meter.leave_out", "sensor.unplug", "diagnose.reconnect.hold", "borrow.back")
"""The hold points after which the sensor may stay unplugged, with the printer closed and on."""


class Person:
    """Does what the words say, and holds each sentence against how things stand.

    The world is steered by `world`; `holds` are the hold points met, by their keys, `left_out` is whether the sensor is
    unplugged because the steps say to leave it so, or was so at first.
    """

    def __init__(self, world: PowerWorld) -> None:
        self.world = world
        self.holds: dict[str, Hold] = {}
        self.left_out = not world.at_board

    def before(self, request: Request) -> None:
        """Read what is said, and look whether what is about to be done can be."""
        if isinstance(request, Hold):
            self._hold(request)
            return
        for text in texts(request):
            self.world.check(text)
        self._look(request)

    def _hold(self, request: Hold) -> None:
        self.holds[request.key] = request
        for text in (request.title, *request.cautions):
            self.world.check(text)
        followed(self.world, request.steps)
        self.left_out = (self.left_out or request.key in LEAVE_IT_OUT) and not self.world.at_board
        self.world.check(request.release)
        need(self.world.readable, f"after {request.key} the printer cannot be asked who it is: {self.world}")

    def _look(self, request: Request) -> None:
        world = self.world
        match request:
            case Ask():
                need(world.readable, f"{request.command.text} is asked without power or USB: {world}")
                if request.command.effect in (Effect.MOTION, Effect.HEAT):
                    need(world.in_use, f"{request.command.text}: {world}")
            case RunMoves():
                need(world.in_use and world.sensor_in_place, f"moves with the printer not closed and on: {world}")
            case TakeTrial():
                borrowed = world.readable and world.in_socket and world.at_sensor and not world.leads
                need(borrowed or (world.in_use and world.sensor_in_place), f"a trial without the sensor: {world}")
            case Watch(key=key):
                read = self._watched_on_the_socket if key.startswith("borrow.") else self._watched
                need(read(key), f"{request.key} is read with the bench otherwise: {world}")
            case Choose() if request.key.startswith("meter.s"):
                need(not world.at_board, f"ohms are measured at a cable that is on the board: {world}")
            case Confirm() | Choose() | Enter():
                need(world.readable, f"{request.key} is asked while the printer cannot be heard: {world}")

    def _watched(self, key: str) -> bool:
        world = self.world
        off_board = world.readable and not world.at_board
        if key.startswith("unplugged.") or key == "diagnose.unplugged_at_board":
            return off_board and not world.bridged
        if key.startswith("pull."):
            return off_board and world.leads
        if key == "diagnose.bridged":
            return off_board and world.bridged
        if key in ("far_end", "diagnose.unplugged_at_sensor"):
            return world.readable and world.at_board and not world.at_sensor
        if key.startswith("still_plugged"):
            return world.readable and not (world.at_board and world.at_sensor)
        return world.in_use and world.sensor_in_place

    def _watched_on_the_socket(self, key: str) -> bool:
        world = self.world
        empty = world.readable and not world.endstop and not world.in_socket
        if key == "borrow.small":
            return empty and world.leads
        return empty or (key != "borrow.rest" and world.endstop and world.in_use)


def texts(request: Request) -> Iterator[str]:
    """Everything a person reads of a request that is no hold point."""
    match request:
        case Tell() if request.lines != SUPPLY_SHORT:  # those are steps, and are followed after an interruption
            yield from (request.heading, *request.lines)
        case Confirm() | Enter():
            yield from (*request.lines, request.question)
        case Choose():
            yield from (*request.lines, request.question)
            yield from (text for option in request.options for text in (option.label, option.meaning))
        case Watch() | Release():
            yield from (request.title, *request.lines)
        case RunMoves():
            yield from (request.title, *request.lines, request.deed)
        case Establish():
            yield from (*request.finding.sentences, *request.briefly)
        case Punch() if not request.settled_by and request.text != SUPPLY_SHORT[0]:
            yield from (request.text, request.cure)
        case PhaseBegins():
            yield request.title


def at_work(name: str, seed: int, interruptions: Interruptions | None = None) -> tuple[FakeWorkshop, Person]:
    """A person and a workshop for this job, by chance; the same seed gives the same."""
    random = Random(f"{name} {seed}")  # noqa: S311 - repeatable, not secret
    begins_plugged = name not in NOBODY_KNOWS or random.random() < 0.5
    person = Person(PowerWorld(usb_powers=random.random() < 0.6, at_board=begins_plugged))
    answers: dict[str, Any] = {f"wiring.{key}": answer for key, answer in random.choice(WIRINGS).items()}
    if random.random() < 0.6:
        answers |= {f"meter.{key}": answer for key, answer in METERED.items()}
    answers["sensor.plugged_in"] = answers["sensor.forbidden"] = lambda: person.world.at_board
    answers["watching.distance"] = "20"  # what the printer says that it is set to
    answers["diagnose.next"] = lambda: random.choices(("now", "cannot", "stop"), (8, 1, 1))[0]
    answers["unplug.ready"] = lambda: random.random() < 0.6  # without it a full check takes its power cycle
    answers["start_up.as_before"] = lambda: random.choice(("yes", "now"))
    workshop = FakeWorkshop(random, random.choice(UNITS), answers, yes=0.85, before=person.before)
    workshop.interruptions = interruptions or Interruptions()
    if name == "borrow":
        _borrowed(workshop, person)
        return workshop, person
    workshop.plugged_in = lambda: person.world.at_board and person.world.at_sensor
    return workshop, person


def _borrowed(workshop: FakeWorkshop, person: Person) -> None:
    """The socket is read by what is plugged into it; a press of the endstop's own switch stands for filament in."""
    world = person.world

    def before(request: Request) -> None:
        person.before(request)
        if isinstance(request, Watch) and request.key in ("borrow.press", "borrow.let_go"):
            workshop.present = request.key == "borrow.press"

    workshop.before = before
    if workshop.random.random() < 0.8:  # else what is on the socket, and how it is wired, is answered by chance
        wired = {f"wiring.{key}": answer for key, answer in WIRINGS[1].items()}
        lent = {"borrow.socket": "x_min", "borrow.on_it": "switch", "wiring.stands": "keep"}
        workshop.unit = Unit()
        workshop.answers = {**workshop.answers, **wired, **lent}
    workshop.plugged_in = lambda: world.endstop or (world.in_socket and world.at_sensor)


@cache
def walked(name: str) -> dict[str, Hold]:
    """Go many ways through a job; the hold points that were met, by their keys."""
    met: dict[str, Hold] = {}
    ended = 0
    for seed in range(SEEDS):
        workshop, person = at_work(name, seed)
        ended += workshop.carry_out(JOBS[name]()) is not None
        met |= person.holds
        assert person.world.in_use, (seed, person.world, workshop.asked[-20:])
        assert person.world.sensor_in_place or person.left_out, (seed, person.world, workshop.asked[-20:])
    assert ended >= SEEDS // 8, f"of {SEEDS} ways through {name} only {ended} came to their end"
    return met


@pytest.mark.swept
@pytest.mark.parametrize("name", JOBS)
def test_every_way_through_a_job_can_be_followed_by_its_words(name: str) -> None:
    """Nothing is opened or touched with power on it, readings are taken with it, and no sentence is untrue."""
    walked(name)


@pytest.mark.swept
def test_every_hold_point_is_among_the_ways_that_are_walked() -> None:
    """What is not met proves nothing: each hold point that exists comes up."""
    met = {key for name in JOBS for key in walked(name)}

    assert HOLD_POINTS <= met or not WHOLE, HOLD_POINTS - met
    assert {key for key in met - HOLD_POINTS if not key.startswith("diagnose.")} == set()


@pytest.mark.swept
def test_every_hold_point_stands_whole_on_a_small_screen() -> None:
    """With the line being typed below it, none is higher than 24 rows of 80 columns."""
    high = {}
    for name in JOBS:
        for key, request in walked(name).items():
            out = io.StringIO()
            show.put(show.console(out), show.hold(request), 80)
            high[key] = out.getvalue().count("\n")

    assert {} == {key: rows for key, rows in high.items() if rows + 1 > 24}


@pytest.mark.swept
@pytest.mark.parametrize("name", JOBS)
def test_whatever_breaks_off_says_how_the_printer_was_left(name: str) -> None:
    """Interrupted anywhere with the printer apart, an unsafe item says so, and its cure puts the printer together."""
    for seed in range(SEEDS):
        chance = Interruptions(0.02, (InterruptionKind.OPERATOR_STOP, InterruptionKind.LINK_LOST))
        workshop, person = at_work(name, seed, chance)

        workshop.carry_out(JOBS[name]())

        world = person.world
        if world.in_use and (world.sensor_in_place or person.left_out):
            continue
        left = [item for item in workshop.items if item.grade is PunchClass.UNSAFE and item.settled_by]
        assert left, (seed, world, workshop.asked[-5:])
        if not left[-1].cure.startswith("Go through its steps."):
            assert followed(world, [left[-1].cure]).in_use


def test_a_suspected_short_is_met_in_one_order_that_can_be_followed() -> None:
    """Power switch and USB first, then the mains plug, then the sensor; the meter decides, at a cable that is free."""
    for usb_powers in (True, False):
        world = followed(PowerWorld(usb_powers=usb_powers), SUPPLY_SHORT)

        assert (True, False) == (world.dead, world.at_board)


@pytest.mark.parametrize(
    ("steps", "wrong"),
    [
        (("Open the cover, if it is closed.",), "opened with the mains plug in"),
        (("Switch the printer off and pull its mains plug, if it is not out yet.", "Open the cover, if it is closed.",
          "Touch the frame, then unplug the sensor's cable at the main board."), "with mains or USB in"),
        (("Leave the mains plug out.",), "not out"),
        (("Switch the printer off and pull its mains plug, if it is not out yet.", "Open the cover, if it is closed.",
          "Plug the mains plug and the USB cable in and switch the printer on."), "cover open"),
        (("Leave the sensor unplugged.",), "not unplugged"),
        (("Close the cover, or leave the mains plug out.",), "no deed is known"),
    ],
)  # fmt: skip
def test_a_step_that_cannot_be_followed_is_found(steps: tuple[str, ...], wrong: str) -> None:
    """The reading of the words finds what it is there to find."""
    with pytest.raises(Contradiction, match=wrong):
        followed(PowerWorld(), steps)


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ("The mains plug is still out.", "nothing is known"),
        ("The input is read with the sensor unplugged.", "is not so"),
        ("Is the sensor unplugged at the board and USB plugged back in?", "is not so"),
    ],
)
def test_a_sentence_that_is_not_so_is_found(said: str, wrong: str) -> None:
    """A sentence about power that is not known, or is not true as things stand, is an error."""
    with pytest.raises(Contradiction, match=wrong):
        PowerWorld().check(said)
