"""The desk at a terminal that can draw.

A question is printed once and stays; only the line being typed and the live reading below it are redrawn, and they are
erased when the answer is there. A trial or a watch is a panel that is erased when it ends, leaving its result. Between
two questions nothing is on the screen but what has been printed, so a board may restart or a program end at any moment.

The terminal is never asked where its cursor is: everything is drawn relative to it. Many serial consoles, test rigs and
recordings do not answer that question, and an answer that comes late would be taken for typing.
"""

import asyncio
import io
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from typing import TextIO, TypeVar

from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.input import Input, create_input
from prompt_toolkit.input.typeahead import clear_typeahead
from prompt_toolkit.output import Output, create_output
from rich.console import RenderableType

from commission.asking.form import Answers, Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk import show, wording
from commission.desk.answers import NotAnAnswer, chosen, entered_and_said, released, yes_or_no
from commission.desk.base import Mark, OperatorStop, Status
from commission.desk.echo import Echo
from commission.desk.forms import fill
from commission.desk.keys import STOP_KEY, stop_keys
from commission.desk.pages import in_pages
from commission.desk.panel import Space, panel
from commission.desk.redraw import redraw_every_s
from commission.desk.screen import Screen, without_questions
from commission.desk.stop import StopFlag

_KEYS = {"v": Mark.SPOILT, "n": Mark.NOTHING_CHANGED, "p": Mark.PAUSE, " ": Mark.PAUSE}

_T = TypeVar("_T")


class TerminalDesk:
    """Asks at a terminal, with the reading live below every question that wants it."""

    def __init__(
        self, *, bell: bool, typed: Input | None = None, drawn: Output | None = None, out: TextIO | None = None
    ) -> None:
        """Use this process's terminal, or the parts given (for a test or another terminal)."""
        self._out = out or sys.stdout
        self._bell = bell
        self._stop = StopFlag()
        self._input = typed or create_input()
        self._output = without_questions(drawn or create_output(self._out))
        self._screen = Screen(self._out, self._output, self._stop.nobody_there)
        self._echo = Echo(self._input.fileno())
        self._answering: asyncio.Future[None] | None = None
        self._drawings = show.Drawings(self._input, self._output)
        self._app: show.Drawing | None = None
        self._shown: TakeTrial | Watch | None = None
        self._panel_task: asyncio.Task[str] | None = None
        self._status: Status | None = None
        self._marks: list[Mark] = []
        self._noted: tuple[Mark, ...] = ()
        self._redraw: asyncio.TimerHandle | None = None
        self._where: Callable[[], str] = lambda: ""

    async def open(self) -> None:
        """Silence the echo and listen to the signals."""
        if isinstance(self._out, io.TextIOWrapper):
            self._out.reconfigure(errors="backslashreplace")  # what the terminal's encoding lacks is spelled out
        self._echo.silence()
        self._stop.listen()

    async def close(self) -> None:
        """Take the panel off the screen and give the terminal back as it was."""
        try:
            await self._clear()
        finally:
            self._stop.release()
            self._echo.restore()

    def follow(self, where: Callable[[], str]) -> None:
        """Take who says how far the run is; it stands below a question, and on a panel."""
        self._where = where

    async def tell(self, message: Tell) -> None:
        """Print a message."""
        await self._print(show.tell(message))

    async def confirm(self, request: Confirm) -> bool:
        """Ask for yes or no until one is given. Raises OperatorStop."""
        return await self._ask(show.confirm(request), "y or n: ", yes_or_no)

    async def choose(self, request: Choose) -> str:
        """Ask for one of the options until one is given. Raises OperatorStop."""
        prefix = wording.choice_prefix(request)
        return await self._ask(show.choose(request), prefix, lambda typed: chosen(request, typed))

    async def enter(self, request: Enter) -> str:
        """Ask for a value until a valid one is given. Raises OperatorStop."""
        asked = show.enter(request)
        taken, said = await self._ask(asked, wording.prefix(request), lambda typed: entered_and_said(request, typed))
        if said:
            await self._print(show.lines(said))
        return taken

    async def form(self, request: Form) -> Answers:
        """Have it filled in; it is shown again after each line. Raises OperatorStop."""
        filling = await fill(request, self, lambda each: self._ask(show.form(each), each.prompt, each.take))
        if filling.understood:
            await self._print(show.lines(filling.understood))
        return filling.answers

    async def hold(self, request: Hold) -> None:
        """Show the hold point until it is released by a yes. Raises OperatorStop."""
        while not await self._ask(show.hold(request), "y to release, Enter for the steps again: ", released):
            pass

    async def begin_trial(self, request: TakeTrial) -> None:
        """Show the instruction large and sound the bell; returns at once."""
        await self._begin(request)

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Take the panel away, sound the bell and print what the dwell was."""
        await self._end(wording.trial_taken(request, taken))

    async def begin_watch(self, request: Watch) -> None:
        """Show what is to be done during the watch and sound the bell; returns at once."""
        await self._begin(request)

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Take the panel away, sound the bell and print what the watch saw."""
        await self._end(wording.watch_taken(request, taken))

    def show(self, status: Status) -> None:
        """Redraw the live line or the panel, at most four times a second, and ten times in a trial.

        While neither is on the screen, a note is printed once, so that a long wait does not look like a stop; its finer
        steps are written over one another.
        """
        self._status = status
        if self._app is None:
            self._screen.note(status.note, status.live)
        elif self._redraw is None:
            self._redraw = asyncio.get_running_loop().call_later(redraw_every_s(self._shown, status), self._draw)

    async def take_marks(self) -> tuple[Mark, ...]:
        """The keys pressed since last asked. Raises OperatorStop for the stop key, the end of input, or a signal.

        Brings the panel back when a message or a question had taken its place.
        """
        await self._check_panel()
        self._stop.check()
        if self._shown is not None and self._panel_task is None:
            self._open_panel(self._shown)
        marks, self._marks = tuple(self._marks), []
        return marks

    async def establish(self, finding: Establish) -> None:
        """Print a finding."""
        await self._print(show.lines(wording.establish(finding), style="bold"))

    async def punch(self, item: Punch) -> None:
        """Print an open item."""
        await self._print(show.lines([wording.punch(item)], style="bold"))

    async def wait_for_stop(self) -> None:
        """Return once a key or a signal asks for the end of the run; the next question then raises OperatorStop."""
        await self._stop.wait()

    @property
    def stop_asked(self) -> bool:
        """Whether the run is to end and was not told yet."""
        return self._stop.asked

    @asynccontextmanager
    async def unstoppable(self, answer: str) -> AsyncIterator[None]:
        """Take the panel away and answer every stop by a sentence, the stop key too; it counts afterwards."""
        await self._clear()
        with self._stop.unstoppable(lambda: self._answer(answer)), stop_keys(self._input, self._stop.request):
            yield

    def _answer(self, text: str) -> None:
        shown = show.lines([wording.clean(text)])
        if self._app is None:
            self._screen.put(shown)
        else:
            self._answering = show.above(lambda: self._screen.put(shown))

    async def _clear(self) -> None:
        self._shown = None
        with suppress(OperatorStop):  # the terminal is gone: nothing of it is left to be taken away
            await self._put_away()

    async def _ask(self, question: RenderableType, prefix: str, read: Callable[[str], _T]) -> _T:
        await in_pages(self._screen.pages(question), self._print, self._line)
        while True:
            typed = await self._line(prefix)
            await self._print(show.lines([f"> {wording.clean(typed)}"]))
            try:
                return read(typed)
            except NotAnAnswer as error:
                await self._print(show.lines([str(error)]))

    async def _line(self, prefix: str) -> str:
        self._stop.check()
        self._status = None
        try:
            self._app = app = self._drawings.line(prefix, self._below, self._stop.request)
            self._forget_typing()
            return await self._stop.guard(show.run(app))
        except EOFError:
            raise OperatorStop("the input has ended") from None
        except OSError:
            raise self._gone() from None
        finally:
            self._app = None

    def _below(self) -> list[tuple[str, str]]:
        return wording.below(self._status, self._where())

    async def _begin(self, request: TakeTrial | Watch) -> None:
        await self._put_away()
        self._shown, self._status, self._noted = request, None, ()
        self._marks.clear()
        self._ring()
        self._open_panel(request)

    async def _end(self, result: str) -> None:
        self._shown = None
        await self._print(show.lines([result]))
        self._ring()

    def _open_panel(self, request: TakeTrial | Watch) -> None:
        try:
            app = self._drawings.panel(lambda: self._panel_text(request), self._pressed)
        except OSError:
            self._gone()  # asking for marks says so
            return
        self._forget_typing()
        self._app = app
        self._panel_task = asyncio.create_task(show.run(app))

    def _panel_text(self, request: TakeTrial | Watch) -> StyleAndTextTuples:
        size = self._output.get_size()
        space = Space(size.columns, size.rows, self._screen.encoding.startswith("utf"))
        return show.stacked(panel(request, self._status or Status(), self._noted, space, wording.clean(self._where())))

    def _pressed(self, key: str) -> None:
        if key in _KEYS:
            if isinstance(self._shown, Watch) and not self._shown.marks:
                return
            self._marks.append(_KEYS[key])
            self._noted = (*self._noted, _KEYS[key])
        else:
            self._stop.request(STOP_KEY)

    async def _check_panel(self) -> None:
        """Raise what ended the panel, if anything but this desk did."""
        if self._panel_task is not None and self._panel_task.done():
            await self._put_away()

    async def _put_away(self) -> None:
        task, self._panel_task = self._panel_task, None
        if task is None:
            return
        self._app = None
        task.cancel()
        await asyncio.wait({task})
        error = None if task.cancelled() else task.exception()
        if isinstance(error, EOFError):
            raise OperatorStop("the input has ended")
        if isinstance(error, OSError):
            raise self._gone()
        if error is not None:
            raise error

    async def _print(self, shown: RenderableType) -> None:
        await self._put_away()
        self._screen.put(shown)

    def _ring(self) -> None:
        if self._bell:
            self._screen.ring()

    def _gone(self) -> OperatorStop:
        self._screen.lose()
        return OperatorStop("the terminal is gone")

    def _draw(self) -> None:
        self._redraw = None
        if self._app is not None:
            self._app.refresh()

    def _forget_typing(self) -> None:
        clear_typeahead(self._input)
        self._echo.discard()
