"""The check of a sensor of movement: is there one that can be counted, and does it count?"""

from commission.asking.cautions import GENERAL
from commission.asking.message import Punch, Tell, Weight
from commission.asking.steps import Steps
from commission.dialect.identity import Identity
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.search import Found
from commission.jobs.install import JobResult
from commission.procedure.function.pause_told import told_instead
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings, same_printer
from commission.procedure.meeting.printing import not_printing
from commission.procedure.meeting.sensor_met import SensorMet, meet_sensor
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.switch_name import keep_source
from commission.procedure.meeting.unsafe import UnsafeItems
from commission.procedure.motion.check import motion_check
from commission.vocabulary import PunchClass, Verdict

COUNTABLE = (SourceKind.SWITCH_LINE, SourceKind.PIN, SourceKind.PULSE_COUNTER)
"""Kinds whose reading flips as the wheel turns, and the counter of its pulses.

Others tell a memory of movement, or what the printer measured.
"""
WHAT_IT_IS = (
    "A known length of filament is moved through the sensor, by your hand or by the printer's motor, and the changes "
    "are counted.",
    "By hand nothing moves or heats. The motor feeds only after a release that names the heat. Whether the printer "
    "pauses is not tested.",
)
NONE_TO_COUNT = "No sensor of movement can be counted on this console."
HOW_ELSE = (
    "Name the line or the input that it is wired to by `--source`. A counter of pulses is found only while the "
    "printer's own detector is on: switch that on yourself, then run this again. Where the console tells of no such "
    "reading, test it at the machine: hold the filament back in a print, with the power switch in reach, and see that "
    "it pauses."
)


def motion_run(operator: str, surroundings: Surroundings) -> Steps[JobResult]:
    """The whole job.

    Args:
        operator: who does it.
        surroundings: what was known before the port was opened.
    """
    unsafe = UnsafeItems()
    return (yield from unsafe.noted(_walk(operator, surroundings, unsafe)))


def _walk(operator: str, surroundings: Surroundings, unsafe: UnsafeItems) -> Steps[JobResult]:
    yield Tell(GENERAL, heading="Before you begin", weight=Weight.CAUTION)
    yield Tell(WHAT_IT_IS, heading="What this is, and what it is not")
    identity = yield from identify()
    yield from same_printer(surroundings, identity)
    yield from not_printing()
    met = yield from meet_sensor(identity, surroundings.source, of_movement=True)
    verdict = yield from unsafe.held_against((yield from _counted(met, identity)))
    yield from sign_off(operator)
    return JobResult(verdict)


def _counted(met: SensorMet, identity: Identity | None) -> Steps[Verdict]:
    sensor = to_count(met)
    if sensor is None:
        yield Punch(PunchClass.INCOMPLETE, NONE_TO_COUNT, HOW_ELSE)
        return Verdict.NOT_JUDGED
    yield from keep_source(sensor.source.text, "")
    moves = told_instead(identity) is None
    return (yield from motion_check(sensor.source, met.runout.motion_distance_mm, moves=moves))


def to_count(met: SensorMet) -> Found | None:
    """The sensor of movement whose changes can be read: one that is known as such, else the one that was chosen."""
    moving = () if met.found is None else met.found.moving
    known = (*moving, *([] if met.chosen is None else [met.chosen]))
    return next((each for each in known if each.source.kind in COUNTABLE), None)
