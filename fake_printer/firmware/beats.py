"""What the firmware says by itself now and then: the timers behind it."""

from fake_printer.firmware.timers import Timer

_IDLE_WORD_S = 1.0


class Beats:
    """The timers of what is said unasked; what came round is kept until it is taken.

    Attributes:
        busy: keepalives, while a command runs. idle: the idle word, while none does.
        report: temperatures. again: a line that was refused is asked for once more.
    """

    def __init__(self, *, idle_word: bool) -> None:
        self.busy = Timer()
        self.idle = Timer(_IDLE_WORD_S if idle_word else 0.0)
        self.report = Timer()
        self.again = Timer()
        self._due: set[Timer] = set()

    def advance(self, elapsed_s: float, *, running: bool) -> None:
        """Let time pass, in which a command ran or none did."""
        for timer in self._going(running=running):
            if timer.due_after(elapsed_s):
                self._due.add(timer)

    def take_due(self) -> set[Timer]:
        """The timers that came round since last asked; one that was replaced meanwhile is none of this object's."""
        due = self._due
        if due:
            self._due = set()
        return due

    def until_next_s(self, *, running: bool) -> float:
        """Seconds until the next comes round."""
        return min(self.report.left_s, self.again.left_s, (self.busy if running else self.idle).left_s)

    def _going(self, *, running: bool) -> tuple[Timer, Timer, Timer]:
        return (self.report, self.again, self.busy if running else self.idle)
