"""Phase: the lengths along the filament path, and whether the pause comes while the gear still holds the filament."""

from commission.asking.form import Answers, Form, FormRow
from commission.asking.leave_out import said_left_out
from commission.asking.message import Punch, Tell
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import FROM_THE_START, Phase, Progress, Voiding, steps_of
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Option
from commission.asking.steps import Steps, choose, enter, establish
from commission.drawing.filament_path import FilamentPath, path_text
from commission.evidence.findings import function
from commission.judge.reserve import Path, Reserve, reserve
from commission.judge.volume import Queue, bead_of_nozzle, long_moves, usual_moves
from commission.units import millimetres as mm
from commission.units import seconds
from commission.vocabulary import PunchClass

RESERVE = Phase("reserve", "Reserve: does the pause come in time?", "the filament reserve", frozenset({Voiding.WIRING}))
"""A sensor that was moved has other lengths."""
LONGEST_MM = 10_000.0
LINES = (
    "Measure along the filament: from the point where the switch trips to where the drive gear grips, and from there "
    "to the nozzle tip.",
    "A piece of filament with two marks is the surest ruler.",
)


def offered_reserve(leftover_mm: float | None, progress: Progress = FROM_THE_START) -> Steps[Reserve | None]:
    """Ask whether the path was measured, work the reserve out and record it; None when it was left out.

    Args:
        leftover_mm: the leftover distance that the printer reports; None when it does not.
        progress: what of a run that is taken up again still stands.
    """
    question = Confirm("reserve.now", "Work out the filament reserve now? It takes two lengths.", LINES)
    return (yield from progress.offered(RESERVE, question, lambda: _worked_out(leftover_mm), _left_out))


@steps_of(RESERVE)
def _worked_out(leftover_mm: float | None) -> Steps[Reserve]:
    asked = Form("reserve.sheet", "The lengths along the filament path", _rows, LINES)
    path = yield from on_a_form(asked, lambda: _measured(leftover_mm))
    found = reserve(path)
    yield from _record(path, found)
    return found


def _left_out(reason: str) -> function.Reserve:
    said = (said_left_out(RESERVE.what, reason), "Whether the leftover fits is not known.")
    return function.Reserve(sentences=said, done=False)


def reserve_after_repair() -> Steps[None]:
    """After a failed loop check nobody is asked for lengths: a repair may move the sensor."""
    said = "The filament reserve was left for the run after the repair: the loop check failed."
    yield from establish(function.Reserve(sentences=(said,), done=False))


_USUAL = Path(0.0)
_NOZZLE_MM = 0.4


def _length(key: str, question: str, *, optional: bool = False, least_mm: float = 0.0) -> Enter:
    return Enter(
        f"reserve.{key}", question, EntryKind.NUMBER, unit="mm", least=least_mm, most=LONGEST_MM, optional=optional
    )


TO_GEAR = _length("trip_to_gear", "From the trip point to where the drive gear grips")
TO_NOZZLE = _length(
    "gear_to_nozzle", "From where the gear grips to the nozzle tip (empty if not measured)", optional=True
)
UNCERTAINTY = _length(
    "trip_uncertainty", f"By how much the trip point varies (Enter = {mm(_USUAL.trip_uncertainty_mm)})", optional=True
)
RETRACT = _length("retract", f"Longest retraction of your jobs (Enter = {mm(_USUAL.retract_mm)})", optional=True)
UNLOAD = _length(
    "unload",
    "Length the printer unloads (0 where new filament pushes the tail on; empty if not known)",
    optional=True,
)
GRIP = _length("grip", f"Kept for the gear to pull at (Enter = {mm(_USUAL.grip_mm)})", optional=True)
QUEUE = _length("queue", "Filament in moves already queued")
NOZZLE = _length("nozzle", f"Bore of the nozzle (Enter = {mm(_NOZZLE_MM)})", optional=True, least_mm=0.1)
JOB = Choose(
    "reserve.job",
    "Which job is it reckoned for?",
    (
        Option("short", "short moves", f"small or detailed parts: {_USUAL.queue.job}"),
        Option("long", "long straight moves", f"large flat parts: {_USUAL.harder.job}"),
        Option("known", "I know how much is queued", "you enter it, in mm of filament"),
    ),
    ("The printer stops only when the moves it has queued are done. How much filament they hold is the job's.",),
)


def _rows(given: Answers) -> tuple[FormRow, ...]:
    """Two lengths are to be measured; the rest is usual until it is answered otherwise."""
    known = given.get(JOB.key) == "known"
    held = (
        () if given.get(UNLOAD.key) in ("0", "0.0") else (FormRow(GRIP, "Kept for the gear", "", mm(_USUAL.grip_mm)),)
    )
    return (
        FormRow(TO_GEAR, "Trip point to gear"),
        FormRow(TO_NOZZLE, "Gear to nozzle tip", empty="not measured"),
        FormRow(UNCERTAINTY, "Trip point varies by", "", mm(_USUAL.trip_uncertainty_mm)),
        FormRow(JOB, "Reckoned for", "short"),
        FormRow(QUEUE, "Filament queued") if known else FormRow(NOZZLE, "Nozzle", "", mm(_NOZZLE_MM)),
        FormRow(RETRACT, "Longest retraction", "", mm(_USUAL.retract_mm)),
        FormRow(UNLOAD, "Printer unloads", "", "not known"),
        *held,
    )


def _measured(leftover_mm: float | None) -> Steps[Path]:
    to_gear = yield from _entered(TO_GEAR)
    to_nozzle = yield from _entered(TO_NOZZLE)
    uncertainty = yield from _entered(UNCERTAINTY)
    queue, harder = yield from _queue()
    retract = yield from _entered(RETRACT)
    unload = yield from _entered(UNLOAD)
    grip = None if unload == 0 else (yield from _entered(GRIP))
    return Path(
        trip_to_gear_mm=to_gear or 0.0,
        gear_to_nozzle_mm=to_nozzle,
        trip_uncertainty_mm=_USUAL.trip_uncertainty_mm if uncertainty is None else uncertainty,
        queue=queue,
        grip_mm=_USUAL.grip_mm if grip is None else grip,
        leftover_mm=leftover_mm,
        unload_mm=unload,
        retract_mm=_USUAL.retract_mm if retract is None else retract,
        harder=harder,
    )


def _queue() -> Steps[tuple[Queue, Queue]]:
    """The queue of the job to reckon with, and that of long straight moves."""
    job = yield from choose(JOB)
    if job == "known":
        queue = yield from _entered(QUEUE)
        return Queue(queue or 0.0, "a queue as entered"), _USUAL.harder
    bore = yield from _entered(NOZZLE)
    nozzle = _NOZZLE_MM if bore is None else bore
    harder = long_moves(bead_of_nozzle(nozzle))
    return (usual_moves(nozzle) if job == "short" else harder), harder


def _entered(length: Enter) -> Steps[float | None]:
    text = yield from enter(length)
    return float(text) if text.strip() else None


def picture_of(path: Path, found: Reserve) -> FilamentPath:
    """The filament path as it is drawn."""
    return FilamentPath(
        trip_to_gear_mm=path.trip_to_gear_mm,
        gear_to_nozzle_mm=path.gear_to_nozzle_mm,
        trip_uncertainty_mm=path.trip_uncertainty_mm,
        leftover_mm=found.leftover_mm,
        queue_mm=path.queue_mm,
        grip_mm=path.grip_needed_mm,
        refused=found.refused,
        recounted_mm=path.retract_mm if found.leftover_mm > 0 else 0.0,
    )


def _record(path: Path, found: Reserve) -> Steps[None]:
    picture = picture_of(path, found)
    yield Tell(tuple(path_text(picture).splitlines()), heading="The filament path", spoken=(picture.description,))
    most = mm(found.leftover_max_mm) if found.leftover_max_mm >= 0 else "none at all"
    told = (
        f"Leftover distance {mm(found.leftover_mm)}; the path allows at most {most}.",
        f"The pause comes after {mm(found.pause_after_mm)} of filament, {seconds(found.pause_after_s)} at "
        f"{path.flow_mm3_s:g} mm³/s.",
    )
    yield from establish(function.Reserve.of(path, found, (*told, *found.reasons, *found.assumes)))
    if found.refused:
        said = f"The leftover distance of {mm(found.leftover_mm)}, as found, does not fit before the drive gear."
        grade = PunchClass.UNSAFE if found.leftover_max_mm < 0 else PunchClass.INCOMPLETE  # the latter can still be set
        cures = [reason.partition(": ")[2] for reason in found.reasons[1:4]]  # each begins with its number
        yield Punch(grade, said, f"One of: {' Or: '.join(cures)}")
