"""The runout logic and the gates in front of it.

A runout is acted on only when support is built in, watching is enabled, the board knows of a job, no runout is latched
already, and the input has read *absent* for the whole leftover distance, counted in moves that travel while they
extrude (without a leftover distance: for a few milliseconds).
"""

from collections.abc import Callable

from fake_printer.firmware.motion import Move

_DEBOUNCE_S = 0.005


class Runout:
    """Watches the input while a job runs.

    Attributes:
        left_to_host: announce to the host and do nothing else.
        latched: a runout was seen and not yet dealt with.
    """

    def __init__(self, *, left_to_host: bool, distance_mm: Callable[[], float], empty_start: str = "distance") -> None:
        self.left_to_host = left_to_host
        self.latched = False
        self._distance_mm = distance_mm
        self._left_mm = distance_mm()
        self._absent_for_s = 0.0
        self._empty_start = empty_start
        self._was_armed = self._seen_present = False

    def reset(self, *, keep_latch: bool = False) -> None:
        """Forget the latch (unless it is to stay) and start counting anew."""
        self.latched = self.latched and keep_latch
        self._left_mm = self._distance_mm()
        self._absent_for_s = 0.0

    def job_begins(self, *, absent: bool) -> None:
        """A job begins now, with the input reading so."""
        self._seen_present = not absent
        self._was_armed = False

    def watch(self, elapsed_s: float, *, absent: bool, armed: bool) -> bool:
        """Let time pass with the input reading so; true at the moment a runout is established."""
        begins, self._was_armed = armed and not self._was_armed, armed
        self._seen_present = not absent or (armed and self._seen_present)
        if not absent or not armed:
            self._absent_for_s = 0.0
            self._left_mm = self._distance_mm()
            return False
        self._absent_for_s += elapsed_s
        if self.latched or (self._empty_start == "never" and not self._seen_present):
            return False
        if begins and self._empty_start == "at-once":
            self.latched = True
            return True
        established = self._left_mm < 0 if self._distance_mm() > 0 else self._absent_for_s >= _DEBOUNCE_S - 1e-9
        self.latched = established
        return established

    def move_done(self, move: Move) -> None:
        """Count what a finished move fed, if it also travelled."""
        if move.travels:
            self._left_mm -= move.extruded_mm

    def until_next_s(self, *, absent: bool, armed: bool) -> float:
        """Seconds until a runout would be established without a move, or watching that begins or ends be noticed."""
        if armed != self._was_armed:
            return 0.0
        waiting = absent and armed and not self.latched and self._distance_mm() <= 0
        return max(_DEBOUNCE_S - self._absent_for_s, 1e-6) if waiting else float("inf")
