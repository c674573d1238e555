"""Phase: a known length of filament is moved through a sensor of movement, and the changes of its reading are counted.

At rest either word may stand, so nothing here is judged as presence. By hand the length comes from marks on the
filament, never from what somebody was told to move: a hand that stops early leaves the mark away from the edge, and
that is asked after each pass. By the printer's motor: see `motor`.
"""

from dataclasses import dataclass

from commission.asking.cautions import BY_HAND
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Choose, Confirm, Option
from commission.asking.steps import Steps, choose, confirm
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.source import Source
from commission.judge.movement import PASSES, Moved
from commission.judge.stretch import Counted
from commission.procedure.motion import found
from commission.procedure.motion.found import Made, judge, sheet_length, still, why_unread
from commission.procedure.motion.marks import Marks, measured_marks
from commission.procedure.motion.motor import by_motor
from commission.procedure.motion.passes import ByCounter, ByReadings, Counting
from commission.vocabulary import PunchClass, Verdict

MOTION = Phase("motion_check", "Sensor of movement: changes over a known length", "the motion check")
MOST_SPOILT = 3
FREE = (
    "Open the drive, so that the filament slides through it by hand. Nozzle and drive stay cold and still.",
    "Put the first mark at an edge that you see well, on the inlet of the sensor.",
)
NO_LENGTH = "The distance between the marks is not known: two measurements never agreed."
NOT_MOVED = "The filament is moved by hand: this program does not move a printer of this family."
NOT_READ = "The filament is moved by hand: the printer's own count is asked for before and after each pull."
HOW = Choose(
    "motion.how",
    "What moves the filament?",
    (
        Option(found.BY_HAND, "your hand", "cold, between two marks; the drive is open"),
        Option(
            found.BY_MOTOR, "the printer's motor", "hot, extruding in the air; a mark shows whether the drive slips"
        ),
    ),
    ("Nothing moves and nothing is heated before a release that names it.",),
)


@dataclass
class _Pulled:
    """The passes so far; `set_aside` are those that do not count."""

    passes: list[Counted]
    set_aside: int = 0


@steps_of(MOTION)
def motion_check(source: Source, printer_mm: float | None, *, moves: bool) -> Steps[Verdict]:
    """Count the changes over a known length, and judge them.

    Args:
        source: how it is read.
        printer_mm: filament without a change after which the printer acts; None where it does not say.
        moves: whether this program moves a printer of this family.
    """
    counts = source.kind is SourceKind.PULSE_COUNTER
    if counts or not moves:
        yield Tell((NOT_MOVED if not moves else NOT_READ,))
    elif (yield from choose(HOW)) == found.BY_MOTOR:
        return (yield from by_motor(source.text, printer_mm))
    return (yield from _by_hand(source.text, ByCounter(source) if counts else ByReadings(source.text), printer_mm))


def _by_hand(sensor: str, counting: Counting, printer_mm: float | None) -> Steps[Verdict]:
    yield Tell((*BY_HAND, *FREE), heading="Before you start", weight=Weight.CAUTION)
    marks = yield from measured_marks()
    if marks is None:
        yield Punch(PunchClass.INCOMPLETE, NO_LENGTH, "Run this again with marks that two measurements agree on.")
        return Verdict.NOT_JUDGED
    sheet_mm = yield from sheet_length()
    rest = yield from still(counting)
    pulled = yield from _passes(counting, marks)
    passes, surely = tuple(pulled.passes), counting.surely
    moved = Moved(marks.length_mm, marks.error_mm, rest, passes, sheet_mm, printer_mm, surely=surely)
    return (yield from judge(sensor, moved, Made(found.BY_HAND, pulled.set_aside)))


def _passes(counting: Counting, marks: Marks) -> Steps[_Pulled]:
    """As many passes as count; a few may be spoilt."""
    pulled = _Pulled([])
    while len(pulled.passes) < PASSES and pulled.set_aside <= MOST_SPOILT:
        number = len(pulled.passes) + 1
        question = f"Pass {number} of {PASSES}: is the first mark at the edge, and are you ready?"
        while not (yield from confirm(Confirm("motion.ready", question, watch=counting.shown))):
            yield Tell(("Draw the filament back until the first mark is at the edge; then say yes.",))
        counted = yield from counting.pulled(marks.length_mm)
        lines = ("The same edge as before, to within a millimetre. Say no if it stopped before it, or went past it.",)
        reached = yield from confirm(Confirm("motion.reached", "Is the second mark at the edge now?", lines))
        why = _spoilt(counted, counting, reached=reached)
        if counted is not None and not why:
            pulled.passes.append(counted)
            continue
        pulled.set_aside += 1
        yield Tell((f"This pass does not count: {why}. It is done again.",))
    return pulled


def _spoilt(counted: Counted | None, counting: Counting, *, reached: bool) -> str:
    """Why a pass does not count; empty where it does."""
    if counted is None:
        return counting.untold
    if not reached:
        return "the mark was missed"
    why = why_unread(counted)
    return f"{why}. Pull more slowly, and have the computer do nothing else" if why else ""
