"""How much filament was fed between the trip and the stop, from our own log of acknowledged moves.

An acknowledged move is in the printer's queue, not yet done. Moves of known duration are done one after the other, so
what was done at a moment follows from when each was acknowledged:

    start = max(acknowledged, end of the one before), end = start + duration

Every acknowledged move is done before the printer stops; one that was sent and never acknowledged is not. The length
from trip to stop is therefore what was acknowledged in all, less what was done at the trip. Acceleration is left out:
test moves are chosen slow and long enough for it not to matter.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class LoggedMove:
    """A move of the log: acknowledged at this moment (s), feeding so much (mm), taking so long (s)."""

    acked_at_s: float
    feed_mm: float
    block_s: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.acked_at_s) and self.feed_mm >= 0 and self.block_s > 0):
            raise ValueError("A logged move has a moment, feeds 0 mm or more, and takes time.")


@dataclass(frozen=True)
class PauseMeasured:
    """What was measured of one pause.

    Attributes:
        length_mm: filament from the trip to the stop, the trip taken half-way between the two readings around it.
        queue_mm: acknowledged and not yet done when the pause was announced, or when the last move was taken.
        announced_after_s: from the trip to the announcement; None when nothing was announced.
        stopped_after_s: from the trip to the end of the last move.
        gap_s: between the two readings around the trip.
    """

    length_mm: float
    queue_mm: float
    announced_after_s: float | None
    stopped_after_s: float
    gap_s: float


def done_mm(moves: Sequence[LoggedMove], at_s: float) -> float:
    """Filament fed by this moment, in mm."""
    fed_mm, free_at_s = 0.0, -math.inf
    for move in moves:
        start_s = max(move.acked_at_s, free_at_s)
        free_at_s = start_s + move.block_s
        fed_mm += move.feed_mm * min(1.0, max(0.0, (at_s - start_s) / move.block_s))
    return fed_mm


def drained_at_s(moves: Sequence[LoggedMove]) -> float:
    """When the last acknowledged move is done, in s; minus infinity without one."""
    free_at_s = -math.inf
    for move in moves:
        free_at_s = max(move.acked_at_s, free_at_s) + move.block_s
    return free_at_s


def measure(
    moves: Sequence[LoggedMove], *, last_in_s: float, first_out_s: float, announced_s: float | None
) -> PauseMeasured:
    """The pause that followed the trip between these two readings.

    Raises:
        ValueError: there are no moves, or the readings are in the wrong order.
    """
    if not moves or not last_in_s <= first_out_s:
        raise ValueError("A pause is measured from at least one move and two readings in order.")
    trip_s = (last_in_s + first_out_s) / 2
    fed_mm = sum(move.feed_mm for move in moves)
    queue_at_s = moves[-1].acked_at_s if announced_s is None else announced_s
    return PauseMeasured(
        length_mm=fed_mm - done_mm(moves, trip_s),
        queue_mm=fed_mm - done_mm(moves, queue_at_s),
        announced_after_s=None if announced_s is None else announced_s - trip_s,
        stopped_after_s=drained_at_s(moves) - trip_s,
        gap_s=first_out_s - last_in_s,
    )


def pause_agrees(predicted_mm: float, measured_mm: float, *, block_mm: float, speed_mm_s: float, gap_s: float) -> bool:
    """Whether a measured pause length is the predicted one: within one block and v times the largest poll gap, in mm.

    Raises:
        ValueError: a value that is negative or no number.
    """
    values = (predicted_mm, measured_mm, block_mm, speed_mm_s, gap_s)
    if not all(math.isfinite(value) and value >= 0 for value in values):
        raise ValueError(f"Lengths, speeds and gaps are numbers from 0 up, not {values}.")
    return abs(measured_mm - predicted_mm) <= block_mm + speed_mm_s * gap_s
