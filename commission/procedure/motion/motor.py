"""The printer's motor moves the filament: heated under a release, a known length is fed, and the changes are counted.

The printer's own guard against a cold drive stays as it is: the nozzle is heated, and nothing is sent that switches the
guard off. A drive that slips moves less than it was told, so a mark before the sensor is measured before and after.
Between the first pass and the last nobody is asked anything, so that the nozzle is hot no longer than it has to be.
"""

from dataclasses import dataclass, replace
from math import ceil

from commission.asking.message import Punch, Tell, Weight
from commission.asking.moving import MovePattern, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Enter, EntryKind, Release
from commission.asking.steps import Steps, ask, enter, release, run_moves
from commission.dialect.commands import (
    ABSOLUTE_EXTRUSION,
    COLD_EXTRUSION,
    RELATIVE_EXTRUSION,
    STOP_JOB,
    WAIT_FOR_MOVES,
    Effect,
    move,
)
from commission.dialect.reports import cold_extrusion_of
from commission.judge.exposure import exposure_s, reached
from commission.judge.movement import PASSES, Moved
from commission.judge.stretch import Counted, count
from commission.procedure.function import plan as function
from commission.procedure.function.moves import heat_nozzle
from commission.procedure.loop.moving_wiggle import cold_again
from commission.procedure.motion.found import BY_MOTOR, Made, judge, sheet_length, still, why_unread
from commission.procedure.motion.passes import ByReadings, samples
from commission.vocabulary import PunchClass, Verdict

RELEASE, FEED_KEY = "motion.release", "motion.feed"
FEED_MM_S, BLOCK_S = 1.5, 0.5
"""At 1.75 mm that is 3.6 mm³ a second, and 9.6 at 2.85 mm: what a usual nozzle melts; common practice, no source."""
TAKE_UP_MM = 10.0
"""Fed first, so that no slack between sensor and drive is left; it counts for nothing."""
USUAL_MM, LEAST_MM, MOST_MM = 100.0, 50.0, 300.0
MARGIN_S, LATE_S, MOVE_S = 10.0, 2.0, 60.0
BEFORE = (
    "The filament is loaded as for a print: through the sensor, gripped by the closed drive, down to the nozzle.",
    "The tool that is active feeds it: it has to be the one of this sensor. This program changes no tool.",
)
LENGTH = Enter(
    "motion.length",
    "Filament for one pass",
    EntryKind.NUMBER,
    "mm",
    least=LEAST_MM,
    most=MOST_MM,
    optional=True,
    lines=(f"{PASSES} passes of it come out of the nozzle. Empty: {USUAL_MM:g} mm.",),
)
MARK = (
    "Draw a thin mark across the filament on the spool's side of the sensor, and measure along the filament from the "
    "mark to the edge of the sensor's inlet.",
    "Empty: no mark. A drive that slips is then not told from a sensor that loses changes.",
)
NOT_RELEASED = "it was not released; nothing was heated and nothing moved"
COLD = "the nozzle did not get hot enough; nothing was fed"
OFF = "The heaters are off. The nozzle stays hot for minutes: keep clear of it until it is cool."
AGAIN = "Put that right and run this again, by the motor or by hand."


@dataclass(frozen=True)
class _Plan:
    """What the release names; lengths in millimetres."""

    length_mm: float
    material: str
    celsius: float
    sheet_mm: float | None
    mark_mm: float | None

    @property
    def moves(self) -> int:
        """How many moves one pass is."""
        return ceil(self.length_mm / (FEED_MM_S * BLOCK_S))

    @property
    def pattern(self) -> MovePattern:
        """One of them."""
        feed_mm = self.length_mm / self.moves
        return MovePattern(feed_mm=feed_mm, travel_mm=0.0, block_s=feed_mm / FEED_MM_S)

    def release(self) -> Release:
        """What the operator is asked to release before anything heats or moves."""
        fed_mm = PASSES * self.length_mm + TAKE_UP_MM
        lines = (
            f"The nozzle is heated to {self.celsius:.0f} °C and {fed_mm:g} mm of {self.material} are extruded, at "
            f"{FEED_MM_S:g} mm of filament a second. Hot plastic gives off fumes: ventilate.",
            "No axis moves and nothing is homed. The nozzle is 50 mm or more above a clear bed, with something under "
            "it that bears the heat and catches the plastic.",
            "The printer's guard against a cold drive stays as it is. No job is begun at the board.",
            "Hands, hair and sleeves are clear of nozzle and drive, and the power switch is in reach. Stay with the "
            "printer until it is cool.",
        )
        effects = frozenset({Effect.MOTION, Effect.HEAT, Effect.SETTING, Effect.HOST})
        title = f"the nozzle heats to {self.celsius:.0f} °C and the drive feeds {fed_mm:g} mm of filament"
        return Release(RELEASE, title, lines, effects)


def by_motor(sensor: str, printer_mm: float | None) -> Steps[Verdict]:
    """Heat, feed and count; everything that was heated is switched off again before anything more is asked.

    Args:
        sensor: how it is read.
        printer_mm: filament without a change after which the printer acts; None where it does not say.
    """
    plan = yield from _planned()
    counting = ByReadings(sensor)
    rest = yield from still(counting)
    passes: tuple[Counted, ...] = ()
    why = NOT_RELEASED
    if (yield from release(plan.release())):
        passes, why = yield from _hot(plan, sensor)
    marked_mm = yield from _marked(plan, len(passes))
    moved = Moved(
        length_mm=plan.length_mm,
        error_mm=0.0,
        rest_changes=rest,
        passes=passes,
        sheet_mm=plan.sheet_mm,
        printer_mm=printer_mm,
        feed_mm_s=FEED_MM_S,
        marked_mm=marked_mm,
    )
    if why:
        yield Tell((f"By the motor, {len(passes)} of {PASSES} passes count: {why}.",), weight=Weight.CAUTION)
        yield Punch(PunchClass.INCOMPLETE, f"The sensor of movement was not moved as planned: {why}.", AGAIN)
    return (yield from judge(sensor, moved, Made(BY_MOTOR, 1 if passes and why else 0)))


def _planned() -> Steps[_Plan]:
    yield Tell(BEFORE, heading="Before you start", weight=Weight.CAUTION)
    typed = (yield from enter(LENGTH)).strip()
    length_mm = float(typed) if typed else USUAL_MM
    material = yield from enter(replace(function.MATERIAL, key="motion.material"))
    cold = cold_extrusion_of((yield from ask(COLD_EXTRUSION)).lines)
    least_c = max(function.CELSIUS.least or 0.0, 0.0 if cold is None else min(cold.limit_c, function.HOTTEST_C))
    below = f"Below {least_c:g} °C the drive is refused, or the plastic does not flow."
    asked = replace(function.CELSIUS, key="motion.celsius", least=least_c, lines=(below,))
    celsius = float((yield from enter(asked)))
    sheet_mm = yield from sheet_length()
    needed_mm = PASSES * length_mm + TAKE_UP_MM + 10
    far = f"The mark has to be {needed_mm:g} mm or more before the inlet: so much filament goes in, and some is left."
    mark = Enter(
        "motion.mark_before",
        "From the mark to the inlet",
        EntryKind.NUMBER,
        "mm",
        least=needed_mm,
        most=3000,
        optional=True,
        lines=(*MARK, far),
    )
    before = (yield from enter(mark)).strip()
    return _Plan(length_mm, material, celsius, sheet_mm, float(before) if before else None)


def _hot(plan: _Plan, sensor: str) -> Steps[tuple[tuple[Counted, ...], str]]:
    """The passes that count, one after the other, and why there are no more; then the heaters are off."""
    passes: list[Counted] = []
    why = "" if (yield from heat_nozzle(plan.celsius, RELEASE)) else COLD
    if not why:
        for command in (STOP_JOB, RELATIVE_EXTRUSION, move(e_mm=TAKE_UP_MM, speed_mm_s=FEED_MM_S), WAIT_FOR_MOVES):
            yield from ask(command, MOVE_S, RELEASE)
    while not why and len(passes) < PASSES:
        counted, why = yield from _pass(plan, sensor, len(passes) + 1)
        passes += [] if counted is None else [counted]
    yield from ask(ABSOLUTE_EXTRUSION, 10.0, RELEASE)
    if (yield from cold_again(RELEASE)):
        yield Tell((OFF,), weight=Weight.CAUTION)
    return tuple(passes), why


def _pass(plan: _Plan, sensor: str, number: int) -> Steps[tuple[Counted | None, str]]:
    """One pass as it counts; None where it does not, with the reason."""
    pattern, planned_s = plan.pattern, plan.length_mm / FEED_MM_S
    request = RunMoves(
        key=FEED_KEY,
        title=f"Pass {number} of {PASSES}: the drive feeds {plan.length_mm:g} mm",
        lines=("Hands off. Look whether plastic flows evenly, and that the drive does not click or grind.",),
        deed="keep the hands off",
        switch=sensor,
        pattern=pattern,
        lead_s=0.0,
        trip_s=planned_s + MARGIN_S,
        stop_s=1.0,
        release=RELEASE,
        steady=True,
        most=plan.moves,
    )
    run = yield from run_moves(request)
    if run.end is not MovesEnd.NO_TRIP:
        return None, run.end.value
    waited = yield from ask(WAIT_FOR_MOVES, MOVE_S, RELEASE)
    counted = count(samples(run.readings))
    why = _spoilt(plan, run, counted, waited.ended_s - waited.sent_s)
    return (None, why) if why else (counted, "")


def _spoilt(plan: _Plan, run: MovesRun, counted: Counted, waited_s: float) -> str:
    """Why a pass does not count; empty where it does."""
    if len(run.moves) < plan.moves or waited_s > LATE_S:
        return "the moves took longer than planned; the printer's speed may be set to less than 100 %"
    if not reached(exposure_s(run.readings), plan.length_mm / FEED_MM_S):
        return "the reading could not be understood for part of the pass"
    return why_unread(counted)


def _marked(plan: _Plan, passes: int) -> Steps[float | None]:
    """How far the mark went in the passes; None without one, and where not every pass counts."""
    if plan.mark_mm is None or passes < PASSES:
        return None
    lines = ("Along the filament, from the mark to the same edge. Keep clear of the nozzle. Empty: not measured.",)
    question = "From the mark to the inlet now"
    asked = Enter(
        "motion.mark_after", question, EntryKind.NUMBER, "mm", least=0, most=plan.mark_mm, optional=True, lines=lines
    )
    after = (yield from enter(asked)).strip()
    return plan.mark_mm - float(after) - TAKE_UP_MM if after else None
