"""Loop check, wiring, diagnosis and periodic check on simulated units, by hands that do what is asked."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from commission.asking.steps import Steps
from commission.jobs.borrow import borrow_run
from commission.jobs.check import periodic_check
from commission.jobs.function import function_run
from commission.jobs.wiring_share import follow_up, prepare_wiring
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.cause.diagnose import diagnose
from commission.procedure.check.condition import Subject
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.function.reserve import offered_reserve
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.loop.pull_proof import proven_pull
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.wiring.declaration import assessed
from tests.procedure.borrow_bench import HANDS, METERED, SOCKET, WIRED
from tests.procedure.path_hands import PathHands
from tests.procedure.transcripts.recorder import OFTEN, Recorder, Scene

SWITCH = "filament"
LEFTOVER_MM = 18.0
PLAN = Plan(seed=20, cycles=6, readings_per_dwell=5, dwell_s=0.4, wiggle_s=10, wiggle_readings=50)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "socket://127.0.0.1:7000"))
SUBJECT = Subject(HERE, "R. Okafor", date(2031, 3, 14), PLAN, steady_s=1.0)
USUAL: Mapping[str, Any] = {
    "moving.how": "no",
    "far_end.now": False,
    "mechanical.drag_n": "0.2",
    "function.mode": "warm",
    "function.material": "PLA",
    "function.celsius": "210",
}
TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
LIGHT_GATE = {"sensor": "open-collector", "conducts-when": "in", "pull": "up", "absent": "high"}
LENGTHS = {
    "reserve.trip_to_gear": "40",
    "reserve.gear_to_nozzle": "60",
    "reserve.job": "known",
    "reserve.queue": "3",
    "reserve.retract": "0",
}
DECLARED: Mapping[str, Any] = {
    **{f"wiring.{name}": answer for name, answer in TWO_WIRES.items()},
    "wiring.wires": "2",
    "wiring.pressed-when": "in",
    "wiring.pull-by": "board",
    "wiring.logic": "3.3",
    "wiring.supply": "",
    "claims.name": "RUNOUT",
    "claims.also": "none",
    "meter.supply_ground_in": "open",
    "meter.supply_ground_out": "open",
    "meter.signal_ground_in": "joined",
    "meter.signal_ground_out": "open",
    "meter.header_v": "3.3",
}
SHORTING: Mapping[str, Any] = {
    **DECLARED,
    "wiring.wires": "3",
    "wiring.common": "ground",
    "wiring.no-side": "supply",
    "wiring.nc-side": "signal",
}


def by_hands(
    unit: str, steps: Callable[[], Steps[Any]], answers: Mapping[str, Any] = USUAL, often: int = OFTEN, plug: str = ""
) -> Scene:
    """Steps carried out by hands at a unit; `plug` is the end at which the sensor is unplugged beforehand."""

    def run(recorder: Recorder) -> object:
        hands = PathHands(unit, (), {**USUAL, **answers}, LEFTOVER_MM)
        if plug:
            hands.host.do("unplug", plug)
        return hands.carry_out(recorder.of(steps()))

    return Scene(run, often)


class BorrowHands(PathHands):
    """Hands at a unit with a socket to borrow: they do what each prompt of that job says, and read that socket."""

    def __init__(self) -> None:
        super().__init__("borrowed-socket", (), {**USUAL, **WIRED, **METERED}, LEFTOVER_MM)
        self.deeds |= HANDS
        self.places |= HANDS
        self.laid |= HANDS

    def _word(self) -> str | None:
        words = [line.split()[1] for line in self.host.ask("M119") if line.startswith(f"{SOCKET}:")]
        return words[0] if words else None


def borrowed() -> Steps[object]:
    """The whole job of borrowing a socket."""
    return (yield from borrow_run(PLAN, "R. Okafor", HERE))


def tested(mode: Mode) -> Callable[[], Steps[object]]:
    """A function test with one provoked pause."""
    return lambda: function_run(FunctionPlan(mode=mode, leftover_max_mm=22, pauses=1), "R. Okafor", HERE)


def reserved() -> Steps[object]:
    """The reserve as an installation offers it."""
    return (yield from offered_reserve(20.0))


def checked() -> Steps[object]:
    """The loop check."""
    return (yield from loop_check(PLAN, SWITCH))


def wired() -> Steps[object]:
    """The wiring's share of an installation."""
    return (yield from prepare_wiring(SWITCH))


def wired_and_checked() -> Steps[object]:
    """The wiring's share of an installation, the loop check, and what follows from both."""
    yield from wired()
    found = yield from loop_check(PLAN, SWITCH)
    yield from follow_up(found, PLAN, SWITCH)
    return found


def diagnosed(answers: Mapping[str, str]) -> Callable[[], Steps[object]]:
    """The diagnosis from nothing."""
    return lambda: diagnose(assessed(answers), [], PLAN, SWITCH)


def pull() -> Steps[object]:
    """The proof of the pull, the sensor unplugged."""
    return (yield from proven_pull(PLAN, SWITCH))


MOTORS = {"moving.how": "motors", "far_end.now": True}
LOOP_UNITS = (
    "thin-filament",
    "inverted-right-contact",
    "noisy-contact",
    "stuck-active",
    "input-driven",
    "cable-chafed",
)
CAUSE_UNITS = ("sound", "two-errors-cancel", "motor-noise", "pull-missing", "sticky-lever", "floating", "thin-filament")
HANDS_RUNS: Mapping[str, Scene] = {
    "loop check": by_hands("sound", checked, MOTORS, 1),
    "loop check of a fail-danger": by_hands("two-errors-cancel", checked, often=1),
    "loop check of a loose wire": by_hands("loose-wire", checked, often=0),
    "loop check of a floating input": by_hands("floating", checked, often=0),
    **{f"loop check of {unit}": by_hands(unit, checked, MOTORS, 0) for unit in LOOP_UNITS},
    "pull by resistors": by_hands("sound", pull, {"pull.how": "resistors"}, plug="board"),
    "pull by meter": by_hands("sound", pull, {"pull.how": "meter"}, plug="board"),
    "pull by voltmeter": by_hands("sound", pull, {"pull.how": "volts"}, plug="board"),
    "pull that is missing": by_hands("pull-missing", pull, plug="board"),
    "wiring": by_hands("sound", wired, DECLARED),
    "wiring that shorts the supply": by_hands("sound", wired, SHORTING),
    "wiring and a lever that sticks": by_hands("stuck-active", wired_and_checked, DECLARED, 0),
    "wiring and a sound unit": by_hands("sound", wired_and_checked, DECLARED, 0),
    "diagnosis of a loose wire": by_hands("loose-wire", diagnosed(TWO_WIRES), often=0),
    "diagnosis of a dead output": by_hands("stuck-inactive", diagnosed(TWO_WIRES), often=1),
    "diagnosis of a light gate": by_hands("optical", diagnosed(LIGHT_GATE), often=0),
    **{f"diagnosis of {unit}": by_hands(unit, diagnosed(TWO_WIRES), often=0) for unit in CAUSE_UNITS},
    "borrowed socket": Scene(lambda recorder: BorrowHands().carry_out(recorder.of(borrowed())), 1),
    "reserve": by_hands("sound", reserved, LENGTHS),
    "warm function test": by_hands("sound", tested(Mode.WARM)),
    "cold function test": by_hands("sound", tested(Mode.DRY)),
    "periodic check": by_hands("sound", lambda: periodic_check(SUBJECT), often=1),
    "unattended check": by_hands("sound", lambda: periodic_check(replace(SUBJECT, unattended=True)), often=1),
}
