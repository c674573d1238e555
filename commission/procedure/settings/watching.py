"""Phase: the printer watches the sensor, with a leftover distance of this machine, and still does after a power-off.

Both are set fresh, never from an old report: they are the very thing that is being commissioned.
"""

from dataclasses import dataclass

from commission.asking.message import Punch, Tell
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.power import power_cycle
from commission.asking.request import Enter, EntryKind, Release
from commission.asking.steps import Steps, ask, enter, establish, recall, release
from commission.command_lines import RESERVE
from commission.dialect.commands import RUNOUT_CONTROL, Effect, enable_runout, leftover_distance
from commission.dialect.runout import RunoutControl, runout_of
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.reported import runout_values
from commission.evidence.findings.settings import RunoutControlAsLeft
from commission.judge.power import NOT_SEEN
from commission.judge.reserve import chosen_leftover_mm
from commission.procedure.meeting.as_found import runout_sentences
from commission.procedure.settings.saving import save
from commission.vocabulary import PunchClass

WATCHING = Phase(
    "watching",
    "Runout detection on, leftover distance set",
    "runout detection and leftover distance",
    frozenset({Voiding.FIRMWARE, Voiding.SETTINGS}),
)
MOST_MM = 500.0
TOLERANCE_MM = 0.01
"""Printed with two decimals by every form of the report that states it."""
KEY = "watching.set"
GEOMETRY = (
    "The leftover distance is what the printer still prints after the filament has passed the sensor.",
    "At most: the path from the trip point to the drive gear, less the grip margin, less what is queued, less the "
    "uncertainty of the trip point. 0 pauses at once. More than that path prints with no filament left.",
)

LASTS = {
    None: "Whether it lasts is not proven.",
    True: "It lasts: read again after a power-off.",
    False: "It does not last: after the power-off it was otherwise.",
}
WORK_OUT = f"Measure the path, have `{RESERVE}` work out what fits, and set that."
UNSEEN_CURE = "Take mains and USB both away for ten seconds, and read it again by the next check."


@dataclass(frozen=True)
class Watching:
    """How the printer is left: `lasts` is None where nothing has shown it."""

    control: RunoutControl
    lasts: bool | None


@steps_of(WATCHING)
def watching() -> Steps[Watching]:
    """Set both, save, and prove them after a power cycle."""
    control = yield from _ask()
    yield Tell(runout_sentences(control), heading="Now")
    if control.supported is not True:
        yield from _no_control(control)
        left = Watching(control, None)
    else:
        left = yield from _set(control)
    said = (*runout_sentences(left.control), LASTS[left.lasts])
    yield from establish(RunoutControlAsLeft(sentences=said, lasts=left.lasts, **runout_values(left.control)))
    return left


def _set(before: RunoutControl) -> Steps[Watching]:
    distance_mm = yield from _distance(before)
    on, length = enable_runout(on=True), leftover_distance(distance_mm)
    lines = (
        f"{length.text}: leftover distance {distance_mm:g} mm (was {_mm(before.distance_mm)}).",
        f"{on.text}: runout detection on. Both also reset what the printer remembers of a runout.",
    )
    title = f"runout detection on, leftover distance {distance_mm:g} mm"
    if not (yield from release(Release(KEY, title, lines, frozenset({Effect.SETTING})))):
        yield from _open_item("Runout detection and leftover distance were not set.")
        return Watching(before, None)
    for command in (length, on):
        yield from ask(command, release=KEY)
    yield from _worked_out(distance_mm)
    now = yield from _ask()
    wrong = _wrong(now, distance_mm)
    if wrong:
        yield from _open_item(f"Not taken by the printer: {wrong}.")
        return Watching(now, None)
    if now.host_handling:
        yield Punch(
            PunchClass.UNSAFE,
            "A runout is left to the host computer: the printer does not pause by itself.",
            "Have the printer handle it, or prove in the function test that the host pauses the job.",
        )
    saved = yield from save("watching.save", "all working values, runout detection and leftover distance among them")
    if not saved.may_hold:
        yield from _open_item(f"Runout detection is on until the next power-off only (save: {saved.value}).")
        return Watching(now, None)
    return (yield from _after_power_off(distance_mm))


def _worked_out(distance_mm: float) -> Steps[None]:
    """Leave an item where nobody worked out whether the distance fits."""
    known = yield from recall(Reserve)
    if known is None or not known.done:
        said = f"The leftover distance is set to {distance_mm:g} mm; whether that fits was not worked out."
        yield Punch(PunchClass.INCOMPLETE, said, WORK_OUT)


def _after_power_off(distance_mm: float) -> Steps[Watching]:
    released = yield from power_cycle("watching.power", "Power off and on: is runout detection still on?")
    now = yield from _ask()
    wrong = _wrong(now, distance_mm)
    if not wrong and not released.power.restart:
        yield Punch(PunchClass.INCOMPLETE, f"{NOT_SEEN}: that runout detection stays on is not proven.", UNSEEN_CURE)
        return Watching(now, None)
    if not wrong:
        return Watching(now, lasts=True)
    yield Punch(
        PunchClass.UNSAFE,
        f"After a power-off the printer has it otherwise: {wrong}. This firmware does not store it.",
        "Put the commands that set it at the start of every job, or build the firmware with it as its default.",
    )
    return Watching(now, lasts=False)


def _distance(before: RunoutControl) -> Steps[float]:
    """The leftover distance in millimetres, as typed; at most what the path allows where that was worked out."""
    worked_out = yield from recall(Reserve)
    allowed_mm = None if worked_out is None else worked_out.leftover_max_mm
    most_mm = MOST_MM
    lines: tuple[str, ...] = GEOMETRY
    if allowed_mm is not None:
        most_mm = min(max(allowed_mm, 0.0), MOST_MM)
        advised_mm = chosen_leftover_mm(allowed_mm)
        said = f"Worked out from the lengths of this machine: at most {most_mm:g} mm; {advised_mm:g} mm would do."
        lines = (*GEOMETRY, said)
    if allowed_mm is not None and allowed_mm < 0:
        yield Punch(
            PunchClass.UNSAFE,
            "No leftover distance fits: the path from sensor to drive gear is too short for queue and grip.",
            "Move the sensor further from the drive gear; until then set 0 and do not rely on it unattended.",
        )
    question = f"Leftover distance of this machine (now {_mm(before.distance_mm)})"
    asked = Enter("watching.distance", question, EntryKind.NUMBER, "mm", 0.0, most_mm, lines=lines)
    return float((yield from enter(asked)))


def _wrong(now: RunoutControl, distance_mm: float) -> str:
    """What is not as it was set; a distance that is not reported cannot be wrong, and is said so elsewhere."""
    wrong = []
    if now.enabled is not True:
        wrong.append(f"runout detection is {'off' if now.enabled is False else 'not reported'}")
    if now.distance_mm is not None and abs(now.distance_mm - distance_mm) > TOLERANCE_MM:
        wrong.append(f"the leftover distance is {now.distance_mm:g} mm")
    return " and ".join(wrong)


def _ask() -> Steps[RunoutControl]:
    return runout_of((yield from ask(RUNOUT_CONTROL)).lines)


def _no_control(control: RunoutControl) -> Steps[None]:
    known = "does not know the command" if control.supported is False else "says nothing of it"
    yield from _open_item(f"Whether runout detection is on is not known: it {known}.")


def _open_item(text: str) -> Steps[None]:
    yield Punch(PunchClass.INCOMPLETE, text, "Set it, and prove by a function test that a runout pauses the job.")


def _mm(value: float | None) -> str:
    return "not reported" if value is None else f"{value:g} mm"
