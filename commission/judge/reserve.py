"""How much filament is left between the sensor and the drive gear when the pause comes, and when it comes.

Lengths are millimetres of filament. A is the way from the trip point to the gear, B from the gear to the nozzle, H the
uncertainty of the trip point, Q the filament in moves already queued when the sensor trips, G what must stay
upstream of the gear so that it can pull back, D the leftover distance set at the printer:

    never print air      D + Q + H <= A
    pull the tail out    D <= A - G - Q - H      (the largest leftover, and the stricter of the two)
    pause after          D + Q of filament, (D + Q) / v seconds with v = flow / cross-section
    reach                E = B - D - Q of tail beyond the trip point after unloading

The rules are derived from the geometry; the default numbers are common practice, no source.
"""

import math
from dataclasses import asdict, dataclass
from typing import Any

from commission.judge.volume import cross_section_mm2
from commission.units import millimetres as mm

USUAL_LEFTOVER_MM = 20.0
LEFTOVER_STEP_MM = 5.0
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
        trip_to_gear_mm: A, from the trip point to the nip of the drive gear.
        gear_to_nozzle_mm: B, from the nip to the nozzle tip; None if not measured.
        trip_uncertainty_mm: H, by how much the trip point varies.
        queue_mm: Q, filament in moves already queued.
        grip_mm: G, kept upstream of the gear.
        leftover_mm: D as set or wanted; None lets it be chosen.
        unload_mm: length the printer unloads; 0 when the tail is pushed out, None if unknown.
        load_mm: length it loads fast; None if unknown.
        diameter_mm: of the filament.
        flow_mm3_s: volume extruded per second while the pause is awaited.
    """

    trip_to_gear_mm: float
    gear_to_nozzle_mm: float | None = None
    trip_uncertainty_mm: float = 3.0
    queue_mm: float = 5.0
    grip_mm: float = 12.0
    leftover_mm: float | None = None
    unload_mm: float | None = None
    load_mm: float | None = None
    diameter_mm: float = 1.75
    flow_mm3_s: float = 5.0

    def __post_init__(self) -> None:
        for name, value in asdict(self).items():
            above_zero = name in {"diameter_mm", "flow_mm3_s"}
            if value is None:
                continue
            if not math.isfinite(value) or value < 0 or (above_zero and value == 0):
                lowest = "above 0" if above_zero else "from 0 up"
                raise ValueError(f"{name} must be a number {lowest}, not {value}; measure it again.")

    @property
    def speed_mm_s(self) -> float:
        """v, how fast the filament moves: flow / cross-section, in mm/s."""
        return self.flow_mm3_s / cross_section_mm2(self.diameter_mm)

    @property
    def leftover_max_mm(self) -> float:
        """The largest leftover distance: A - G - Q - H, in mm; negative when there is none."""
        return self.trip_to_gear_mm - self.grip_mm - self.queue_mm - self.trip_uncertainty_mm


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
        air_mm: filament that would be printed as air before the stop, at worst; 0 for none.
        reach_mm: tail beyond the trip point after unloading; None without gear_to_nozzle_mm.
        refused: whether the margin is negative.
        reasons: sentences; with a refusal the first says why and the next three are its cures.
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

    def as_json(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {**asdict(self), "reasons": list(self.reasons)}


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
    margin = largest - leftover
    if abs(margin) < ROUNDING_MM:
        margin = 0.0
    pause_after = leftover + path.queue_mm
    pause_after_s = pause_after / path.speed_mm_s
    air = max(0.0, pause_after + path.trip_uncertainty_mm - path.trip_to_gear_mm)
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
    )


def _refusal(path: Path, leftover: float, air: float) -> tuple[str, ...]:
    largest = path.leftover_max_mm
    needed = leftover + path.queue_mm + path.trip_uncertainty_mm + path.grip_mm
    smaller = (
        f"set a leftover distance of at most {mm(largest)}"
        if largest > 0
        else "set no leftover distance, which by itself is not enough here"
    )
    air_without = max(0.0, path.queue_mm + path.trip_uncertainty_mm - path.trip_to_gear_mm)
    accept = (
        f"accept up to {mm(air)} of filament printed as air with this leftover"
        if air > 0
        else "accept that the gear may not hold the tail any more, so that it must be pushed out"
    )
    without = f" ({mm(air_without)} with none)" if air > 0 else ""
    return (
        f"Refused: a leftover of {mm(leftover)} needs {mm(needed)} from trip point to gear, and there are "
        f"{mm(path.trip_to_gear_mm)}.",
        f"Cure 1: {smaller}.",
        f"Cure 2: move the sensor to at least {mm(max(needed, MOVE_SENSOR_TO_MM))} above the gear.",
        f"Cure 3: {accept}{without}.",
    )


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
        f"After unloading only {mm(reach)} of tail stand beyond the trip point; {mm(GRIP_BY_HAND_MM)} can be gripped.",
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


def pause_agrees(predicted_mm: float, measured_mm: float, *, block_mm: float, speed_mm_s: float, gap_s: float) -> bool:
    """Whether a measured pause length is the predicted one: within one block and v times the largest poll gap, in mm.

    Raises:
        ValueError: a value that is negative or no number.
    """
    values = (predicted_mm, measured_mm, block_mm, speed_mm_s, gap_s)
    if not all(math.isfinite(value) and value >= 0 for value in values):
        raise ValueError(f"Lengths, speeds and gaps are numbers from 0 up, not {values}.")
    return abs(measured_mm - predicted_mm) <= block_mm + speed_mm_s * gap_s
