"""Volumes, and the filament they take: cross-sections, beads, and queues of moves."""

import math


def cross_section_mm2(diameter_mm: float) -> float:
    """Area of round filament: π d² / 4, in mm²."""
    return math.pi * diameter_mm**2 / 4


def bead_mm2(width_mm: float, height_mm: float) -> float:
    """Area of a printed bead, a rectangle with round ends (a stadium): (w - h) h + π h² / 4, in mm².

    Raises:
        ValueError: a bead that is higher than wide, or not above 0 mm.
    """
    if not 0 < height_mm <= width_mm < math.inf:
        raise ValueError(f"A bead is at least as wide as high, not {width_mm} mm wide and {height_mm} mm high.")
    return (width_mm - height_mm) * height_mm + math.pi * height_mm**2 / 4


def queue_of_moves_mm(
    width_mm: float, height_mm: float, move_mm: float, *, diameter_mm: float = 1.75, blocks: int = 16
) -> float:
    """Q, filament in a full queue of equal moves: blocks · length · bead area / filament area, in mm.

    Raises:
        ValueError: a bead that cannot be, or a length or number of moves below 0.
    """
    if not 0 <= move_mm < math.inf or blocks < 0 or not 0 < diameter_mm < math.inf:
        raise ValueError(f"A queue needs moves of 0 mm or more, not {blocks} moves of {move_mm} mm.")
    return blocks * move_mm * bead_mm2(width_mm, height_mm) / cross_section_mm2(diameter_mm)


def usual_queue_mm(nozzle_mm: float) -> float:
    """Q to assume for a nozzle when nothing is known of the job: 5, 25 or 45 mm. Common practice, no source.

    Raises:
        ValueError: a nozzle that is not above 0 mm.
    """
    if not 0 < nozzle_mm < math.inf:
        raise ValueError(f"A nozzle has a bore above 0 mm, not {nozzle_mm}.")
    for up_to_mm, queue_mm in ((0.4, 5.0), (0.6, 25.0)):
        if nozzle_mm <= up_to_mm:
            return queue_mm
    return 45.0
