"""A desk that speaks as well: for eyes that are on the filament, for somebody far away, for who does not see.

What is asked and what came of it is spoken once, beside the screen. Nothing waits for the voice, least of all making
the printer safe. What has been answered is not read on; of a countdown only the order is spoken, no second of it, and
an order that was not spoken when its dwell begins is left out.
"""

import asyncio
from collections.abc import Callable, Sequence
from contextlib import AbstractAsyncContextManager

from commission.asking.form import Answers, Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk import wording
from commission.desk.base import Desk, Mark, Status
from commission.desk.forms import Filling
from commission.desk.voice import Voice, speaker

LAST_WORDS_S = 5.0
"""So long the end of a run waits for the voice to speak its last sentences."""
KEEP_STILL = "Keep still."


def aloud(desk: Desk, *, speak: bool, named: str) -> Desk:
    """The desk itself, or one that speaks too.

    Args:
        desk: where it is shown and answered.
        speak: whether the system's own speech program speaks.
        named: the command that speaks instead, where one is named.

    Raises:
        DeskError: there is nothing to speak with.
    """
    return SpokenDesk(desk, Voice(speaker(named))) if speak or named else desk


class SpokenDesk:
    """Hands everything on to a desk, and speaks it."""

    def __init__(self, desk: Desk, voice: Voice) -> None:
        self._desk = desk
        self._voice = voice
        self._trial: TakeTrial | None = None
        self._counting = False
        self._note = ""
        self._failure_told = False

    async def open(self) -> None:
        """Get the desk ready."""
        await self._desk.open()

    async def close(self) -> None:
        """Give the terminal back; then the last sentences are heard out for a moment."""
        await self._desk.close()
        await asyncio.to_thread(self._voice.finish, LAST_WORDS_S)

    def follow(self, where: Callable[[], str]) -> None:
        """How far the run is stands on the screen only: the voice says what to do."""
        self._desk.follow(where)

    async def tell(self, message: Tell) -> None:
        """Print and speak a message; of a picture the sentences that stand for it."""
        lines = message.spoken or message.lines
        self._say(wording.tell(Tell(lines, message.heading, message.weight)))
        await self._desk.tell(message)
        await self._own_up()

    async def confirm(self, request: Confirm) -> bool:
        """Ask for yes or no."""
        self._ask(wording.confirm(request))
        answer = await self._desk.confirm(request)
        self._voice.cut()
        return answer

    async def choose(self, request: Choose) -> str:
        """Ask for one of the options."""
        self._ask(wording.choose(request))
        answer = await self._desk.choose(request)
        self._voice.cut()
        return answer

    async def enter(self, request: Enter) -> str:
        """Ask for a value."""
        self._ask(wording.enter(request))
        answer = await self._desk.enter(request)
        self._voice.cut()
        return answer

    async def form(self, request: Form) -> Answers:
        """Read a sheet out once, with what stands in its rows; it is filled in at the desk."""
        self._ask(Filling(request).lines)
        answers = await self._desk.form(request)
        self._voice.cut()
        return answers

    async def hold(self, request: Hold) -> None:
        """Read the hold point out once; it is released at the desk."""
        self._ask(wording.hold(request))
        await self._desk.hold(request)
        self._voice.cut()

    async def begin_trial(self, request: TakeTrial) -> None:
        """Speak the order at once: whatever was spoken before is behind it."""
        self._voice.cut()
        self._trial, self._counting = request, False
        self._say([f"{' '.join(wording.order(request.instruction)).capitalize()}."])
        await self._desk.begin_trial(request)

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Speak in one line what the dwell was."""
        self._dwell_begins()
        self._say([wording.trial_taken(request, taken)])
        await self._desk.end_trial(request, taken)
        await self._own_up()

    async def begin_watch(self, request: Watch) -> None:
        """Speak what is to be done during the watch."""
        self._trial = None
        self._say(wording.watch(request))
        await self._desk.begin_watch(request)

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Speak in one line what the watch saw."""
        self._voice.cut()
        self._say([wording.watch_taken(request, taken)])
        await self._desk.end_watch(request, taken)
        await self._own_up()

    def show(self, status: Status) -> None:
        """Show it; spoken are the beginning of the dwell and a new note, no reading and no second."""
        running = bool(status.seconds_left)
        if self._trial is not None and not running and (self._counting or status.progress):
            self._dwell_begins()
            self._say([KEEP_STILL])
        self._counting = running
        if status.note and status.note != self._note:
            self._say([f"{wording.clean(status.note)}."])
        self._note = status.note
        self._desk.show(status)

    async def take_marks(self) -> tuple[Mark, ...]:
        """The keys pressed at the desk."""
        return await self._desk.take_marks()

    async def wait_for_stop(self) -> None:
        """Return once the end of the run is asked for."""
        await self._desk.wait_for_stop()

    @property
    def stop_asked(self) -> bool:
        """Whether the end of the run was asked for and not told yet."""
        return self._desk.stop_asked

    def unstoppable(self, answer: str) -> AbstractAsyncContextManager[None]:
        """Work that nothing may end; the voice goes on beside it and holds nothing up."""
        return self._desk.unstoppable(answer)

    async def establish(self, finding: Establish) -> None:
        """Print and speak a finding."""
        self._say(wording.establish(finding))
        await self._desk.establish(finding)

    async def punch(self, item: Punch) -> None:
        """Print and speak an open item."""
        self._say([wording.punch(item)])
        await self._desk.punch(item)

    def _ask(self, lines: Sequence[str]) -> None:
        self._trial = None
        self._say(lines)

    def _dwell_begins(self) -> None:
        if self._trial is not None:
            self._voice.cut()
        self._trial = None

    def _say(self, lines: Sequence[str]) -> None:
        self._voice.say(" ".join(map(_sentence, filter(str.strip, lines))))

    async def _own_up(self) -> None:
        """Where the program failed the screen says so, once."""
        if self._voice.failure and not self._failure_told:
            self._failure_told = True
            await self._desk.tell(Tell((self._voice.failure,)))


def _sentence(line: str) -> str:
    said = line.strip()
    return said if said.endswith((".", "?", "!", ":", ",", ";")) else f"{said}."
