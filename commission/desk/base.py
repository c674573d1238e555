"""What may be asked of a person; a terminal, a script or a test rig can be that person.

The desk shows and asks. It decides nothing, stores nothing and knows no printer. Everything it is handed is data: text
that came from a printer has been sanitised before it gets here, and must still be printed without any markup.
"""

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from commission.asking.form import Answers, Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.vocabulary import Reading


class OperatorStop(Exception):
    """The operator wants to end the run: Ctrl-C, end of input, or the stop key."""


class DeskError(Exception):
    """The desk cannot be used as asked; the text says what to do."""


class Mark(Enum):
    """What the operator can say while the hands are busy, by one key."""

    SPOILT = "this trial was spoilt"
    NOTHING_CHANGED = "I did it and nothing changed"
    PAUSE = "wait for me"


@dataclass(frozen=True)
class SoakNow:
    """How far a soak is: seconds watched and left, changes, the bound an hour (None at first), the condition."""

    watched_s: float
    left_s: float
    changes: int
    at_most_per_hour: float | None
    around: str


@dataclass(frozen=True)
class Status:
    """What is true at this moment, for the live line.

    Attributes:
        reading: of the switch under test; None when it has not been read yet.
        wire_word: the printer's own word for it, sanitised.
        seconds_left: until the dwell begins or the watch ends; None when nothing is timed.
        progress: where in the work this is, as `reading 12 of 21`.
        note: anything else worth a few words, as `the printer is busy`.
        live: the note in finer steps, for a line that is written anew; empty where the note is all there is.
        word: what to do now in one word, drawn as large as there is room for; empty for none.
        soak: how far a soak is, for who reads it as values.
    """

    reading: Reading | None = None
    wire_word: str = ""
    seconds_left: float | None = None
    progress: str = ""
    note: str = ""
    word: str = ""
    soak: SoakNow | None = None
    live: str = ""


class Desk(Protocol):
    """A place where somebody answers.

    Every method that waits raises OperatorStop when the operator wants to end the run, and may be cancelled at any time
    (a restarting board does not wait for an answer); afterwards the desk is ready for the next request.
    """

    async def open(self) -> None:
        """Get ready. Raises DeskError when nobody can answer here."""
        ...

    async def close(self) -> None:
        """Give the terminal back as it was."""
        ...

    def follow(self, where: Callable[[], str]) -> None:
        """Take who says how far the run is; the desk shows it with every question, trial and watch from here on."""
        ...

    async def tell(self, message: Tell) -> None:
        """Print a message."""
        ...

    async def confirm(self, request: Confirm) -> bool:
        """Ask for yes or no."""
        ...

    async def choose(self, request: Choose) -> str:
        """Ask for one of the options and return its key."""
        ...

    async def enter(self, request: Enter) -> str:
        """Ask for a value and return the text, which satisfies the request's bounds."""
        ...

    async def form(self, request: Form) -> Answers:
        """Have a sheet filled in; no answers where each of its questions is to be asked alone, as a script wants it."""
        ...

    async def hold(self, request: Hold) -> None:
        """Show the hold point and return once it is released. A no is answered by showing the steps again."""
        ...

    async def begin_trial(self, request: TakeTrial) -> None:
        """Show the instruction in large plain words and sound the bell; return at once: the countdown runs."""
        ...

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Show in one line what the dwell was."""
        ...

    async def begin_watch(self, request: Watch) -> None:
        """Show what is to be done during the watch; return at once."""
        ...

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Show in one line what the watch saw."""
        ...

    def show(self, status: Status) -> None:
        """Replace the live line. Cheap: may be called on every reading; the desk redraws at most ten times a second."""
        ...

    async def take_marks(self) -> tuple[Mark, ...]:
        """The keys pressed since last asked, while a trial or a watch is shown. Raises OperatorStop."""
        ...

    async def wait_for_stop(self) -> None:
        """Return once a key or a signal asks for the end of the run; whatever waits next then raises OperatorStop."""
        ...

    @property
    def stop_asked(self) -> bool:
        """Whether the end of the run was asked for, and nothing that waited has raised OperatorStop for it yet."""
        ...

    def unstoppable(self, answer: str) -> AbstractAsyncContextManager[None]:
        """Work that no key and no signal may end: each of them is answered with this sentence and changes nothing.

        A stop asked for meanwhile counts once the work is over. What is on the screen for a trial or a watch is taken
        away first. Neither entering nor leaving ever raises for a terminal that is gone.
        """
        ...

    async def establish(self, finding: Establish) -> None:
        """Print a finding."""
        ...

    async def punch(self, item: Punch) -> None:
        """Print an open item."""
        ...
