"""A question to the person at the machine, and the job timer."""

from collections.abc import Iterator
from contextlib import contextmanager


class Dialogue:
    """Waits for a person; one question at a time.

    Attributes:
        waiting: a question is open. answered: somebody answered it.
        choice: the index of the button pressed; 1 where somebody just said to go on.
    """

    def __init__(self) -> None:
        self.waiting = False
        self.answered = False
        self.choice = 1

    @contextmanager
    def open(self) -> Iterator["Dialogue"]:
        """Ask; the question is closed on the way out."""
        self.waiting, self.answered, self.choice = True, False, 1
        try:
            yield self
        finally:
            self.waiting = False

    def go_on(self) -> None:
        """Somebody says to go on; without a question it is said into the void."""
        self.choose(1)

    def choose(self, index: int) -> None:
        """Somebody presses the button with this index."""
        if self.waiting:
            self.answered, self.choice = True, index


class Job:
    """The job timer: while it runs, the board knows that it is printing."""

    def __init__(self) -> None:
        self.running = False
        self.elapsed_s = 0.0

    def start(self) -> None:
        """Start or go on."""
        self.running = True

    def pause(self) -> None:
        """Stop counting and keep the time."""
        self.running = False

    def stop(self) -> None:
        """Stop and forget the time."""
        self.running = False
        self.elapsed_s = 0.0

    def advance(self, elapsed_s: float) -> None:
        """Let time pass."""
        if self.running:
            self.elapsed_s += elapsed_s
