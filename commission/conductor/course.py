"""How far a run is: which step it is at, and about how long the rest takes this person."""

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
        self._phase: PhaseBegins | None = None
        self._phase_began_s = 0.0
        self._left_s = 0.0

    def begins(self, phase: PhaseBegins) -> Tell:
        """What is said as a phase begins; nothing of the course where the job has planned none."""
        self._phase = phase if phase.steps else None
        if not phase.steps:
            return Tell((), heading=phase.title, weight=Weight.STEP)
        now_s = self._clock.monotonic()
        self._began_s = now_s if self._began_s is None else self._began_s
        self._left_s = left_s(phase.left_s, self._planned_s, now_s - self._began_s)
        self._planned_s += phase.takes_s
        self._phase_began_s = now_s
        return Tell((), heading=phase.title, weight=Weight.STEP, where=self.now())

    def now(self) -> str:
        """Where the run is at this moment; empty where the job has planned nothing of it.

        The time left runs down with the step, and stays at what the later steps take once this one takes longer.
        """
        if self._phase is None:
            return ""
        later_s = self._left_s * (1.0 - self._phase.takes_s / self._phase.left_s) if self._phase.left_s else 0.0
        left = max(later_s, self._left_s - (self._clock.monotonic() - self._phase_began_s))
        minutes = max(1, math.ceil(left / MINUTE_S))
        return f"Step {self._phase.step} of {self._phase.steps}, about {minutes} min left"
