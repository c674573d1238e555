"""The switch that belongs into the socket, pressed by hand: it shows which socket is read, and that it works again."""

from dataclasses import dataclass

from commission.asking.message import Tell, Weight
from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.steps import Steps, watch
from commission.judge.exposure import watched
from commission.judge.plan import Plan
from commission.judge.unplugged import MOVES, Move, follows, shows
from commission.vocabulary import Presence, Reading

TRIES = 3
"""So often the right switch is looked for, and a press that could not be read be done."""
PRESSED, FREE = Presence.IN, Presence.OUT
"""A press goes by the same rule as filament does at an unplugged sensor: see `judge.unplugged`."""
KEYS = {PRESSED: "borrow.press", FREE: "borrow.let_go"}
WORDS = {PRESSED: "PRESS", FREE: "LET GO"}
DEEDS = {
    PRESSED: "Press the endstop's own switch by hand and hold it. Do not move the machine against it.",
    FREE: "Let the endstop's own switch go and keep your hands off.",
}
NOT_FOLLOWED = "The reading did not follow the switch that was pressed."


@dataclass(frozen=True)
class OwnSwitch:
    """What the socket read while its own switch was pressed and let go, twice.

    Attributes:
        moves: each press and each letting go with its readings.
        whole: whether each of them could be read.
    """

    moves: tuple[Move, ...]
    whole: bool

    @property
    def follows(self) -> bool:
        """Whether the reading went with the switch, every time."""
        return self.whole and follows(self.moves)

    @property
    def pressed(self) -> Reading:
        """What it reads with the switch pressed; unknown where it does not follow."""
        return shows(self.moves[0].readings) if self.follows else Reading.UNKNOWN

    @property
    def free(self) -> Reading:
        """What it reads with the switch let go; unknown where it does not follow."""
        return shows(self.moves[1].readings) if self.follows else Reading.UNKNOWN


def worked(plan: Plan, socket: str, title: str) -> Steps[OwnSwitch]:
    """Have the socket's own switch pressed and let go, twice, while the socket is read."""
    moves: list[Move] = []
    for each in MOVES:
        move = yield from _move(plan, socket, title, each)
        if move is None:
            return OwnSwitch(tuple(moves), whole=False)
        moves.append(move)
    return OwnSwitch(tuple(moves), whole=True)


def seen_to_follow(plan: Plan, socket: str, title: str) -> Steps[OwnSwitch]:
    """The same until the reading follows, a few times at most."""
    for left in reversed(range(TRIES)):
        found = yield from worked(plan, socket, title)
        if found.follows or not left:
            break
        again = "See that it is the switch of this socket, and press it far enough. Once more."
        yield Tell((NOT_FOLLOWED, again), weight=Weight.CAUTION)
    return found


def _move(plan: Plan, socket: str, title: str, each: Presence) -> Steps[Move | None]:
    for _ in range(TRIES):
        taken = yield from watch(_prompt(plan, socket, title, each))
        if watched(taken.readings, plan.rest_s).complete:
            return Move(each, tuple(reading.reading for reading in taken.readings))
        yield Tell(("Too little of that could be read: once more.",), weight=Weight.NOTE)
    return None


def _prompt(plan: Plan, socket: str, title: str, each: Presence) -> Watch:
    return Watch(
        key=KEYS[each],
        title=title,
        lines=(DEEDS[each],),
        switch=socket,
        presence=None,
        seconds=plan.rest_s,
        readings=plan.readings_per_dwell,
        interval_s=AS_FAST_AS_IT_GOES,
        lead_s=plan.countdown_s,
        word=WORDS[each],
    )
