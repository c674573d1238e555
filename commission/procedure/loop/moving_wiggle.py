"""The second wiggle, hands off: motors move, and fan and heater run where they are released; does the reading stay?"""

from dataclasses import dataclass

from commission.asking.message import Punch, Tell, Weight
from commission.asking.moving import MovePattern, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Choose, Option, Release
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, ask, checked, choose, establish, release
from commission.dialect.commands import (
    ABSOLUTE_MOVES,
    FAN_OFF,
    FAN_ON,
    HEATERS_OFF,
    RELATIVE_MOVES,
    TEMPERATURES,
    Command,
    Effect,
    hotend_target,
)
from commission.dialect.reports import temperatures_of
from commission.evidence.findings import loop
from commission.evidence.findings.loop import watch_values
from commission.judge.evidence import WiggleResult, wiggled
from commission.judge.plan import Plan
from commission.judge.wording import counted
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.filament_seen import TRIES, Standing, WiggleKind, look_first, stands, steadily_out
from commission.vocabulary import PunchClass
from commission.wiring.prediction import Probe

KIND = WiggleKind("moving_wiggle", loop.MovingWiggleSetAside, loop.MovingWiggleMisread, loop.MovingWiggleLeftOut)
RELEASE = "moving.release"
TRAVEL_MM, BLOCK_S = 40.0, 2.0
NOT_RUN = (MovesEnd.STOPPED, MovesEnd.STOPPED_EARLY, MovesEnd.FEED_REFUSED, MovesEnd.CHANGE_REFUSED)
WARM_C = 50.0
"""Warm enough for the heater to switch, and no plastic softens."""
LINES = (
    "Push the head by hand to the middle of the bed, and the nozzle 20 mm up or more; the bed is clear, and so is the "
    "room around. Then take the hands off.",
    f"The X axis then moves {TRAVEL_MM:g} mm towards its far end and back, again and again. Nothing is homed.",
    "The filament stays in; it is not driven. Know where the power switch is.",
)
HOT = "The hotend is warm then: keep clear of it, and stay with the printer until it is cool."
OPTIONS = (
    Option("no", "leave it out", "what motors, fan and heater do to the reading is then not known"),
    Option("motors", "motors only"),
    Option("fan", "motors and the part fan"),
    Option("heat", "motors, the part fan and the hotend", f"heated to {WARM_C:g} °C meanwhile, and off again"),
)


@dataclass(frozen=True)
class MovingWiggle:
    """What was read meanwhile."""

    taken: MovesRun
    planned_s: float

    @property
    def result(self) -> WiggleResult:
        """As the acceptance counts it."""
        return wiggled(self.taken.readings, self.planned_s)


def moving_probe(taken: MovesRun) -> Probe:
    """What it shows: one that read out all the time says what filament in reads, and nothing of the motors."""
    return Probe.FILAMENT_IN if steadily_out(taken.readings) else Probe.MACHINE_MOVING


def offered_moving_wiggle(plan: Plan, switch: str) -> Steps[MovingWiggle | None]:
    """Offer it and, where it is released, do it; None when it was left out or came to nothing."""
    lines = ("The wiggle by hand was with motors held still. Motors, fan and heater can disturb the reading too.",)
    how = yield from choose(Choose("moving.how", "Hands off now: read while the machine moves?", OPTIONS, lines))
    if how == "no":
        yield from _not_done()
        return None
    for left in reversed(range(TRIES)):
        looked = yield from worked_by_hand(look_first(plan, switch, KIND))
        if not looked.go:
            return None if looked.misread is None else MovingWiggle(_standing_still(looked.misread), _planned_s(plan))
        taken = yield from moved(plan, switch, how)
        if taken is None:
            yield from _not_done()
            break
        standing = yield from _stands(taken, switch, again=left > 0)
        if standing is not Standing.AGAIN:
            return (yield from _found(plan, taken, how)) if standing is Standing.COUNTS else None
    return None


def _stands(taken: MovesRun, switch: str, *, again: bool) -> Steps[Standing]:
    """What did not run is told as it is; nobody is asked about its filament."""
    if taken.end in NOT_RUN:
        return Standing.COUNTS
    return (yield from stands(taken.readings, switch, KIND, again=again))


def _not_done() -> Steps[None]:
    said = "Not done: the reading while motors move. What they do to it is not known."
    yield from establish(loop.MovingWiggleLeftOut(sentences=(said,)))


def not_moved() -> Steps[None]:
    """Say that it is left out on a printer that this program does not move."""
    said = "Not done: the reading while motors move. This program does not move a printer of this family."
    yield from establish(loop.MovingWiggleLeftOut(sentences=(said,)))


def _standing_still(looked: WatchTaken) -> MovesRun:
    """The look beforehand as a run without a move: it misread filament that was in."""
    return MovesRun(MovesEnd.NO_TRIP, (), looked.readings, (), looked.seconds)


def _release(how: str) -> Release:
    title = {"motors": "the X axis moves", "fan": "the X axis moves and the part fan runs"}.get(
        how, f"the X axis moves, the part fan runs, the hotend heats to {WARM_C:g} °C"
    )
    effects = {Effect.MOTION, Effect.SETTING} | ({Effect.HEAT} if how == "heat" else set())
    lines = (*LINES, *([HOT] if how == "heat" else []))
    return Release(RELEASE, title, lines, frozenset(effects))


def moved(plan: Plan, switch: str, how: str = "motors") -> Steps[MovesRun | None]:
    """Ask for the release and, with it, read while the machine moves; None when it was not released.

    The release is asked for each time: between two of them hands were at the filament.

    Args:
        plan: how long it is read.
        switch: what is read.
        how: the key of the option that says what runs.
    """
    if not (yield from release(_release(how))):
        return None
    yield from _say(RELATIVE_MOVES)
    if how != "motors":
        yield from _say(FAN_ON)
    if how == "heat":
        yield from _say(hotend_target(WARM_C))
    taken = yield from _run(plan, switch)
    yield from _say(ABSOLUTE_MOVES)
    if how != "motors":
        yield from _say(FAN_OFF)
    if how == "heat":
        yield from cold_again(RELEASE)
    return taken


def _say(command: Command) -> Steps[None]:
    yield from ask(command, 10.0, RELEASE)


def _run(plan: Plan, switch: str) -> Steps[MovesRun]:
    request = RunMoves(
        key="moving",
        title="Hands off: the machine moves",
        lines=("Every change of the reading counts.",),
        deed="keep the hands off",
        switch=switch,
        pattern=MovePattern(0.0, TRAVEL_MM, BLOCK_S),
        lead_s=0.0,
        trip_s=_planned_s(plan),
        stop_s=1.0,
        release=RELEASE,
        steady=True,
    )
    return checked((yield request), MovesRun, request)


def _planned_s(plan: Plan) -> float:
    """As long as the wiggle by hand, and at least once there and back."""
    return max(plan.wiggle_s, 2 * BLOCK_S)


def cold_again(key: str) -> Steps[bool]:
    """Switch the heaters off; returns whether the printer shows it, and says so where it does not.

    Args:
        key: of the release under which it heated.
    """
    for off in HEATERS_OFF:
        yield from ask(off, 10.0, key)
    reports = temperatures_of((yield from ask(TEMPERATURES)).lines)
    off_now = any(report.all_targets_known and not report.any_target for report in reports)
    if not off_now:
        said = "The heaters were switched off, but the printer does not report a target of zero: use the power switch."
        yield Tell((said,), weight=Weight.DANGER)
        yield Punch(PunchClass.UNSAFE, said, "See that the nozzle cools.")
    return off_now


def _found(plan: Plan, taken: MovesRun, how: str) -> Steps[MovingWiggle | None]:
    if taken.end in NOT_RUN:
        said = f"With the machine moving: {taken.end.value}. It is not judged."
        yield from establish(loop.MovingWiggleLeftOut(sentences=(said,)))
        yield Punch(PunchClass.INCOMPLETE, said, "Look at the printer's display, and run this again.")
        return None
    moving = MovingWiggle(taken, _planned_s(plan))
    seen = moving.result.watched
    ran = next(option.label for option in OPTIONS if option.key == how)
    said = f"{counted(seen.readings, 'reading')} with filament in, hands off, the machine moving ({ran})."
    sentences = (said, *seen.sentences(plan.confidence))
    yield from establish(loop.MovingWiggle(sentences=sentences, running=how, **watch_values(seen)))
    return moving
