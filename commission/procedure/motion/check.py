"""Phase: a known length of filament is pulled through a sensor of movement, and the changes of its reading are counted.

At rest either word may stand, so nothing here is judged as presence. The length comes from marks on the filament, never
from what somebody or something was told to move: a hand that stops early, or a motor that grinds, leaves the mark away
from the edge, and that is asked after each pass.
"""

from dataclasses import dataclass

from commission.asking.cautions import BY_HAND
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Confirm, Enter, EntryKind
from commission.asking.steps import Steps, confirm, enter, establish
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.source import Source
from commission.evidence.findings import loop
from commission.evidence.findings.motion import MotionChecked, MovedPass
from commission.judge.movement import PASSES, Moved, criteria_of, verdict_of
from commission.judge.stretch import Counted
from commission.procedure.motion.marks import Marks, measured_marks
from commission.procedure.motion.passes import ByCounter, ByReadings, Counting
from commission.vocabulary import PunchClass, Verdict

MOTION = Phase("motion_check", "Sensor of movement: changes over a known length", "the motion check")
MOST_SPOILT = 3
FREE = (
    "Open the drive, so that the filament slides through it by hand. Nozzle and drive stay cold and still.",
    "Put the first mark at an edge that you see well, on the inlet of the sensor.",
)
NO_LENGTH = "The distance between the marks is not known: two measurements never agreed."
BLIND = (
    "What this cannot show: a hand that always stops short at a mark that is said to be reached; and, without the data "
    "sheet's length, a sensor that always loses the same share of its changes."
)
CURE = (
    "Look whether the filament lies on the wheel without slipping, whether wheel and gap are clean, and at the cable "
    "and its plugs. Then run this again."
)


@dataclass
class _Pulled:
    """The passes so far; `set_aside` are those that do not count."""

    passes: list[Counted]
    set_aside: int = 0


@steps_of(MOTION)
def motion_check(source: Source, printer_mm: float | None) -> Steps[Verdict]:
    """Count the changes over a known length, and judge them.

    Args:
        source: how it is read.
        printer_mm: filament without a change after which the printer acts; None where it does not say.
    """
    yield Tell((*BY_HAND, *FREE), heading="Before you start", weight=Weight.CAUTION)
    marks = yield from measured_marks()
    if marks is None:
        yield Punch(PunchClass.INCOMPLETE, NO_LENGTH, "Run this again with marks that two measurements agree on.")
        return Verdict.NOT_JUDGED
    sheet_mm = yield from _sheet()
    counts = source.kind is SourceKind.PULSE_COUNTER
    counting: Counting = ByCounter(source) if counts else ByReadings(source.text)
    question = "Does the filament lie on the wheel of the sensor, and are your hands off it?"
    while not (yield from confirm(Confirm("motion.still", question, watch=counting.shown))):
        yield Tell(("Push filament in past the sensor, then let go of it and say yes.",))
    rest = yield from counting.at_rest()
    pulled = yield from _passes(counting, marks)
    passes, surely = tuple(pulled.passes), counting.surely
    moved = Moved(marks.length_mm, marks.error_mm, rest, passes, sheet_mm, printer_mm, surely=surely)
    return (yield from _judge(source.text, moved, pulled.set_aside))


def _sheet() -> Steps[float | None]:
    lines = ("It stands in the sensor's data sheet. Empty: not known.",)
    question = "Filament for one change of the signal"
    asked = Enter("motion.sheet", question, EntryKind.NUMBER, "mm", least=0.05, most=100, optional=True, lines=lines)
    answer = (yield from enter(asked)).strip()
    return float(answer) if answer else None


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
        why = _spoilt(counted, reached=reached)
        if counted is not None and not why:
            pulled.passes.append(counted)
            continue
        pulled.set_aside += 1
        yield Tell((f"This pass does not count: {why}. It is done again.",))
    return pulled


def _spoilt(counted: Counted | None, *, reached: bool) -> str:
    """Why a pass does not count; empty where it does."""
    if counted is None:
        return "the printer did not tell its count, or began it anew"
    if not reached:
        return "the mark was missed"
    if not counted.too_fast or counted.shortest_gap_s is None:
        return ""
    gap_ms, change_ms = 1000 * counted.reading_gap_s, 1000 * counted.shortest_gap_s
    return (
        f"for {gap_ms:.0f} ms nothing was read, and two changes came within {change_ms:.0f} ms, so that one may have "
        "been missed. Pull more slowly, and have the computer do nothing else"
    )


def _judge(sensor: str, moved: Moved, set_aside: int) -> Steps[Verdict]:
    criteria = criteria_of(moved)
    verdict, stretch = verdict_of(criteria), moved.stretch
    said = [f"Sensor of movement: {verdict.value}."]
    said += [f"{each.name.capitalize()}, {each.verdict.value}: {each.observed}" for each in criteria]
    said += [f"Passes set aside: {set_aside}."] if set_aside else []
    passes = tuple(
        MovedPass(changes=each.changes, longest_gap_s=each.longest_gap_s, usual_gap_s=each.usual_gap_s)
        for each in moved.passes
    )
    yield from establish(
        MotionChecked(
            sentences=(*said, BLIND),
            verdict=verdict,
            criteria=loop.criteria_of(criteria),
            sensor=sensor,
            length_mm=moved.length_mm,
            error_mm=moved.error_mm,
            rest_changes=moved.rest_changes,
            passes=passes,
            set_aside=set_aside,
            least_mm=None if stretch is None else stretch.least_mm,
            most_mm=None if stretch is None else stretch.most_mm,
            longest_mm=moved.longest_mm,
            sheet_mm=moved.sheet_mm,
            printer_mm=moved.printer_mm,
        )
    )
    broken = [each for each in criteria if each.verdict is Verdict.FAIL]
    if broken:
        yield Punch(PunchClass.UNSAFE, f"The sensor of movement failed: {broken[0].observed}", CURE)
    return verdict
