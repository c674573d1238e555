"""The planner: 16 slots of moves, each taking its own time, and the position they lead to."""

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

PLANNER_SLOTS = 16
AXES = ("X", "Y", "Z", "E")


@dataclass
class Move:
    """One planned move.

    Attributes:
        extruded_mm: filament fed by it; negative draws back.
        travels: whether an axis moves as well.
        duration_s: how long it takes; left_s: how much of that is left.
        target: where the axes are at its end, in mm.
    """

    extruded_mm: float
    travels: bool
    duration_s: float
    target: dict[str, float]
    left_s: float = field(init=False)

    def __post_init__(self) -> None:
        self.left_s = self.duration_s


class Planner:
    """Moves wait here; the position that is reported is the planned one.

    Attributes:
        planned: where the last planned move ends, in mm. real: where the axes are.
        homed: whether the axes were referenced since power-up.
    """

    def __init__(self) -> None:
        self.moves: deque[Move] = deque()
        self.planned = {"X": 110.0, "Y": 90.0, "Z": 12.0, "E": 0.0}
        self.real = dict(self.planned)
        self.homed = False
        self.feed_mm_s = 25.0

    @property
    def free_slots(self) -> int:
        """Slots left of the ring; one is always kept empty."""
        return max(0, PLANNER_SLOTS - 1 - len(self.moves))

    def plan(self, target: dict[str, float], *, extruded_mm: float) -> None:
        """Append a move to this target at the feed rate in force."""
        path_mm = math.hypot(*(target[axis] - self.planned[axis] for axis in "XYZ"))
        length_mm = path_mm or abs(extruded_mm)
        self.planned = dict(target)
        if length_mm > 0:
            self.moves.append(Move(extruded_mm, path_mm > 0, length_mm / self.feed_mm_s, dict(target)))

    def place(self, target: dict[str, float]) -> None:
        """Say that the axes are here, without moving."""
        self.planned = dict(target)
        self.real = dict(target)

    def drop(self) -> None:
        """Forget what is planned and stand where the axes are."""
        self.moves.clear()
        self.planned = dict(self.real)

    def advance(self, elapsed_s: float, feed: Callable[[float], None], done: Callable[[Move], None]) -> None:
        """Let time pass; `feed` turns the drive gear by mm, `done` is told of each finished move."""
        left_s = elapsed_s
        while self.moves and left_s > 0:
            move = self.moves[0]
            step_s = min(left_s, move.left_s)
            feed(move.extruded_mm * step_s / move.duration_s)
            move.left_s -= step_s
            left_s -= step_s
            if move.left_s <= 1e-9:
                self.moves.popleft()
                self.real = dict(move.target)
                done(move)

    @property
    def drawing_mm_s(self) -> float:
        """How fast the move under way feeds filament; negative draws back."""
        return self.moves[0].extruded_mm / self.moves[0].duration_s if self.moves else 0.0

    def until_next_s(self) -> float:
        """Seconds until the move under way ends."""
        return self.moves[0].left_s if self.moves else math.inf
