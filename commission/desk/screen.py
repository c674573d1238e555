"""What a terminal that can draw has printed on it and keeps."""

from collections.abc import Callable, Sequence
from typing import TextIO

from prompt_toolkit.output import Output
from prompt_toolkit.output.vt100 import Vt100_Output
from rich.console import RenderableType
from rich.text import Text

from commission.desk import show, wording
from commission.desk.pages import pages


def without_questions(output: Output) -> Output:
    """The same terminal, never asked where its cursor is."""
    if isinstance(output, Vt100_Output):
        output.enable_cpr = False
    return output


class Screen:
    """Prints on lines of their own.

    Args:
        out: the stream of the terminal.
        output: the same, as the drawing library has it.
        gone: called when the terminal takes nothing any more; later lines are dropped, as nobody can read them, so that
            the way out of a run is still walked to its end.
    """

    def __init__(self, out: TextIO, output: Output, gone: Callable[[], None]) -> None:
        self._output = output
        self._console = show.console(out)
        self._gone = gone
        self._lost = False
        self._last_note = ""
        self._rewritable = False

    @property
    def encoding(self) -> str:
        """Of what is printed."""
        return self._console.encoding or ""

    def put(self, shown: RenderableType) -> None:
        """Print."""
        self._last_note, self._rewritable = "", False
        self._write(lambda: show.put(self._console, shown, self._output.get_size().columns))

    def pages(self, shown: RenderableType) -> Sequence[RenderableType]:
        """What is to be printed, in parts that each fit on the screen."""
        size = self._output.get_size()
        show.fit(self._console, size.columns)
        return pages(self._console, shown, size.rows)

    def note(self, note: str, live: str = "") -> None:
        """Print a note, once while it stays the same; its finer steps take each other's place on one line."""
        said = live or note
        if not said or said == self._last_note:
            return
        if self._rewritable and live:
            self._write(self._line_back)
        shown = Text(f"{wording.clean(said)} ...")
        self.put(show.lines([shown.plain]))
        self._last_note = said
        self._rewritable = bool(live) and shown.cell_len < self._output.get_size().columns

    def ring(self) -> None:
        """Sound the bell."""
        self._write(self._output.bell)
        self._write(self._output.flush)

    def _line_back(self) -> None:
        """Go back to the line above and empty it."""
        self._output.cursor_up(1)
        self._output.write_raw("\r")
        self._output.erase_end_of_line()
        self._output.flush()

    def lose(self) -> None:
        """The terminal is gone."""
        self._lost = True
        self._gone()

    def _write(self, write: Callable[[], None]) -> None:
        if self._lost:
            return
        try:
            write()
        except OSError:
            self.lose()
