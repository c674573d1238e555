"""The filament in its path: what a hand, a cut and the drive gear do to it. Time is an argument."""

import math

from fake_printer.specs import FilamentSpec

_PAST_EDGE_MM = 1e-6


class Filament:
    """A filament in its path: where its leading end is, and where its tail is once it was cut.

    Positions are mm past the trip point. An uncut filament has its tail infinitely far upstream.
    """

    def __init__(self, spec: FilamentSpec) -> None:
        self._spec = spec
        self.front_mm = spec.in_mm if spec.start == "in" else spec.out_mm
        self.tail_mm = -math.inf
        self.travelled_mm = 0.0
        self.diameter_mm = spec.diameter_mm
        self.gear_free = False
        self._goal_mm = self.front_mm
        self._hand_mm_s = self._usual_mm_s = (spec.in_mm - spec.out_mm) / spec.hand_move_s

    @property
    def moving(self) -> bool:
        """Whether a hand is moving it."""
        return self.front_mm != self._goal_mm

    @property
    def at_trip_point(self) -> bool:
        """Whether filament lies across the trip point."""
        return self.front_mm >= 0 and self.tail_mm < 0

    @property
    def gripped(self) -> bool:
        """Whether the drive gear has hold of it; a hand that moves it is the stronger."""
        return not self.gear_free and not self.moving and self.front_mm >= self._spec.trip_to_gear_mm > self.tail_mm

    def pull_by_hand(self, distance_mm: float, seconds: float) -> None:
        """A hand begins to move it so far, downstream positive, evenly in that time."""
        self._hand_mm_s = abs(distance_mm) / seconds
        self._goal_mm = self.front_mm + distance_mm

    def insert(self) -> None:
        """A hand begins to push filament in; after a runout it is a new one that pushes the rest ahead."""
        self._hand_mm_s = self._usual_mm_s
        if self.tail_mm > -math.inf:
            self.front_mm, self.tail_mm = self._spec.out_mm, -math.inf
        self._goal_mm = max(self.front_mm, self._spec.in_mm)

    def withdraw(self) -> bool:
        """A hand begins to pull it out; false when no end is left upstream of the trip point to pull at."""
        if self.tail_mm >= 0:
            return False
        self._hand_mm_s = self._usual_mm_s
        self._goal_mm = self._spec.out_mm
        return True

    def cut(self, upstream_mm: float) -> None:
        """Cut it this far upstream of the trip point."""
        self.tail_mm = -upstream_mm

    def draw(self, distance_mm: float) -> None:
        """The drive gear turns; positive feeds towards the nozzle."""
        if not self.gripped:
            return
        distance_mm *= 1 - self._spec.gear_slips
        nozzle_mm = self._spec.trip_to_gear_mm + self._spec.gear_to_nozzle_mm
        self.front_mm = self._goal_mm = min(self.front_mm + distance_mm, nozzle_mm)
        self.tail_mm += distance_mm
        self.travelled_mm += distance_mm

    def advance(self, elapsed_s: float) -> None:
        """Let a hand's movement go on."""
        if self.moving:
            left_mm = self._goal_mm - self.front_mm
            step_mm = self._hand_mm_s * elapsed_s
            done = abs(left_mm) <= step_mm + 1e-9
            before_mm = self.front_mm
            self.front_mm = self._goal_mm if done else self.front_mm + math.copysign(step_mm, left_mm)
            self.travelled_mm += self.front_mm - before_mm

    def until_next_s(self, edges_mm: tuple[float, ...], drawing_mm_s: float = 0.0) -> float:
        """Seconds until an end that moves reaches its goal or one of these positions.

        Args:
            edges_mm: where the lever moves, of the leading end; of the tail they are the same downstream.
            drawing_mm_s: how fast the drive gear turns; negative draws back.
        """
        return min(self._until_moved_s(edges_mm), self._until_drawn_s(edges_mm, drawing_mm_s))

    def _until_moved_s(self, edges_mm: tuple[float, ...]) -> float:
        if not self.moving:
            return math.inf
        left_mm = self._goal_mm - self.front_mm
        ahead = [(edge - self.front_mm) / left_mm for edge in edges_mm]
        share = min([part for part in ahead if 1e-9 < part < 1], default=1.0)
        return share * abs(left_mm) / self._hand_mm_s

    def _until_drawn_s(self, edges_mm: tuple[float, ...], drawing_mm_s: float) -> float:
        if drawing_mm_s == 0 or not self.gripped:
            return math.inf
        gear_mm = self._spec.trip_to_gear_mm
        ways_mm = [edge - self.front_mm for edge in (*edges_mm, gear_mm)]
        ways_mm += [edge - self.tail_mm for edge in (*(-edge for edge in edges_mm), gear_mm)]
        ahead_mm = [abs(way) for way in ways_mm if way * drawing_mm_s >= 0]
        # a hair past the edge, so that rounding cannot leave the end in front of it for good
        return (min(ahead_mm, default=math.inf) + _PAST_EDGE_MM) / abs(drawing_mm_s * (1 - self._spec.gear_slips))
