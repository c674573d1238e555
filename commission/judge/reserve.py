"""How much filament is left between the sensor and the drive gear when the pause comes, and when it comes.

Lengths are millimetres of filament. A is the way from the trip point to the gear, B from the gear to the nozzle, H the
uncertainty of the trip point, Q the filament in moves already queued when the sensor trips, G what must stay
upstream of the gear so that it can pull back, D the leftover distance set at the printer:

    never print with none left   D + R + Q + H <= A
    pull the tail out            D <= A - G - Q - H - R   (the largest leftover, and the stricter of the two)
    pause after                  D + Q of filament, (D + Q) / v seconds with v = flow / cross-section
    reach                        E = B - D - Q of tail beyond the trip point after unloading

R is the longest retraction: while the tail is less than R + H beyond the trip point a retraction pulls it back over it,
and the printer counts the leftover anew. With no leftover there is nothing to count, and R is left out. G is left out
where nothing is unloaded: then new filament pushes the tail on.

The rules are derived from the geometry; the default numbers are common practice, no source.
"""

import math
from dataclasses import asdict, dataclass, field
from typing import Any

from commission.judge.volume import Queue, cross_section_mm2, line_mm, long_moves, usual_moves
from commission.units import millimetres as mm

LEFTOVER_STEP_MM = 5.0
USUAL_LEFTOVER_MM = 4 * LEFTOVER_STEP_MM
GRIP_BY_HAND_MM = 20.0
FREES_GEAR_MM = 10.0
LOAD_SHORT_MM, LOAD_LONG_MM = 30.0, 10.0
MOVE_SENSOR_TO_MM = 30.0
TIME_LIMIT_FACTOR, TIME_LIMIT_EXTRA_S = 2.0, 10.0
# lengths written with decimals do not subtract exactly; a margin below this is none, and not a negative one
ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class Path:
    """The filament path and how it is used, as measured or declared.

    Attributes:
        trip_to_gear_mm: A, from the trip point to where the drive gear grips.
        gear_to_nozzle_mm: B, from where the gear grips to the nozzle tip; None if not measured.
        trip_uncertainty_mm: H, by how much the trip point varies.
        queue: Q, filament in moves already queued, with the job it is reckoned for.
        grip_mm: G, kept upstream of the gear.
        leftover_mm: D as set or wanted; None lets it be chosen.
        unload_mm: length the printer unloads; 0 when the tail is pushed out, None if unknown.
        load_mm: length it loads fast; None if unknown.
        diameter_mm: of the filament.
        flow_mm3_s: volume extruded per second while the pause is awaited.
        retract_mm: R, the longest retraction of the job.
        harder: a queue of another job, which the verdict is held against as well.
    """

    trip_to_gear_mm: float
    gear_to_nozzle_mm: float | None = None
    trip_uncertainty_mm: float = 3.0
    queue: Queue = field(default_factory=usual_moves)
    grip_mm: float = 12.0
    leftover_mm: float | None = None
    unload_mm: float | None = None
    load_mm: float | None = None
    diameter_mm: float = 1.75
    flow_mm3_s: float = 5.0
    retract_mm: float = 5.0
    harder: Queue = field(default_factory=long_moves)

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            above_zero = name in {"diameter_mm", "flow_mm3_s"}
            if value is None or isinstance(value, Queue):
                continue
            if not math.isfinite(value) or value < 0 or (above_zero and value == 0):
                lowest = "above 0" if above_zero else "from 0 up"
                raise ValueError(f"{name} must be a number {lowest}, not {value}; measure it again.")

    @property
    def speed_mm_s(self) -> float:
        """v, how fast the filament moves: flow / cross-section, in mm/s."""
        return self.flow_mm3_s / cross_section_mm2(self.diameter_mm)

    @property
    def queue_mm(self) -> float:
        """Q, in mm."""
        return self.queue.filament_mm

    @property
    def grip_needed_mm(self) -> float:
        """G where the tail is pulled out; 0 where new filament pushes it on."""
        return 0.0 if self.unload_mm == 0 else self.grip_mm

    @property
    def leftover_max_mm(self) -> float:
        """The largest leftover distance: A - G - Q - H - R, in mm; negative when not even none fits."""
        with_none = self.trip_to_gear_mm - self.used_up_mm(0.0, self.queue) - self.grip_needed_mm
        return with_none - self.retract_mm if with_none > self.retract_mm else min(with_none, 0.0)

    def used_up_mm(self, leftover_mm: float, queue: Queue) -> float:
        """Filament from the earliest trip to the latest stop, in mm."""
        recounted_mm = self.retract_mm if leftover_mm > 0 else 0.0
        return leftover_mm + recounted_mm + queue.filament_mm + self.trip_uncertainty_mm

    def missing_mm(self, leftover_mm: float, queue: Queue) -> float:
        """Filament that would be printed with none left, at worst, in mm; 0 for none."""
        return max(0.0, self.used_up_mm(leftover_mm, queue) - self.trip_to_gear_mm)


@dataclass(frozen=True)
class Reserve:
    """What follows from a path.

    Attributes:
        leftover_max_mm: the largest leftover distance; negative when even none is too much.
        leftover_mm: the one set, or chosen when none was set.
        margin_mm: what is spare, leftover_max_mm - leftover_mm.
        pause_after_mm: filament from the trip to the stop.
        pause_after_s: the time that takes.
        time_limit_s: how long a test waits for the pause.
        air_mm: filament that would be printed with none left before the stop, at worst; 0 for none.
        reach_mm: tail beyond the trip point after unloading; None without gear_to_nozzle_mm.
        refused: whether the margin is negative.
        reasons: sentences; with a refusal the first says why and the next three are its cures.
        latest_mm: filament from the trip to the stop when a retraction made the printer count anew.
        assumes: the job it is reckoned for, and what a harder one would come to.
    """

    leftover_max_mm: float
    leftover_mm: float
    margin_mm: float
    pause_after_mm: float
    pause_after_s: float
    time_limit_s: float
    air_mm: float
    reach_mm: float | None
    refused: bool
    reasons: tuple[str, ...]
    latest_mm: float
    assumes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {**asdict(self), "reasons": list(self.reasons), "assumes": list(self.assumes)}


def chosen_leftover_mm(leftover_max_mm: float) -> float:
    """D to set when none was asked for: the usual 20 mm or what fits, rounded down to whole 5 mm; 0 for none.

    Below 5 mm whole millimetres are taken, so that what is set can be read back as it was written.
    """
    fitting = min(USUAL_LEFTOVER_MM, leftover_max_mm)
    step = LEFTOVER_STEP_MM if fitting >= LEFTOVER_STEP_MM else 1.0
    return max(0.0, math.floor(fitting / step) * step)


def reserve(path: Path) -> Reserve:
    """The leftover, the margin and the pause that follow from a path; a negative margin is refused with its cures."""
    largest = path.leftover_max_mm
    leftover = chosen_leftover_mm(largest) if path.leftover_mm is None else path.leftover_mm
    used_up = path.used_up_mm(leftover, path.queue)
    margin = path.trip_to_gear_mm - path.grip_needed_mm - used_up
    if abs(margin) < ROUNDING_MM:
        margin = 0.0
    pause_after = leftover + path.queue_mm
    pause_after_s = pause_after / path.speed_mm_s
    air = path.missing_mm(leftover, path.queue)
    reach = None if path.gear_to_nozzle_mm is None else path.gear_to_nozzle_mm - pause_after
    refusal = _refusal(path, leftover, air) if margin < 0 else ()
    return Reserve(
        leftover_max_mm=largest,
        leftover_mm=leftover,
        margin_mm=margin,
        pause_after_mm=pause_after,
        pause_after_s=pause_after_s,
        time_limit_s=TIME_LIMIT_FACTOR * pause_after_s + TIME_LIMIT_EXTRA_S,
        air_mm=air,
        reach_mm=reach,
        refused=margin < 0,
        reasons=(*refusal, *_tail(reach), *_unload(path), *_load(path)),
        latest_mm=used_up - path.trip_uncertainty_mm,
        assumes=(*_job(path), *_unload_assumed(path), *_retraction(path, leftover, used_up), *_harder(path, leftover)),
    )


def _refusal(path: Path, leftover: float, air: float) -> tuple[str, ...]:
    needed = path.used_up_mm(leftover, path.queue) + path.grip_needed_mm
    accept = (
        f"accept that up to {_none_left(path, air, path.queue)}, with this leftover"
        if air > 0
        else "accept that the gear may not hold the tail any more, so that it must be pushed out"
    )
    without = f" ({mm(path.missing_mm(0.0, path.queue))} with none)" if air > 0 else ""
    return (
        f"Refused: a leftover of {mm(leftover)} needs {mm(needed)} from trip point to gear, and there are "
        f"{mm(path.trip_to_gear_mm)}.",
        f"Cure 1: {_smaller(path)}.",
        f"Cure 2: move the sensor to at least {mm(max(needed, MOVE_SENSOR_TO_MM))} above the gear{_room(needed)}.",
        f"Cure 3: {accept}{without}.",
    )


def _room(needed_mm: float) -> str:
    """Why the sensor goes further away than the lengths ask for; nothing where they ask for more."""
    if needed_mm >= MOVE_SENSOR_TO_MM:
        return ""
    return f" ({mm(needed_mm)} would do for these lengths; {mm(MOVE_SENSOR_TO_MM)} leave room to pull a tail back)"


def _smaller(path: Path) -> str:
    largest = path.leftover_max_mm
    if largest > 0:
        return f"set a leftover distance of at most {mm(largest)}"
    enough = "then it fits" if largest == 0 else "and do 2 or 3 as well"
    return f"set leftover 0, {enough}"


def _none_left(path: Path, missing_mm: float, queue: Queue) -> str:
    """What prints with nothing to print with: so much filament, and the length of line it should have made."""
    line_m = line_mm(missing_mm, queue.bead, diameter_mm=path.diameter_mm) / 1000
    return f"{mm(missing_mm)} of filament, {line_m:.1f} m of line, print with no filament left"


def _job(path: Path) -> tuple[str, ...]:
    return (f"Reckoned for this job: {path.queue.job}; {mm(path.queue_mm)} of filament.",)


def _unload_assumed(path: Path) -> tuple[str, ...]:
    if path.unload_mm is not None or path.grip_mm == 0:
        return ()
    return (
        "How far the printer unloads was not given: it is assumed that it pulls the tail back, so "
        f"{mm(path.grip_mm)} stay where the gear grips.",
    )


def _retraction(path: Path, leftover: float, used_up: float) -> tuple[str, ...]:
    if leftover == 0 or path.retract_mm == 0:
        return ()
    return (
        f"Reckoned with retractions of up to {mm(path.retract_mm)}: one that pulls the tail back over the trip point "
        "makes the printer count the leftover anew, and the pause comes after "
        f"{mm(used_up - path.trip_uncertainty_mm)} at the latest.",
    )


def _harder(path: Path, leftover: float) -> tuple[str, ...]:
    queue = path.harder
    if queue.filament_mm <= path.queue_mm:
        return ()
    begin = f"With long straight moves ({queue.job}; {mm(queue.filament_mm)} of filament)"
    missing = path.missing_mm(leftover, queue)
    if missing > 0:
        return (f"{begin} up to {_none_left(path, missing, queue)}.",)
    if path.used_up_mm(leftover, queue) + path.grip_needed_mm > path.trip_to_gear_mm:
        return (f"{begin} the gear may not hold the tail any more.",)
    return (f"{begin} it fits as well.",)


def _tail(reach: float | None) -> tuple[str, ...]:
    if reach is None or reach >= GRIP_BY_HAND_MM:
        return ()
    if reach < 0:
        return (
            f"After unloading the tail ends {mm(-reach)} short of the trip point, hidden in the path: a smaller "
            "leftover "
            "brings it out, else the tube must come off or the rest be pushed through.",
        )
    return (
        f"After unloading only {mm(reach)} of tail stand on the spool side of the trip point; {mm(GRIP_BY_HAND_MM)} "
        "can be gripped.",
    )


def _unload(path: Path) -> tuple[str, ...]:
    unload, to_nozzle = path.unload_mm, path.gear_to_nozzle_mm
    if unload is None or to_nozzle is None:
        return ()
    if unload == 0:
        return ("Without unloading the new filament pushes the tail out: purge at least the piece that is left.",)
    least = to_nozzle + FREES_GEAR_MM
    if unload < least:
        return (f"An unload of {mm(unload)} does not free the gear: it takes at least {mm(least)}.",)
    return ()


def _load(path: Path) -> tuple[str, ...]:
    load, to_nozzle = path.load_mm, path.gear_to_nozzle_mm
    if not load or to_nozzle is None:
        return ()
    shortest, longest = max(0.0, to_nozzle - LOAD_SHORT_MM), to_nozzle - LOAD_LONG_MM
    if load > longest:
        return (f"A fast load of {mm(load)} rams filament into the melt: at most {mm(max(0.0, longest))}.",)
    if load < shortest:
        return (f"A fast load of {mm(load)} ends too early to prime: at least {mm(shortest)}.",)
    return ()
