"""The desk of a run that goes on beside others in one process: nobody is asked, and what matters is passed on."""

import io
from collections.abc import Callable

from commission.asking.message import Tell
from commission.asking.request import Watch
from commission.clock import Clock
from commission.desk.base import Status
from commission.desk.script import OperatorScript
from commission.desk.scripted import ScriptedDesk
from commission.desk.wording import clean

PROGRESS_S = 600.0
"""So often a watch of hours says how far it is."""
PASSED_ON = frozenset({"The reading changed"})
RESULT = "Result"
_WHY = "Why: "


class BesideDesk(ScriptedDesk):
    """Answers from a script as its base does, and passes single sentences on.

    Args:
        script: what answers.
        clock: by which the script waits.
        pass_on: gets what begins, what changed and how far it is, each in one sentence.
    """

    def __init__(self, script: OperatorScript, clock: Clock, pass_on: Callable[[str], None]) -> None:
        super().__init__(script, _Unheard(), clock, {})
        self._pass_on = pass_on
        self._now = clock.monotonic
        self._said_s = 0.0
        self.why = ""

    async def open(self) -> None:
        """The signals belong to whoever has all of the desks."""

    def stop(self, reason: str) -> None:
        """End the run, as a signal would."""
        self._stop.request(reason, final=True)

    async def tell(self, message: Tell) -> None:
        """Pass a change on; of the result, keep why."""
        if message.heading == RESULT:
            self.why = next((line.removeprefix(_WHY) for line in message.lines if line.startswith(_WHY)), "")
        if message.heading in PASSED_ON:
            self._pass_on(clean(" ".join(message.lines)))

    async def begin_watch(self, request: Watch) -> None:
        """Say that it begins."""
        self._said_s = self._now()
        self._pass_on(clean(request.title))
        await super().begin_watch(request)

    def show(self, status: Status) -> None:
        """Say now and then how far a watch of hours is; what changes is told by itself."""
        now_s = self._now()
        if status.soak is not None and now_s - self._said_s >= PROGRESS_S:
            self._said_s = now_s
            self._pass_on(clean(status.progress))


class _Unheard(io.StringIO):
    """Takes every line and keeps none: the record has them."""

    def write(self, text: str, /) -> int:
        """As if it were written."""
        return len(text)
