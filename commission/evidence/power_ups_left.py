"""Power-ups with the sensor unplugged that were begun, read, and then left without a judgement.

Stopping must not delete what was read in them. What a phase judged is its own; the rest is kept for the series: a
reading that was concluded to be no steady *out*, or that showed *in* with the filament out, is a bad one; *in* alone,
before the filament was moved, may come from a sensor that was still plugged in: that leaves it open.
"""

from dataclasses import dataclass, field

from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.measured import Watch, WatchBrokenOff
from commission.evidence.standing import AT_BOARD, AT_SENSOR, MOVED
from commission.judge.unplugged import Move, follows, shows
from commission.vocabulary import Presence, Reading


@dataclass
class _PowerUp:
    """One power-up as far as it came; `concluded` is what was read throughout, None before that was settled."""

    rest: tuple[Reading, ...]
    moves: list[Move] = field(default_factory=list)
    concluded: Reading | None = None

    @property
    def bad(self) -> bool:
        if self.concluded is not None:
            return self.concluded is not Reading.INACTIVE
        out = [move for move in self.moves if move.presence is Presence.OUT]
        return not follows(self.moves) and any(shows(move.readings) is Reading.ACTIVE for move in out)

    @property
    def left_open(self) -> bool:
        read = (*self.rest, *(reading for move in self.moves for reading in move.readings))
        return self.concluded is None and not self.bad and Reading.ACTIVE in read


class PowerUpsLeft:
    """The power-ups of one run that nothing has judged yet."""

    def __init__(self) -> None:
        self._found: list[_PowerUp] = []

    def take(self, entry: object) -> None:
        """Take a watch of the run, whole or broken off; others than those of power-ups change nothing."""
        if not isinstance(entry, Watch | WatchBrokenOff) or (isinstance(entry, Watch) and entry.void_reason):
            return
        read = tuple(each.reading for each in entry.readings)
        if entry.key.startswith((AT_BOARD, AT_SENSOR)):
            self._found.append(_PowerUp(read))
        elif entry.key.startswith(MOVED) and self._found and entry.presence is not None:
            self._found[-1].moves.append(Move(entry.presence, read))

    def found(self, finding: Finding) -> None:
        """Take what was established: a power-up is concluded, was none, or everything was judged."""
        match finding:
            case loop.UnpluggedSetAside():
                del self._found[-1:]
            case loop.UnpluggedAtBoard(readings=readings, watched=watched) if readings and watched:
                self._conclude(readings[-1], watched=watched[-1])
            case loop.UnpluggedAtSensor(reading=reading):
                self._conclude(reading, watched=True)

    def judged(self) -> None:
        """They were judged: they are no longer anybody's to delete."""
        self._found = []

    def left(self) -> tuple[int, int]:
        """How many bad ones, and how many left open, are left unjudged; they are counted once."""
        found, self._found = self._found, []
        return sum(each.bad for each in found), sum(each.left_open for each in found)

    def _conclude(self, reading: Reading, *, watched: bool) -> None:
        if self._found and (watched or reading is Reading.ACTIVE):
            self._found[-1].concluded = reading  # else too little was read to conclude: what was read stands as it is
