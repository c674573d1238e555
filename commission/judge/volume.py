"""Volumes, and the filament they take: cross-sections, beads, and queues of moves.

Which job is printing decides how much filament the queue holds, so a queue carries the job it stands for.
"""

import math
from dataclasses import dataclass

USUAL_BLOCKS = 16
"""Moves a printer plans ahead. Common practice, no source."""
LONG_MOVE_MM = 100.0
"""A long straight move: the filling of a large flat part. Common practice, no source."""
WIDTH_OF_NOZZLE, HEIGHT_OF_NOZZLE = 1.125, 0.5
"""The bead assumed for a nozzle: 9/8 of its bore wide and half of it high. Common practice, no source."""


@dataclass(frozen=True)
class Bead:
    """A printed line: a rectangle with round ends, in mm."""

    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.height_mm <= self.width_mm < math.inf:
            raise ValueError(
                f"A bead is at least as wide as high, not {self.width_mm} mm wide and {self.height_mm} mm high."
            )

    @property
    def section_mm2(self) -> float:
        """Its area, (w - h) h + π h² / 4, in mm²."""
        return (self.width_mm - self.height_mm) * self.height_mm + math.pi * self.height_mm**2 / 4

    @property
    def words(self) -> str:
        """It in words."""
        return f"a bead of {self.width_mm:.2f} x {self.height_mm:.2f} mm"


@dataclass(frozen=True)
class Queue:
    """Filament in moves that are already queued when the sensor trips.

    Attributes:
        filament_mm: Q, in mm of filament.
        job: what is printing, in words.
        bead: what it prints.
    """

    filament_mm: float
    job: str
    bead: Bead = Bead(0.45, 0.20)

    def __post_init__(self) -> None:
        if not 0 <= self.filament_mm < math.inf:
            raise ValueError(f"A queue holds 0 mm of filament or more, not {self.filament_mm}.")


def cross_section_mm2(diameter_mm: float) -> float:
    """Area of round filament: π d² / 4, in mm²."""
    return math.pi * diameter_mm**2 / 4


def bead_of_nozzle(nozzle_mm: float) -> Bead:
    """The bead a nozzle usually lays.

    Raises:
        ValueError: a nozzle that is not above 0 mm.
    """
    if not 0 < nozzle_mm < math.inf:
        raise ValueError(f"A nozzle has a bore above 0 mm, not {nozzle_mm}.")
    return Bead(nozzle_mm * WIDTH_OF_NOZZLE, nozzle_mm * HEIGHT_OF_NOZZLE)


def queue_of_moves(bead: Bead, move_mm: float, *, diameter_mm: float = 1.75, blocks: int = USUAL_BLOCKS) -> Queue:
    """Q of a full queue of equal moves: blocks · length · bead area / filament area.

    Raises:
        ValueError: a length below 0, or a number of moves that is no whole number from 0 up.
    """
    if not 0 <= move_mm < math.inf or blocks != int(blocks) or blocks < 0 or not 0 < diameter_mm < math.inf:
        raise ValueError(f"A queue needs a whole number of moves of 0 mm or more, not {blocks} moves of {move_mm} mm.")
    filament_mm = blocks * move_mm * bead.section_mm2 / cross_section_mm2(diameter_mm)
    return Queue(filament_mm, f"{blocks} queued moves of {move_mm:g} mm with {bead.words}", bead)


def long_moves(bead: Bead = Queue.bead, *, diameter_mm: float = 1.75, blocks: int = USUAL_BLOCKS) -> Queue:
    """Q when long straight moves are queued: 54 mm of 1.75 mm filament with a bead of 0.45 x 0.20 mm."""
    return queue_of_moves(bead, LONG_MOVE_MM, diameter_mm=diameter_mm, blocks=blocks)


def usual_moves(nozzle_mm: float = 0.4, *, diameter_mm: float = 1.75) -> Queue:
    """Q to assume for a nozzle when nothing is known of the job: 5, 25 or 45 mm, and what moves that comes to.

    Common practice, no source.

    Raises:
        ValueError: a nozzle that is not above 0 mm.
    """
    bead = bead_of_nozzle(nozzle_mm)
    filament_mm = next((queue for up_to_mm, queue in ((0.4, 5.0), (0.6, 25.0)) if nozzle_mm <= up_to_mm), 45.0)
    move_mm = filament_mm * cross_section_mm2(diameter_mm) / bead.section_mm2 / USUAL_BLOCKS
    return Queue(filament_mm, f"{USUAL_BLOCKS} queued moves of about {move_mm:.0f} mm with {bead.words}", bead)


def line_mm(filament_mm: float, bead: Bead, *, diameter_mm: float = 1.75) -> float:
    """The length of printed line that so much filament makes, in mm."""
    return filament_mm * cross_section_mm2(diameter_mm) / bead.section_mm2
