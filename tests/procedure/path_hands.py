"""Hands at a simulated unit that answer by a path: the first answers are given, the rest are the usual ones.

The board of the unit is real as far as it is simulated; that it pauses and goes on is made up here, as a sound one does
it, because no moves are simulated in this process.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from commission.asking.form import Form
from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves, Say, TimedSign
from commission.asking.request import Ask, Choose, Confirm, Enter, EntryKind, Fingerprint, Keep, Release, Request
from commission.asking.response import TimedReading
from commission.dialect.framing import RawLine
from commission.dialect.pausing import Question, Sign
from commission.dialect.replies import classify
from commission.session import End, Exchange
from commission.vocabulary import Reading
from tests.procedure.unit_hands import ScriptedHands

MOST_QUESTIONS = 400
"""A path with more questions goes round in a circle."""
ASKS = Question("Filament in?", ("Purge more", "Continue"))
SEES_NONE = Question("No filament", ("Purge more", "Disable sensor"))
RESUMED = Heard((TimedSign(0.0, Sign.RESUMED, "resumed"),))
HOT = {
    "M105": "ok T:210.00 /{} B:21.50 /0.00 @:0 B@:0",
    "M302": "echo:Cold extrudes are disabled (min temp 170C)",
}

Answer = bool | str


@dataclass(frozen=True)
class Point:
    """A question with more than one answer: its key, all answers, and the one that was given."""

    key: str
    answers: tuple[Answer, ...]
    given: Answer


class PathHands(ScriptedHands):
    """Steer it by `path`, the first answers in their order, and by `usual`, the other answers by key.

    `points` holds the questions that were met, `leftover_mm` is what the board feeds between a trip and its stop beyond
    its queue.
    """

    def __init__(self, unit: str, path: Sequence[Answer], usual: Mapping[str, Any], leftover_mm: float) -> None:
        super().__init__(unit, usual.get)
        self.path = tuple(path)
        self.points: list[Point] = []
        self.leftover_mm = leftover_mm
        self._pulled = 0
        self._celsius = "0"

    def _fulfil(self, request: Request) -> object:
        match request:
            case Form():
                return {}  # each of its questions is asked alone
            case Confirm() | Choose() | Release():
                return self._on_the_path(request)
            case Keep():
                return request.name
            case Enter() if self._answer(request.key) is None:
                return "a word" if request.kind is EntryKind.TEXT else str(request.least or 1)
            case Fingerprint() | Say():
                return None
        return self._at_the_board(request)

    def _at_the_board(self, request: Request) -> object:
        if isinstance(request, Listen):
            return self._heard(request)
        if isinstance(request, RunMoves) and request.key.startswith(("pause.", "start_empty")):
            return self._paused(request)
        return super()._fulfil(request)

    def _exchange(self, request: Ask) -> Exchange:
        """What the unit says; no time passes between two questions here, so the nozzle is hot at once."""
        if request.command.text.startswith("M104"):
            self._celsius = request.command.text.partition("S")[2]
        said = HOT.get(request.command.text)
        if said is None:
            return super()._exchange(request)
        said = said.format(self._celsius)
        return Exchange(request.command, (classify(RawLine.of(said)),), (), End.ACKNOWLEDGED, 0.0, 0.1)

    def _on_the_path(self, request: Confirm | Choose | Release) -> Answer:
        usual = super()._fulfil(request)
        assert isinstance(usual, bool | str)
        answers = tuple(option.key for option in request.options) if isinstance(request, Choose) else (True, False)
        if len(answers) < 2:
            return usual
        assert len(self.points) < MOST_QUESTIONS, "the questions go round in a circle"
        given = self.path[len(self.points)] if len(self.points) < len(self.path) else usual
        self.points.append(Point(request.key, answers, given))
        if request.key.endswith(".pulled") and given:
            self._pulled = 2
        return given

    def _heard(self, request: Listen) -> Heard:
        """A sound board: it asks until it was answered; pulled once, it sees none, then asks again."""
        if Sign.RESUMED not in request.until:
            return Heard((), SEES_NONE if self._pulled == 1 else ASKS if request.until == frozenset() else None)
        if self._pulled:
            self._pulled -= 1
            return Heard((), SEES_NONE if self._pulled else ASKS)
        return RESUMED

    def _paused(self, request: RunMoves) -> MovesRun:
        """Moves until leftover and queue are fed after the trip, then the stop."""
        pattern, trip_s = request.pattern, request.lead_s + 1.0
        announced_s = trip_s + self.leftover_mm / pattern.feed_mm_s
        last = announced_s + pattern.queue_blocks * pattern.block_s
        blocks = round(last / pattern.block_s)
        lead_s = pattern.queue_blocks * pattern.block_s
        moves = tuple(
            MoveDone(max(0.0, number * pattern.block_s - lead_s), pattern.feed_mm, pattern.block_s)
            for number in range(blocks)
        )
        empty = not request.trips
        if empty:
            moves = moves[: round((self.leftover_mm / pattern.feed_mm_s) / pattern.block_s) + pattern.queue_blocks]
        now_in, now_out = (
            TimedReading(trip_s - 0.05, Reading.ACTIVE, ""),
            TimedReading(trip_s + 0.05, Reading.INACTIVE, ""),
        )
        readings = (now_out,) if empty else (now_in, now_out)
        signs = (TimedSign(announced_s, Sign.RUNOUT, "runout"),)
        return MovesRun(MovesEnd.STOPPED, moves, readings, signs, last, question=ASKS)


def paths(
    drive: Callable[[tuple[Answer, ...]], Sequence[Point]], *, first: int, most: int, one_in: int = 1
) -> Iterator[tuple[Answer, ...]]:
    """Every path of answers, breadth first: one other answer than usual, then two, and so on.

    Args:
        drive: goes a path to its end and returns the questions that were met.
        first: so many of the questions are answered otherwise.
        most: so many paths at most.
        one_in: of the paths with a single other answer, one in so many is gone, and those that come of it.

    Yields:
        Each path once it was gone.
    """
    waiting: list[tuple[Answer, ...]] = [()]
    for number in range(most):
        if number >= len(waiting):
            return
        path = waiting[number]
        points = drive(path)
        given = tuple(point.given for point in points)
        for at in range(len(path), min(first, len(points))):
            waiting += [(*given[:at], other) for other in points[at].answers if other != given[at]]
        if not path:
            waiting[1:] = waiting[1::one_in]
        yield path
