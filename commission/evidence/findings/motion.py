"""What was established of a sensor of movement."""

from typing import ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Judgement


class MovedPass(Struct, frozen=True, kw_only=True):
    """One pass of the filament from mark to mark, as it counts.

    Attributes:
        changes: of the reading.
        longest_gap_s, usual_gap_s: from one change to the next; None with fewer than two.
    """

    changes: int
    longest_gap_s: float | None
    usual_gap_s: float | None


class MovementSensed(Finding, frozen=True, kw_only=True, tag="movement_sensed"):
    """The trials of a presence sensor looked like those of a wheel.

    Attributes:
        moves: prompts to move the filament.
        flipping: those of them in which the reading flipped again and again.
        confirmed: the operator says that it senses movement.
    """

    title: ClassVar[str] = "Kind of sensor"
    newest_stands: ClassVar[bool] = True
    moves: int
    flipping: int
    confirmed: bool


class MotionChecked(Judgement, frozen=True, kw_only=True, tag="motion_checked"):
    """A known length was moved through the sensor, and the changes of its reading were counted.

    Attributes:
        sensor: how it is read.
        moved_by: a `hand`, or the `motor`; empty where it is older than the motor, and was a hand.
        length_mm, error_mm: of one pass: between the marks, or as the motor was told; and how far it may be off.
        marked_mm: how far a mark went in all passes of the motor; None by hand, and where it was not measured.
        rest_changes: with hands off.
        passes: every pass that counts.
        set_aside: passes that did not end at the mark, or were pulled too fast to be read.
        least_mm, most_mm: filament for one change lies between these; None where nothing tells.
        longest_mm: the longest stretch without a change; by hand only if the filament was pulled evenly.
        sheet_mm, printer_mm: by the data sheet, and what the printer waits for; None where that is not known.
    """

    title: ClassVar[str] = "Sensor of movement"
    newest_stands: ClassVar[bool] = True
    sensor: str
    length_mm: float
    error_mm: float
    rest_changes: int | None
    passes: tuple[MovedPass, ...]
    set_aside: int
    least_mm: float | None
    most_mm: float | None
    longest_mm: float | None
    sheet_mm: float | None = None
    printer_mm: float | None = None
    moved_by: str = ""
    marked_mm: float | None = None
