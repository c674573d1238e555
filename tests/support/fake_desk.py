"""A desk whose operator is a function; it writes down everything it was shown."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from commission.asking.form import Answers as FormAnswers
from commission.asking.form import Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk.base import Mark, OperatorStop, Status
from tests.support.kept_findings import KeptFindings

Answers = Callable[[str], "bool | str | None"]


class FakeDesk:
    """Asks the function by the request's key. It answers, or returns None for yes, done, or an empty text.

    Steer it also by `stop_at` (key of the request at which the operator presses Ctrl-C), `marks` (what is pressed
    during the next trial) and `at_hold` (called with every hold point). `told` holds the text of every message, `asked`
    the key of every request, in order.
    """

    def __init__(self, answers: Answers = lambda _key: None) -> None:
        self.told: list[str] = []
        self.asked: list[str] = []
        self.findings = KeptFindings()
        self.items: list[Punch] = []
        self.statuses: list[Status] = []
        self.stop_at = ""
        self.marks: list[Mark] = []
        self.at_hold: Callable[[Hold], None] = lambda _request: None
        self.unstoppable_now = ""
        self.where: Callable[[], str] = lambda: ""
        self._answers = answers

    async def open(self) -> None:
        """Nothing to get ready."""

    async def close(self) -> None:
        """Nothing to give back."""

    def follow(self, where: Callable[[], str]) -> None:
        """Keep who says how far the run is."""
        self.where = where

    async def tell(self, message: Tell) -> None:
        """Keep the text."""
        self.told += [text for text in (message.heading, *message.lines) if text]

    async def confirm(self, request: Confirm) -> bool:
        """Yes, unless the function says otherwise."""
        answer = self._answer(request.key)
        return True if answer is None else bool(answer)

    async def choose(self, request: Choose) -> str:
        """The first option, unless the function says otherwise."""
        answer = self._answer(request.key)
        return request.options[0].key if answer is None else str(answer)

    async def enter(self, request: Enter) -> str:
        """Nothing, unless the function says otherwise."""
        answer = self._answer(request.key)
        return "" if answer is None else str(answer)

    async def form(self, request: Form) -> FormAnswers:  # noqa: ARG002 - as the real desks
        """Each of its questions is asked alone."""
        return {}

    async def hold(self, request: Hold) -> None:
        """Released at once."""
        self._answer(request.key)
        self.at_hold(request)

    async def begin_trial(self, request: TakeTrial) -> None:
        """The hands do it at once."""
        self._answer(request.key)

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Nothing to show."""

    async def begin_watch(self, request: Watch) -> None:
        """The hands do it at once."""
        self._answer(request.key)

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Nothing to show."""

    def show(self, status: Status) -> None:
        """Keep it."""
        self.statuses.append(status)

    async def take_marks(self) -> tuple[Mark, ...]:
        """What was put into `marks`, once."""
        pressed, self.marks = tuple(self.marks), []
        return pressed

    async def wait_for_stop(self) -> None:
        """A stop is only ever raised at a request here."""
        await asyncio.Event().wait()

    @property
    def stop_asked(self) -> bool:
        """Never beforehand: see `wait_for_stop`."""
        return False

    @asynccontextmanager
    async def unstoppable(self, answer: str) -> AsyncIterator[None]:
        """Nothing stops anything here; `unstoppable_now` holds the answer while it lasts."""
        self.unstoppable_now = answer
        yield
        self.unstoppable_now = ""

    async def establish(self, request: Establish) -> None:
        """Keep the finding."""
        self.findings.keep(request.finding)

    async def punch(self, item: Punch) -> None:
        """Keep the item."""
        self.items.append(item)

    def _answer(self, key: str) -> bool | str | None:
        self.asked.append(key)
        if key == self.stop_at:
            raise OperatorStop("stopped by Ctrl-C")
        return self._answers(key)
