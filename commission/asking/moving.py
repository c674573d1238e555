"""Requests and responses of the function test: moves while the switch is read, urgent words, and listening.

request    response
RunMoves   MovesRun
Say        None (an urgent word; what came of it is heard afterwards)
Listen     Heard
"""

from dataclasses import dataclass
from enum import Enum

from commission.asking.response import TimedReading
from commission.dialect.commands import Command, move
from commission.dialect.pausing import Question, Sign
from commission.vocabulary import Reading, Slowed


@dataclass(frozen=True)
class MovePattern:
    """Equal moves, there and back, that feed filament while they travel.

    Attributes:
        feed_mm: filament each move feeds; 0 for moves that only travel.
        travel_mm: how far each goes; 0 for moves that only feed.
        block_s: how long each takes: travel over speed, without acceleration.
        queue_blocks: how many are kept queued at the printer, so that the queue of this test is known.
    """

    feed_mm: float
    travel_mm: float
    block_s: float
    queue_blocks: int = 4

    def __post_init__(self) -> None:
        if min(self.travel_mm, self.feed_mm) < 0 or self.travel_mm + self.feed_mm <= 0:
            raise ValueError("A test move travels or feeds, and does not draw filament back")
        if self.block_s <= 0 or self.queue_blocks < 1:
            raise ValueError("A test move takes time, and at least one is queued")

    @property
    def feed_mm_s(self) -> float:
        """Speed of the filament."""
        return self.feed_mm / self.block_s

    @property
    def queue_mm(self) -> float:
        """Filament in the moves that are kept queued."""
        return self.queue_blocks * self.feed_mm

    def command(self, number: int) -> Command:
        """The move of this number: even ones go there, odd ones back."""
        if not self.travel_mm:
            return move(e_mm=self.feed_mm, speed_mm_s=self.feed_mm_s)
        travel_mm = self.travel_mm if number % 2 == 0 else -self.travel_mm
        return move(x_mm=travel_mm, e_mm=self.feed_mm, speed_mm_s=self.travel_mm / self.block_s)


@dataclass(frozen=True)
class RunMoves:
    """Run the moves and read the switch between them, until the printer stops taking them or a limit is reached.

    Attributes:
        key: names the request for a scripted operator.
        deed: what the operator does once the lead is over, in a few words.
        word: the same in one word, to be read from across the bench; empty where nothing is to be done.
        lead_s: moves before the operator acts.
        trip_s: how long the trip may take after that; where the switch is to stay as it is, how long it is watched.
        stop_s: how long the stop may take after the trip.
        release: key of the release under which it moves.
        trips: whether the switch is to change; without that a silence is a pause as well.
        steady: whether the switch is to stay as it is: then a change is evidence and no trip, and only time ends it.
        most: how many moves are sent; the run then ends once they are done. 0: as many as fit into the time.
        sends: whether the tool sends the moves; else a job on the printer makes them.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    deed: str
    switch: str
    pattern: MovePattern
    lead_s: float
    trip_s: float
    stop_s: float
    release: str
    trips: bool = True
    sends: bool = True
    word: str = ""
    steady: bool = False
    most: int = 0


@dataclass(frozen=True)
class Say:
    """Say an urgent word to a printer that waits."""

    command: Command
    release: str


@dataclass(frozen=True)
class Listen:
    """Hear what the printer says until one of these signs, or a question with buttons, comes.

    Attributes:
        note: what the screen says meanwhile.
        live: the same in finer steps, for a screen on which a line can be written anew.
        seconds: how long at most.
    """

    seconds: float
    until: frozenset[Sign]
    note: str = ""
    live: str = ""


class MovesEnd(Enum):
    """How the moves ended."""

    STOPPED = "the printer took no more moves"
    STOPPED_EARLY = "the printer took no more moves before the switch changed"
    NO_STOP = "the printer went on until the time limit"
    NO_TRIP = "the switch did not change"
    FEED_REFUSED = "the printer would not drive filament cold"
    CHANGE_REFUSED = "the printer refused the change: too cold"


@dataclass(frozen=True)
class MoveDone:
    """One acknowledged move; `acked_at_s` is seconds since the moves began."""

    acked_at_s: float
    feed_mm: float
    block_s: float


@dataclass(frozen=True)
class TimedSign:
    """A sign with its moment, in seconds since the moves or the listening began; earlier ones are below zero."""

    at_s: float
    sign: Sign
    text: str


@dataclass(frozen=True)
class MovesRun:
    """What came of the moves.

    Attributes:
        silent: the printer said nothing at all from some moment on.
        question: the question that was open at the end.
        slowed: why it was not read as fast as the wire allows; None where it was, or there was no time for it.
    """

    end: MovesEnd
    moves: tuple[MoveDone, ...]
    readings: tuple[TimedReading, ...]
    signs: tuple[TimedSign, ...]
    seconds: float
    silent: bool = False
    question: Question | None = None
    slowed: Slowed | None = None

    @property
    def reading_in(self) -> Reading:
        """What was read before the operator acted."""
        return next((r.reading for r in self.readings if r.reading is not Reading.UNKNOWN), Reading.UNKNOWN)

    @property
    def trip(self) -> tuple[float, float] | None:
        """The moments of the last reading before the trip and of the first after it; None without a trip."""
        known = [reading for reading in self.readings if reading.reading is not Reading.UNKNOWN]
        if not known or known[-1].reading is self.reading_in:
            return None
        last_in = max(n for n, reading in enumerate(known) if reading.reading is self.reading_in)
        return known[last_in].at_s, known[last_in + 1].at_s

    def first(self, *signs: Sign) -> TimedSign | None:
        """The first of these signs, if one came."""
        return next((each for each in self.signs if each.sign in signs), None)


@dataclass(frozen=True)
class Heard:
    """What was heard since the last time anything was collected.

    Attributes:
        question: the question that is open now.
    """

    signs: tuple[TimedSign, ...]
    question: Question | None = None

    def has(self, *signs: Sign) -> bool:
        """Whether one of these came."""
        return any(each.sign in signs for each in self.signs)
