"""One simulated printer at its place: the printer, its line, its bench, and the file behind its memory."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fake_printer.memory_file import MemoryFile
from fake_printer.printer import Printer
from fake_printer.wire.base import ReadyFile
from fake_printer.wire.line import Line
from fake_printer.workbench import Bench


@dataclass(frozen=True)
class Parts:
    """What stands at the place.

    Attributes:
        memory_file: where the stored settings are kept between runs; None for nowhere.
    """

    printer: Printer
    line: Line
    memory_file: MemoryFile | None = None


class Station:
    """A printer that lives: a task for the scheduler, and a bench that answers lines.

    Whatever is done to the printer is done at the present moment: its time is brought up to it before.

    Attributes:
        name: what it is called. line: between it and its host.
    """

    def __init__(
        self, name: str, parts: Parts, touched: Callable[["Station"], None], clock: Callable[[], float]
    ) -> None:
        """Set it up.

        Args:
            name: what it is called.
            parts: what stands there.
            touched: called after somebody did something to it.
            clock: seconds that only grow, as in `step`.
        """
        self.name = name
        self.line = parts.line
        self._parts = parts
        self._touched = touched
        self._clock = clock
        self._bench = Bench(parts.printer, parts.line.state)

    @property
    def link(self) -> str:
        """What the host opens."""
        return str(self.line.state()["link"])

    @property
    def stop_asked(self) -> bool:
        """Whether somebody wants the printer to end."""
        return self._bench.stop_asked

    def step(self, now_s: float) -> float:
        """Do what is due; returns seconds until something is due again."""
        rest_s = self.line.step(now_s)
        if self._parts.memory_file is not None:
            self._parts.memory_file.save_changes(self._parts.printer.memory)
        return rest_s

    def files(self) -> Sequence[ReadyFile]:
        """What wakes it: news from the host."""
        return self.line.files()

    def answer(self, line: str) -> str:
        """Do what the line says, and answer in one. What it leads to at once has happened when the answer is given."""
        self.step(self._clock())
        answer = self._bench.answer(line)
        self.step(self._clock())
        self._touched(self)
        return answer

    def close(self) -> None:
        """Take the port down."""
        self.line.close()
