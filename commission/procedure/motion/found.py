"""What both ways of moving the filament share: the data sheet, a still sensor, and the verdict with its open item."""

from dataclasses import dataclass

from commission.asking.message import Punch, Tell
from commission.asking.request import Confirm, Enter, EntryKind
from commission.asking.steps import Steps, confirm, enter, establish
from commission.evidence.findings import loop
from commission.evidence.findings.motion import MotionChecked, MovedPass
from commission.judge.movement import DRIVE, NAME_FED, Moved, criteria_of, verdict_of
from commission.judge.stretch import Counted
from commission.procedure.motion.passes import Counting
from commission.vocabulary import PunchClass, Verdict

BY_HAND, BY_MOTOR = "hand", "motor"
BLIND = {
    BY_HAND: (
        "What this cannot show: a hand that always stops short at a mark that is said to be reached; and, without the "
        "data sheet's length, a sensor that always loses the same share of its changes."
    ),
    BY_MOTOR: (
        "What this cannot show: without a mark on the filament, a drive that slips; without the data sheet's length, a "
        "sensor that always loses the same share of its changes; and whether the printer acts on what it counts."
    ),
}
CURE = (
    "Look whether the filament lies on the wheel without slipping, whether wheel and gap are clean, and at the cable "
    "and its plugs. Then run this again."
)
BLAMES_NONE = f"By the motor nothing could be said of the sensor: {DRIVE}."
PULL_IT = (
    "Unload the filament, lay it free through the sensor, and run this again by hand. If that passes, look at the "
    "drive: its grip, its gear, the way to the nozzle, and the flow that is set."
)
SHEET = Enter(
    "motion.sheet",
    "Filament for one change of the signal",
    EntryKind.NUMBER,
    "mm",
    least=0.05,
    most=100,
    optional=True,
    lines=("It stands in the sensor's data sheet. Empty: not known.",),
)


@dataclass(frozen=True)
class Made:
    """How the filament was moved.

    Attributes:
        by: a hand, or the motor.
        set_aside: passes that do not count.
    """

    by: str
    set_aside: int = 0


def sheet_length() -> Steps[float | None]:
    """Filament for one change by the data sheet, in millimetres; None where nobody knows it."""
    answer = (yield from enter(SHEET)).strip()
    return float(answer) if answer else None


def still(counting: Counting) -> Steps[int | None]:
    """How often it changes with filament on its wheel and the hands off."""
    question = "Does the filament lie on the wheel of the sensor, and are your hands off it?"
    while not (yield from confirm(Confirm("motion.still", question, watch=counting.shown))):
        yield Tell(("Push filament in past the sensor, then let go of it and say yes.",))
    return (yield from counting.at_rest())


def why_unread(counted: Counted) -> str:
    """Why changes may have been missed in a pass; empty where they were not."""
    if not counted.too_fast or counted.shortest_gap_s is None:
        return ""
    gap_ms, change_ms = 1000 * counted.reading_gap_s, 1000 * counted.shortest_gap_s
    return (
        f"for {gap_ms:.0f} ms nothing was read, and two changes came within {change_ms:.0f} ms, so that one may have "
        "been missed"
    )


def judge(sensor: str, moved: Moved, made: Made) -> Steps[Verdict]:
    """Put what was seen and its verdict into the record, with what is open."""
    criteria = criteria_of(moved)
    verdict, stretch = verdict_of(criteria), moved.stretch
    said = [f"Sensor of movement, moved by {made.by}: {verdict.value}."]
    said += [f"{each.name.capitalize()}, {each.verdict.value}: {each.observed}" for each in criteria]
    said += [f"Passes set aside: {made.set_aside}."] if made.set_aside else []
    passes = tuple(
        MovedPass(changes=each.changes, longest_gap_s=each.longest_gap_s, usual_gap_s=each.usual_gap_s)
        for each in moved.passes
    )
    yield from establish(
        MotionChecked(
            sentences=(*said, BLIND[made.by]),
            verdict=verdict,
            criteria=loop.criteria_of(criteria),
            sensor=sensor,
            moved_by=made.by,
            length_mm=moved.length_mm,
            error_mm=moved.uncertain_mm,
            marked_mm=moved.marked_mm,
            rest_changes=moved.rest_changes,
            passes=passes,
            set_aside=made.set_aside,
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
    elif any(each.name == NAME_FED and each.verdict is Verdict.NOT_JUDGED for each in criteria):
        yield Punch(PunchClass.INCOMPLETE, BLAMES_NONE, PULL_IT)
    return verdict
