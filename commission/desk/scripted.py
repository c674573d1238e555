"""A desk where a script answers, so that a run can be repeated by a machine."""

import asyncio
import sys
from collections import Counter
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from typing import TextIO, TypeVar

from commission.asking.form import Answers, Form
from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.clock import Clock
from commission.desk.answers import NotAnAnswer, chosen_by_key, entered, yes_or_no
from commission.desk.base import DeskError, Mark, OperatorStop, Status
from commission.desk.hands import run_command
from commission.desk.narrator import Narrator
from commission.desk.script import OperatorScript, ScriptEntry
from commission.desk.stop import StopFlag
from commission.desk.wording import clean
from commission.evidence.findings.several import SensorBegun, SensorsJudged

STOP_ANSWER = "operator stop"
HANDS_END_S = 2.0
"""A command that was killed and has not ended by then is left alone: the way out of a run does not wait for it."""
_SPOILT = "spoilt:"

_T = TypeVar("_T")


class ScriptedDesk:
    """Answers from an `OperatorScript` and prints what the plain desk prints, each answer behind a `>`."""

    def __init__(self, script: OperatorScript, out: TextIO, clock: Clock, variables: Mapping[str, str]) -> None:
        """Take the script; `variables` fill its names in braces, and `{python}` is always this interpreter.

        Raises:
            DeskError: the script needs a name that nobody fills in.
        """
        self._script = script
        self._clock = clock
        self._variables = {"python": sys.executable, **variables}
        self._stop = StopFlag()
        self._narrator = Narrator(out, self._stop.nobody_there)
        self._used: Counter[int] = Counter()
        self._hands: asyncio.Task[None] | None = None
        self._marks: list[Mark] = []
        self._reason = ""
        self._sensor = ""
        script.check_variables(self._variables)

    async def open(self) -> None:
        """Take the signals over, so that Ctrl-C is a stop like any other."""
        self._stop.listen()

    async def close(self) -> None:
        """End what the hands are doing and give the signals back."""
        try:
            await self._end_hands()
        finally:
            self._stop.release()

    def follow(self, where: Callable[[], str]) -> None:
        """A script needs no telling how far the run is, and its transcript stays the same at any pace."""

    async def tell(self, message: Tell) -> None:
        """Print a message."""
        self._narrator.tell(message)

    async def confirm(self, request: Confirm) -> bool:
        """Answer by yes or no.

        Raises:
            DeskError: no entry answers it, or not by yes or no.
            OperatorStop: the script or a signal ends the run.
        """
        return await self._ask(request, yes_or_no)

    async def choose(self, request: Choose) -> str:
        """Answer by the key of an option; errors as `confirm`."""
        return await self._ask(request, lambda text: chosen_by_key(request, text))

    async def enter(self, request: Enter) -> str:
        """Answer by a text or a number; errors as `confirm`.

        The reason of a trial declared spoilt answers the next text asked for that has no entry of its own.
        """
        if self._reason and request.kind is EntryKind.TEXT and self._find(request.key) is None:
            self._narrator.ask(request)
            reason, self._reason = self._reason, ""
            return self._answered(reason, lambda text: entered(request, text), f"a trial's reason for {request.key}")
        return await self._ask(request, lambda text: entered(request, text))

    async def form(self, request: Form) -> Answers:  # noqa: ARG002 - as the other desks
        """Nothing of it: each of its questions has a key of its own, and is answered when it comes."""
        return {}

    async def hold(self, request: Hold) -> None:
        """Release the hold point; errors as `confirm`."""
        await self._ask(request, _released)

    async def begin_trial(self, request: TakeTrial) -> None:
        """Print the prompt and set the hands to work; returns at once.

        Raises:
            DeskError: no entry answers it, or by something that is no answer to a trial.
        """
        await self._drop_hands()
        self._narrator.begin_trial(request)
        self._set_to_work(request.key)

    async def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Print what the dwell was.

        Raises:
            DeskError: a command of the hands failed, or was still running when the dwell had ended.
        """
        self._check_hands_finished(request.key)
        self._narrator.end_trial(request, taken)

    async def begin_watch(self, request: Watch) -> None:
        """Print what is to be done and set the hands to work; returns at once. Errors as `begin_trial`."""
        await self._drop_hands()
        self._narrator.begin_watch(request)
        self._set_to_work(request.key)

    async def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Print what the watch saw. Errors as `end_trial`."""
        self._check_hands_finished(request.key)
        self._narrator.end_watch(request, taken)

    def show(self, status: Status) -> None:
        """Print what changed, if anything did."""
        self._narrator.change(status)

    async def take_marks(self) -> tuple[Mark, ...]:
        """What the script says about the trial, once the commands have run.

        Raises:
            DeskError: a command of the hands failed.
            OperatorStop: the script or a signal ends the run.
        """
        self._stop.check()
        if self._hands is not None and self._hands.done():
            self._hands.result()
        marks, self._marks = tuple(self._marks), []
        return marks

    async def establish(self, finding: Establish) -> None:
        """Print a finding; one of them says which of several sensors is meant from here on."""
        match finding.finding:
            case SensorBegun(sensor=sensor):
                self._sensor = sensor
            case SensorsJudged():
                self._sensor = ""
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
        """Answer every stop by a sentence; it counts afterwards. What the hands are doing is ended first."""
        await self._end_hands()
        with self._stop.unstoppable(lambda: self._narrator.say(clean(answer))):
            yield

    async def _ask(self, request: Confirm | Choose | Enter | Hold, read: Callable[[str], _T]) -> _T:
        await self._drop_hands()
        self._narrator.ask(request)
        entry = self._take(request.key)
        await self._stop.guard(self._work(entry))
        return self._answered(entry.answer, read, f"{self._place(entry)}, for {request.key}")

    def _answered(self, text: str, read: Callable[[str], _T], where: str) -> _T:
        self._narrator.say(f"> {clean(text)}")
        if text == STOP_ANSWER:
            raise OperatorStop("the script ends the run here")
        try:
            return read(text)
        except NotAnAnswer as error:
            raise DeskError(f"{where}: {text!r} is not an answer. {error}") from error

    def _set_to_work(self, key: str) -> None:
        entry = self._take(key)
        _check_declared(entry.answer, f"{self._place(entry)}, for {key}")
        self._hands = asyncio.create_task(self._declare(entry))

    async def _declare(self, entry: ScriptEntry) -> None:
        await self._work(entry)
        self._narrator.say(f"> {clean(entry.answer)}")
        if entry.answer == STOP_ANSWER:
            self._stop.request("the script ends the run here")
        elif entry.answer.startswith(_SPOILT):
            self._reason = entry.answer.removeprefix(_SPOILT).strip()
            self._marks.append(Mark.SPOILT)
        elif entry.answer == "nothing changed":
            self._marks.append(Mark.NOTHING_CHANGED)

    async def _work(self, entry: ScriptEntry) -> None:
        await self._clock.sleep(entry.after_s)
        for words in entry.commands(self._variables):
            try:
                await run_command(words, entry.timeout_s)
            except DeskError as error:
                raise DeskError(f"{self._place(entry)}: {error}") from error

    def _check_hands_finished(self, key: str) -> None:
        if self._hands is None:
            return
        if not self._hands.done():
            raise DeskError(f"The scripted hands for {key} were still busy when its time was over: lower after_s")
        hands, self._hands = self._hands, None
        hands.result()

    async def _drop_hands(self) -> None:
        hands, self._hands = self._hands, None
        if hands is not None and not hands.done():
            hands.cancel()
            await asyncio.wait({hands}, timeout=HANDS_END_S)
        self._marks.clear()
        _raise_failure(hands)

    async def _end_hands(self) -> None:
        try:
            await self._drop_hands()
        except DeskError as failure:  # nothing depends on them any more: said, not raised
            self._narrator.say(clean(str(failure)))

    def _find(self, key: str) -> ScriptEntry | None:
        meant = (entry for entry in self._script.entries if entry.matches(key, self._sensor))
        return next((entry for entry in meant if self._left(entry)), None)

    def _left(self, entry: ScriptEntry) -> bool:
        return entry.times is None or self._used[entry.number] < entry.times

    def _take(self, key: str) -> ScriptEntry:
        entry = self._find(key)
        if entry is None:
            raise DeskError(_no_entry(self._script, key, self._sensor))
        self._used[entry.number] += 1
        return entry

    def _place(self, entry: ScriptEntry) -> str:
        return f"{self._script.name}, answer {entry.number}"


def _released(text: str) -> None:
    if text != "released":
        raise NotAnAnswer("A hold point is answered by: released")


def _check_declared(text: str, where: str) -> None:
    spoilt = text.startswith(_SPOILT) and text.removeprefix(_SPOILT).strip()
    if text not in ("done", "nothing changed", STOP_ANSWER) and not spoilt:
        raise DeskError(
            f"{where}: {text!r} is not an answer. A trial or a watch is answered by: done; "
            f"spoilt: REASON; nothing changed; or {STOP_ANSWER}"
        )


def _raise_failure(hands: "asyncio.Task[None] | None") -> None:
    if hands is not None and hands.done() and not hands.cancelled():
        hands.result()


def _no_entry(script: OperatorScript, key: str, sensor: str) -> str:
    spent = [entry for entry in script.entries if entry.matches(key, sensor)]
    why = f"answer {spent[-1].number} has been used {spent[-1].times} times" if spent else "no entry matches it"
    return (
        f'The script {script.name} has no answer for the request "{key}": {why}. '
        f'Add a table [[answer]] with request = "{key}" and its answer.'
    )
