"""Something that comes round again after a fixed time."""

import math


class Timer:
    """Due every `interval_s`; an interval of 0 is never due."""

    def __init__(self, interval_s: float = 0.0) -> None:
        self._interval_s = interval_s
        self.left_s = math.inf
        self.restart()

    def restart(self) -> None:
        """Begin the interval anew."""
        self.left_s = self._interval_s if self._interval_s > 0 else math.inf

    def due_after(self, elapsed_s: float) -> bool:
        """Let time pass; true when it came round."""
        self.left_s -= elapsed_s
        if self.left_s > 1e-9:
            return False
        self.restart()
        return True
