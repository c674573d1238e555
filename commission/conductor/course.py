"""How far a run is: which step begins, and about how long the rest takes this person."""

import math

from commission.asking.message import Tell, Weight
from commission.asking.request import PhaseBegins
from commission.clock import Clock
from commission.judge.pace import left_s

MINUTE_S = 60.0


class Course:
    """Takes every phase as it begins; what the steps planned for it says how much of the run is over."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._began_s: float | None = None
        self._planned_s = 0.0

    def begins(self, phase: PhaseBegins) -> Tell:
        """What is said as a phase begins; nothing of the course where the job has planned none."""
        if not phase.steps:
            return Tell((), heading=phase.title, weight=Weight.STEP)
        now_s = self._clock.monotonic()
        self._began_s = now_s if self._began_s is None else self._began_s
        left = left_s(phase.left_s, self._planned_s, now_s - self._began_s)
        self._planned_s += phase.takes_s
        minutes = max(1, math.ceil(left / MINUTE_S))
        where = f"Step {phase.step} of {phase.steps}, about {minutes} min left"
        return Tell((), heading=phase.title, weight=Weight.STEP, where=where)
