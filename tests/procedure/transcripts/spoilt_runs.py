"""What goes wrong more than once in trials and watches; whole jobs on a sound unit; single pins."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from typing import Any

from commission.asking.moving import RunMoves
from commission.asking.phase import FROM_THE_START
from commission.asking.request import TakeTrial, Watch
from commission.asking.response import Interrupted, Interruption, InterruptionKind, TimedReading
from commission.asking.steps import Steps
from commission.dialect.family import printer_of
from commission.jobs.check import periodic_check
from commission.jobs.install import install_run
from commission.judge.condition import Measured
from commission.judge.reserve import Path, reserve
from commission.judge.volume import Queue
from commission.procedure.check.condition import Subject
from commission.procedure.function.offer import for_active_tool, not_offered, offered_function_test
from commission.procedure.function.reserve_on_record import ReserveOnRecord, recalled_reserve
from commission.procedure.meeting.as_found import as_found
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.wiring.pin_look import pin_look
from commission.vocabulary import Reading, Spoken, Verdict
from tests.procedure.path_hands import PathHands
from tests.procedure.settings_bench import SHEET
from tests.procedure.transcripts.hands_runs import (
    DECLARED,
    HERE,
    LEFTOVER_MM,
    MOTORS,
    PLAN,
    SUBJECT,
    TWO_WIRES,
    USUAL,
    checked,
    diagnosed,
)
from tests.procedure.transcripts.meeting_runs import TODAY, met_by
from tests.procedure.transcripts.recorder import Scene, ends_turned, turned

Spoil = Callable[[int, Any], Any]
"""What becomes of a response; the number is how often this kind was spoilt before, from 0."""


class SpoilingHands(PathHands):
    """Steer it by `spoils`: patterns of keys, as `trial.*`, to what becomes of the responses to those requests.

    `left` are hold points at which the hands pull no plug; with `idle` they take no power off either.
    """

    def __init__(
        self, spoils: Mapping[str, Spoil], answers: Mapping[str, Any], left: Sequence[str] = (), *, idle: bool = False
    ) -> None:
        super().__init__("sound", (), {**USUAL, **answers}, LEFTOVER_MM)
        self.places |= {key: [("plug",)] for key in left}
        self.powers_off = lambda _key: not idle
        self._spoils = spoils
        self._times: dict[str, int] = {}

    def _at_the_board(self, request: Any) -> object:
        response = super()._at_the_board(request)
        if not isinstance(request, TakeTrial | Watch | RunMoves):
            return response
        key = f"trial.{request.instruction.name}" if isinstance(request, TakeTrial) else request.key
        pattern = next((each for each in self._spoils if fnmatchcase(key, each)), "")
        if not pattern:
            return response
        number = self._times[pattern] = self._times.get(pattern, -1) + 1
        return self._spoils[pattern](number, response)


def spoilt(
    spoils: Mapping[str, Spoil], answers: Mapping[str, Any] | None = None, steps: Callable[[], Steps[Any]] = checked
) -> Scene:
    """A loop check, or other steps, some of whose responses are spoilt."""
    return Scene(lambda recorder: SpoilingHands(spoils, answers or {}).carry_out(recorder.of(steps())), 0)


def left_in(*holds: str, idle: bool = False) -> Scene:
    """A loop check in which the sensor's plug stays in at these hold points."""
    return Scene(lambda recorder: SpoilingHands({}, {}, holds, idle=idle).carry_out(recorder.of(checked())), 0)


def unread(_number: int, taken: Any) -> Any:
    """A trial without a reading."""
    return replace(taken, dwell=tuple(replace(each, reading=Reading.UNKNOWN) for each in taken.dwell), unread=5)


def set_aside(when: Spoken) -> Spoil:
    """A trial that the operator sets aside."""
    return lambda _number, taken: replace(taken, void_reason="it slipped", spoken=when)


def before_set_aside(number: int, taken: Any) -> Any:
    """A trial during which the one before it is set aside, once."""
    return replace(taken, void_before="it slipped") if number == 1 else taken


def at(numbers: tuple[int, ...], spoil: Spoil) -> Spoil:
    """Only these are spoilt."""
    return lambda number, taken: spoil(number, taken) if number in numbers else taken


def misread(_number: int, taken: Any) -> Any:
    """A trial that reads the other way."""
    return replace(taken, dwell=turned(taken.dwell))


def late(_number: int, taken: Any) -> Any:
    """A trial whose reading changes in its dwell, after the countdown."""
    dwell = (*turned(taken.dwell[:2]), *taken.dwell[2:])
    before = tuple(TimedReading(number * 0.1 - 1.0, dwell[0].reading, dwell[0].wire_word) for number in range(9))
    return replace(taken, before=before, dwell=dwell)


def flipping(number: int, taken: Any) -> Any:
    """A trial of a wheel: it flips while filament moves, and stands still in the dwell."""
    readings = (Reading.ACTIVE, Reading.INACTIVE)
    before = tuple(TimedReading(each * 0.1 - 2.0, readings[each % 2], "") for each in range(20))
    return replace(
        taken, before=before, dwell=tuple(replace(r, reading=readings[number // 3 % 2]) for r in taken.dwell)
    )


def brief(_number: int, taken: Any) -> Any:
    """A watch of which only the first reading is known."""
    unknown = (replace(each, reading=Reading.UNKNOWN) for each in taken.readings[1:])
    return replace(taken, readings=(*taken.readings[:1], *unknown))


def out(_number: int, taken: Any) -> Any:
    """A watch that reads out all the time."""
    return replace(taken, readings=tuple(replace(each, reading=Reading.INACTIVE) for each in taken.readings))


def turned_watch(_number: int, taken: Any) -> Any:
    """A watch that reads the other way."""
    return replace(taken, readings=turned(taken.readings))


def lets_go(_number: int, taken: Any) -> Any:
    """A watch that ends the other way."""
    return replace(taken, readings=ends_turned(taken.readings))


def restarts(_number: int, _taken: Any) -> Any:
    """A watch that a restart of the board ends."""
    raise Interrupted(Interruption(InterruptionKind.BOARD_RESTARTED, "as this test has it"))


def checked_in_full(**changed: Any) -> Callable[[], Steps[object]]:
    """A periodic check with unplug test, pause and power cycle."""
    return lambda: periodic_check(replace(FULL, **changed))


def pin() -> Steps[object]:
    """One pin, read by a release."""
    printer = printer_of((yield from identify()))
    return printer if printer is None else (yield from pin_look(printer))


def installed() -> Steps[object]:
    """The whole installation of a printer that nothing is known of."""
    return (yield from install_run(PLAN, "R. Okafor", Background(HERE, Calendar(TODAY, TODAY)), SHEET))


def of_tool() -> Steps[object]:
    """The function test as an installation offers it for one of several sensors."""
    identity = yield from identify()
    found = yield from as_found(identity)
    test = offered_function_test(found, identity, ROOM)
    return (yield from for_active_tool(test, FROM_THE_START, identity, "filament"))


def void(_number: int, taken: Any) -> Any:
    """A watch that the operator declares spoilt before it begins."""
    return replace(taken, readings=(), void_reason="it slipped")


def allowed(kept: ReserveOnRecord | None) -> Callable[[], Steps[object]]:
    """The reserve that the record has."""

    def steps() -> Steps[object]:
        return (yield from recalled_reserve(kept, (yield from identify())))

    return steps


ROOM = reserve(Path(40.0, gear_to_nozzle_mm=60.0, queue=Queue(3.0, "a queue"), retract_mm=0.0, leftover_mm=20.0))
KEPT = ReserveOnRecord(ROOM, "2031-03-01", "ExampleFW 102.1.2 (Mar  9 2024 18:05:12)")
EARLIER = (
    Measured("2030-03-14", 2, 0, 2, 1, settle_s=(2.0, 3.0), watched_s=120.0, time_to_pause_s=40.0, wiring="0"),
    Measured("2030-09-14", 2, 1, 2, 1, settle_s=(2.0, 5.0), watched_s=60.0, unwanted_changes=1, wiring="0"),
    Measured("2030-09-14", wiring="0"),
)
FULL: Subject = replace(SUBJECT, full=True, reserve=KEPT, switch="filament", history=EARLIER)
PIN = {"pin.number": "42", "pin.also": "alone"}
WORKED = "wiggle"
LATER, EARLY = Spoken.LATER, Spoken.BEFORE
SPOILT_RUNS: Mapping[str, Scene] = {
    "trials that are not read": spoilt({"trial.*": unread}),
    "trials that are set aside early": spoilt({"trial.*": set_aside(EARLY)}),
    "trials that are set aside later": spoilt({"trial.*": set_aside(LATER)}),
    "trials of which one is set aside": spoilt({"trial.*": at((8,), set_aside(EARLY))}),
    "trials set aside in the next": spoilt({"trial.*": before_set_aside}),
    "trials with one misread": spoilt({"trial.INSERT": at((4,), misread)}),
    "trials with two misreads": spoilt({"trial.WITHDRAW": at((4, 5), misread)}),
    "trials of a late hand": spoilt({"trial.INSERT": at((3, 4), late)}),
    "trials of a wheel": spoilt({"trial.[IW]*": flipping}),
    "trials of a wheel that is none": spoilt({"trial.[IW]*": flipping}, {"loop_check.movement": False}),
    "wiggle before which it is out": spoilt({"wiggle.before": at((0,), out)}, {"wiggle.presence": "again"}),
    "wiggle before which it misreads": spoilt({"wiggle.before": out}, {"wiggle.presence": "in"}),
    "wiggle that is left out": spoilt({"wiggle.before": out}, {"wiggle.presence": "leave"}),
    "wiggle that lets go": spoilt({WORKED: lets_go}, {"wiggle.where": "in"}),
    "wiggle without filament": spoilt({WORKED: at((0,), out)}, {"wiggle.where": "out"}),
    "wiggle that ends out and is left": spoilt({WORKED: out}, {"wiggle.where": "leave"}),
    "wiggle that restarts the board": spoilt({WORKED: restarts}),
    "moves that let go": spoilt({"moving*": lets_go}, {**MOTORS, "moving_wiggle.where": "in"}),
    "moves without filament": spoilt({"moving_wiggle.before": out}, {**MOTORS, "moving_wiggle.presence": "leave"}),
    "moves that are not read": spoilt({"moving*": brief}, MOTORS),
    "unplugged that is not read": spoilt({"unplugged*": brief}),
    "unplugged, a move not read": spoilt({"still_plugged*": at((0,), brief)}),
    "unplugged, no move read": spoilt({"still_plugged*": brief}),
    "unplugged that reads in": spoilt({"unplugged*": at((1,), turned_watch)}),
    "unplugged never": left_in("unplug.1", "unplug.2"),
    "unplugged the second time never": left_in("unplug.2"),
    "unplugged without power off": left_in(idle=True),
    "started without a reading": spoilt({"start_up*": brief}),
    "started with a change": spoilt({"start_up*": lets_go}),
    "full check": spoilt({}, steps=checked_in_full()),
    "full check without a reserve": spoilt({}, steps=checked_in_full(reserve=None, history=())),
    "full check with one misread": spoilt({"trial.INSERT": at((4,), misread)}, steps=checked_in_full()),
    "check of another sensor": spoilt({}, steps=lambda: periodic_check(replace(FULL, full=False, switch="spool"))),
    "check of one of several": spoilt(
        {}, steps=lambda: periodic_check(replace(FULL, full=False, of_several=True, switch="filament 2"))
    ),
    "installation": spoilt({}, {**DECLARED, "function.mode": "dry"}, installed),
    "installation that is metered": spoilt({WORKED: lets_go}, {**DECLARED, "wiggle.where": "in"}, installed),
    "diagnosis with spoilt watches": spoilt({"diagnose*": at((0, 2, 3), void)}, steps=diagnosed(TWO_WIRES)),
    "diagnosis with void watches": spoilt({"diagnose*": void}, steps=diagnosed(TWO_WIRES)),
    "diagnosis of a steady cable": spoilt({"diagnose.cable*": out}, steps=diagnosed(TWO_WIRES)),
    "diagnosis by two fingers": spoilt({"diagnose.worked*": at((1,), turned_watch)}, steps=diagnosed(TWO_WIRES)),
    "pin": met_by("d-sensor", pin, PIN),
    "pin that is used": met_by("d-sensor", pin, {**PIN, "pin.also": "output"}),
    "pin that is no number": met_by("d-sensor", pin, {**PIN, "pin.number": "x7"}),
    "function test of the active tool": met_by("sound", of_tool, {"function.mode": "dry"}, often=0),
    "function test of another tool": met_by("sound", of_tool, {"function.active_tool": False}),
    "function test that is left": met_by("sound", of_tool, {"function.now": False}),
    "function test after a fail": met_by("sound", lambda: not_offered(Verdict.FAIL)),
    "function test after nothing": met_by("sound", lambda: not_offered(Verdict.NOT_JUDGED)),
    "reserve on record": met_by("sound", allowed(KEPT)),
    "reserve before a change": met_by("sound", allowed(replace(KEPT, changed="rewiring was noted"))),
    "reserve of another firmware": met_by("sound", allowed(replace(KEPT, firmware="ExampleFW 101"))),
    "reserve that nobody kept": met_by("sound", allowed(None)),
}
