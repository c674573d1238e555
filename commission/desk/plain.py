"""The desk for screen readers, dumb terminals and logs: whole sentences down, whole lines up."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import TextIO, TypeVar

from commission.asking.form import Answers, Form, Question
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk.answers import NotAnAnswer, chosen, entered_and_said, released, yes_or_no
from commission.desk.base import DeskError, Mark, OperatorStop, Status
from commission.desk.forms import Filling, fill
from commission.desk.lines import TypedLines
from commission.desk.narrator import Narrator
from commission.desk.stop import StopFlag

NO_TERMINAL = "A person answers here, which needs a terminal. Start it in one, or give a script: --operator FILE"

_KEYS = (
    "Type v when a trial was spoilt, n when you did it and nothing changed, p to be waited for, q to stop; then Enter."
)
_WATCH_KEYS = "Type q to stop, then Enter."
_STOP_KEY = "stopped by the stop key"
_ALL_THAT_FIT = "Type the numbers or words of all that fit, with commas between them, then Enter."
_RELEASE = "Type yes, then Enter, to release; Enter alone shows the steps again."
_MARKS = {"v": Mark.SPOILT, "n": Mark.NOTHING_CHANGED, "p": Mark.PAUSE, "": Mark.PAUSE}

_T = TypeVar("_T")


class PlainDesk:
    """Asks at a terminal by whole lines; nothing is redrawn, framed or coloured."""

    def __init__(self, typed: TextIO, out: TextIO, *, bell: bool) -> None:
        self._typed = typed
        self._out = out
        self._bell = bell
        self._lines = TypedLines(typed)
        self._stop = StopFlag()
        self._narrator = Narrator(out, self._stop.nobody_there)
        self._keys = _KEYS
        self._keys_said: set[str] = set()
        self._asking = False
        self._where: Callable[[], str] = lambda: ""
        self._where_said = ""

    async def open(self) -> None:
        """Listen to the terminal and to the signals.

        Raises:
            DeskError: this is no terminal.
        """
        if not (self._typed.isatty() and self._out.isatty()):
            raise DeskError(NO_TERMINAL)
        self._lines.open()
        self._stop.listen()

    async def close(self) -> None:
        """Stop listening."""
        self._lines.close()
        self._stop.release()

    def follow(self, where: Callable[[], str]) -> None:
        """Take who says how far the run is; it is said before what is to be done, whenever it differs."""
        self._where = where

    async def tell(self, message: Tell) -> None:
        """Print a message; for a picture the sentences that stand for it."""
        self._say_where(message.where)
        self._narrator.tell(replace(message, lines=message.spoken) if message.spoken else message)

    async def confirm(self, request: Confirm) -> bool:
        """Ask for yes or no until one is given. Raises OperatorStop."""
        self._ask(request, "Type yes or no, then Enter.")
        return await self._answer(yes_or_no)

    async def choose(self, request: Choose) -> str:
        """Ask for one of the options until one is given. Raises OperatorStop."""
        self._ask(request, _ALL_THAT_FIT if request.several else "Type the number or word of your answer, then Enter.")
        return await self._answer(lambda typed: chosen(request, typed))

    async def enter(self, request: Enter) -> str:
        """Ask for a value until a valid one is given. Raises OperatorStop."""
        self._ask(request, "Type it, then Enter.")
        taken, said = await self._answer(lambda typed: entered_and_said(request, typed))
        self._narrator.say(*said)
        return taken

    async def form(self, request: Form) -> Answers:
        """Have it filled in by whole lines. Raises OperatorStop."""
        filling = await fill(request, self, self._fill)
        self._narrator.say(*filling.understood)
        return filling.answers

    async def _fill(self, filling: Filling) -> tuple[Question, ...]:
        self._lines.forget()
        self._say_where(self._where())
        self._narrator.say(*filling.lines, filling.prompt)
        return await self._answer(filling.take)

    async def hold(self, request: Hold) -> None:
        """Show the hold point until it is released by a yes. Raises OperatorStop."""
        self._ask(request, _RELEASE)
        while not released(await self._next()):
            self._ask(request, _RELEASE)

    async def begin_trial(self, request: TakeTrial) -> None:
        """Print the prompt of a trial and sound the bell."""
        self._say_keys(_KEYS)
        self._say_where(self._where())
        self._narrator.begin_trial(request)
        self._ring()

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Sound the bell and print what the dwell was."""
        self._ring()
        self._narrator.end_trial(request, taken)

    async def begin_watch(self, request: Watch) -> None:
        """Print what is to be done during a watch, and sound the bell."""
        self._say_keys(_KEYS if request.marks else _WATCH_KEYS)
        self._say_where(self._where())
        self._narrator.begin_watch(request)
        self._ring()

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Sound the bell and print what the watch saw."""
        self._ring()
        self._narrator.end_watch(request, taken)

    def show(self, status: Status) -> None:
        """Print what changed, if anything did."""
        self._narrator.change(status, apart=self._asking)

    async def take_marks(self) -> tuple[Mark, ...]:
        """The marks typed since last asked. Raises OperatorStop for `q`, the end of input, or a signal."""
        await asyncio.sleep(0)  # lets lines in that are there already
        marks = [self._mark(line) for line in self._lines.waiting()]
        self._stop.check()
        return tuple(mark for mark in marks if mark is not None)

    async def establish(self, finding: Establish) -> None:
        """Print a finding."""
        self._narrator.establish(finding)

    async def punch(self, item: Punch) -> None:
        """Print an open item."""
        self._narrator.punch(item)

    async def wait_for_stop(self) -> None:
        """Return once a signal asks for the end of the run; the next question then raises OperatorStop."""
        await self._stop.wait()

    @property
    def stop_asked(self) -> bool:
        """Whether the run is to end and was not told yet."""
        return self._stop.asked

    @asynccontextmanager
    async def unstoppable(self, answer: str) -> AsyncIterator[None]:
        """Answer every stop by a sentence, `q` on a line of its own too; it counts afterwards."""
        self._lines.on_line = self._hear_stops
        try:
            with self._stop.unstoppable(lambda: self._narrator.say(answer)):
                yield
        finally:
            self._lines.on_line = lambda: None

    def _hear_stops(self) -> None:
        """Of what is typed while nothing is asked only a stop is heard."""
        words = [] if self._asking else [line.strip().lower() for line in self._lines.waiting() if line is not None]
        if "q" in words:
            self._stop.request(_STOP_KEY)

    def _ask(self, request: Confirm | Choose | Enter | Hold, how: str) -> None:
        self._lines.forget()
        self._say_where(self._where())
        self._narrator.ask(request)
        self._narrator.say(how)

    async def _answer(self, read: Callable[[str], _T]) -> _T:
        while True:
            try:
                return read(await self._next())
            except NotAnAnswer as error:
                self._narrator.say(str(error))

    async def _next(self) -> str:
        self._asking = True
        try:
            line = await self._stop.guard(self._lines.next())
        finally:
            self._asking = False
        if line is None:
            raise OperatorStop("the input has ended")
        return line

    def _mark(self, line: str | None) -> Mark | None:
        word = "q" if line is None else line.strip().lower()
        if word == "q":
            self._stop.request(_STOP_KEY if line is not None else "the input has ended")
        elif word not in _MARKS or self._keys is _WATCH_KEYS:
            self._narrator.say(self._keys)
            return None
        else:
            self._narrator.say(f"Noted: {_MARKS[word].value}.")
        return _MARKS.get(word)

    def _say_where(self, where: str) -> None:
        if where and where != self._where_said:
            self._narrator.say(where)
            self._where_said = where

    def _say_keys(self, keys: str) -> None:
        self._keys = keys
        if keys not in self._keys_said:
            self._narrator.say(keys)
            self._keys_said.add(keys)
        self._lines.forget()

    def _ring(self) -> None:
        if self._bell:
            self._narrator.ring()
