"""Stands between a procedure and its bench: writes down what crosses, and gives one answer otherwise than the bench."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase
from typing import Any, TypeVar

from commission.asking.moving import MovesRun
from commission.asking.request import Ask, Choose, Confirm, Enter, EntryKind, Recall, Release
from commission.asking.response import (
    HoldReleased,
    Interrupted,
    Interruption,
    InterruptionKind,
    TrialTaken,
    WatchTaken,
)
from commission.asking.steps import Steps
from commission.session import End, Exchange
from commission.vocabulary import Reading
from tests.procedure.transcripts.wording import block, shortened, worded

T = TypeVar("T")
MOST_REQUESTS = 3000
"""A run with more of them goes round in a circle."""
OFTEN = 2
"""A question that comes again under the same key is answered otherwise so many times, unless a run says less."""


@dataclass(frozen=True)
class Other:
    """Another answer to one request: its number in the run, and what is answered or thrown."""

    number: int
    name: str
    answer: Any


@dataclass
class Recorder:
    """Writes down one run.

    Attributes:
        other: the answer that is given otherwise; None for the usual run.
        blocks: what crossed, in order, each in lines.
        passed_over: patterns of keys, or of commands, that are answered otherwise in another run.
        hidden: a text that differs at each run, as the path of a folder; it is left out.
        often: a request that comes again is answered otherwise so many times.
        others: the other answers that there were to this run's requests.
        deviated_at: the block at which the other answer was given.
    """

    other: Other | None = None
    often: int = OFTEN
    passed_over: tuple[str, ...] = ()
    hidden: str = ""
    blocks: list[tuple[str, ...]] = field(default_factory=list)
    others: list[Other] = field(default_factory=list)
    deviated_at: int = 0
    _times: dict[str, int] = field(default_factory=dict)

    def of(self, steps: Steps[T]) -> Steps[T]:
        """The same steps, written down."""
        response: object = None
        thrown: Interrupted | None = None
        for number in range(MOST_REQUESTS):
            try:
                request = steps.send(response) if thrown is None else steps.throw(thrown)
            except StopIteration as end:
                self._note(f"Returns {shortened(worded(end.value))}")
                result: T = end.value
                return result
            except Interrupted as broken:
                self._note(f"Ends with {broken}")
                raise
            response, thrown = None, None
            at = len(self.blocks)
            self._note(*block(request))
            if self.other is not None and number == self.other.number:
                self.deviated_at = at
                given = self.other.answer
                if isinstance(given, InterruptionKind):
                    thrown = Interrupted(Interruption(given, "as this test has it"))
                else:
                    response = given
                self._note(f"-> {self.other.name}")
                continue
            try:
                response = yield request
            except Interrupted as broken:
                thrown = broken
                self._note(f"-> {broken}")
                continue
            self._answered(number, request, response)
        steps.close()
        raise AssertionError("the requests go round in a circle")

    def _note(self, *lines: str) -> None:
        self.blocks.append(tuple(line.replace(self.hidden, "FOLDER") if self.hidden else line for line in lines))

    def _answered(self, number: int, request: Any, response: Any) -> None:
        if isinstance(response, bool | str) and not isinstance(request, Ask):
            self._note(*self.blocks.pop(), f"  -> {response}")
        elif isinstance(request, Recall):
            self.blocks[-1] = (*self.blocks[-1], f"  -> {'nothing' if response is None else 'it is there'}")
        key = request.command.text if isinstance(request, Ask) else getattr(request, "key", "")
        if any(fnmatchcase(key, pattern) for pattern in self.passed_over):
            return
        name = f"{type(request).__name__} {key}"
        if isinstance(request, Ask):
            name = f"Ask {key.split()[0]} {request.release}"
        elif isinstance(request, Recall):
            name += request.kind.__name__
        self._times[name] = self._times.get(name, 0) + 1
        if self._times[name] <= self.often:
            self.others += [Other(number, said, other) for said, other in _others(request, response)]


NO_ANSWER, RESTARTED = InterruptionKind.NO_ANSWER, InterruptionKind.BOARD_RESTARTED
Answers = Iterator[tuple[str, Any]]


def _others(request: Any, response: Any) -> Answers:
    """Other answers to a request than the one that was given."""
    match request:
        case Release() if response is not True:
            return  # the bench knows of no other release than it gave
        case Confirm() | Release():
            yield str(not response), not response
        case Choose():
            yield from ((each.key, each.key) for each in request.options if each.key != response)
        case Enter():
            yield from _typed(request, response)
        case Recall() if response is not None:
            yield "nothing on record", None
        case _:
            yield from _of_the_printer(request, response)


def _typed(request: Enter, response: str) -> Answers:
    if request.kind is EntryKind.NUMBER:
        others = {f"{each:g}" for each in (request.least, request.most) if each is not None}
    else:
        others = {"another word"}
    yield from ((each, each) for each in sorted((others | ({""} if request.optional else set())) - {response}))


def _of_the_printer(request: Any, response: Any) -> Answers:
    match response:
        case Exchange():
            yield "a bare acknowledgement", Exchange(request.command, (), (), End.ACKNOWLEDGED, 0.0, 0.0)
            yield NO_ANSWER.value, NO_ANSWER
        case HoldReleased():
            if response != (unseen := HoldReleased(port=response.port)):
                yield "released, nothing seen", unseen
            yield "another printer", replace(response, same_identity=False)
            yield NO_ANSWER.value, NO_ANSWER
        case TrialTaken():
            yield "nothing read", replace(response, dwell=(), unread=request.readings)
            yield "declared void", replace(response, void_reason="it slipped")
            yield "read the other way", replace(response, dwell=turned(response.dwell))
            yield RESTARTED.value, RESTARTED
        case WatchTaken():
            yield "nothing read", replace(response, readings=(), unread=len(response.readings))
            yield "declared void", replace(response, readings=(), void_reason="it slipped")
            yield "read the other way", replace(response, readings=turned(response.readings))
            yield "ends the other way", replace(response, readings=ends_turned(response.readings))
            yield RESTARTED.value, RESTARTED
        case MovesRun():
            yield "nothing read", replace(response, readings=())
            yield "silent", replace(response, silent=True)
            yield "read the other way", replace(response, readings=turned(response.readings))
            yield from (
                (each.value, replace(response, end=each)) for each in type(response.end) if each is not response.end
            )
            yield NO_ANSWER.value, NO_ANSWER


OPPOSITE = {Reading.ACTIVE: Reading.INACTIVE, Reading.INACTIVE: Reading.ACTIVE, Reading.UNKNOWN: Reading.UNKNOWN}


def turned(readings: Any) -> Any:
    """The same readings, each the other way round."""
    return tuple(replace(each, reading=OPPOSITE[each.reading]) for each in readings)


def ends_turned(readings: Any) -> Any:
    """The same readings, the last third of them the other way round."""
    from_here = 2 * len(readings) // 3
    return (*readings[:from_here], *turned(readings[from_here:]))


Run = Callable[[Recorder], object]
"""Carries out one run on a bench of its own, its steps written down by the recorder."""


@dataclass(frozen=True)
class Scene:
    """A run that is kept; `often` is 0 for one that is kept only as it usually goes. See `Recorder`."""

    run: Run
    often: int = OFTEN
    passed_over: tuple[str, ...] = ()

    def recorded(self, other: Other | None = None) -> Recorder:
        """The run, written down to its end or to what broke it off."""
        recorder = Recorder(other, self.often, self.passed_over)
        with suppress(Interrupted):
            self.run(recorder)
        return recorder
