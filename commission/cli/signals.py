"""The signals of the process around a guided run: none of them breaks anything off in the middle.

    before the desk listens    remembered; the run does not begin
    while the desk listens     the desk's (commission/desk/stop.py)
    after it                   ignored: the run has its end in the book, and the exit code is the run's

The event loop leaves the interrupt alone once somebody has taken it; its own way would cancel the way out of a run.
"""

import signal
from dataclasses import dataclass
from types import FrameType, TracebackType

import click

from commission.desk.signals import ENDING, Taken, give_back, take


@dataclass(frozen=True)
class OwnProcess:
    """Stands in the command's context where the command is all that its process does."""


class Signals:
    """Holds the signals from before a run to its end; in a process of its own, to the end of the process."""

    def __init__(self) -> None:
        self.asked = ""
        self._taken: Taken = {}

    def __enter__(self) -> "Signals":
        self._taken = take(ENDING, self._caught)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        if kind is not None or not _is_all(click.get_current_context(silent=True)):
            give_back(self._taken)
        # else they stay without effect: what is left to do is to end, or to begin with the next printer

    def _caught(self, number: int, _frame: FrameType | None) -> None:
        self.asked = self.asked or ENDING[signal.Signals(number).name]


def end_undisturbed(context: click.Context | None) -> bool:
    """Ignore the signals from now on where all that is left to this process is to end; whether that is so.

    A signal in its last moments would change nothing but the exit code.
    """
    if not _is_all(context):
        return False
    ignore()
    return True


def ignore() -> None:
    """Ignore the signals: in its last moments an interpreter gives its handlers up, and would die of one."""
    take(ENDING, signal.SIG_IGN)


def _is_all(context: click.Context | None) -> bool:
    return context is not None and isinstance(context.obj, OwnProcess)
