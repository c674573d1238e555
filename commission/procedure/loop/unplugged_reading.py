"""One power-up with the sensor unplugged: read hands off, then while the filament is moved in and out, twice.

A reading that goes with the filament says that the sensor was never unplugged: then nothing of the power-up counts, and
the right plug is looked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.asking.message import Punch, Tell, Weight
from commission.asking.power import hold_same_printer
from commission.asking.request import AS_FAST_AS_IT_GOES, Hold, Watch
from commission.asking.response import TimedReading
from commission.asking.steps import Steps, establish, watch
from commission.evidence.findings.loop import UnpluggedSetAside
from commission.judge.exposure import watched
from commission.judge.failsafe import UnpluggedResult
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.judge.unplugged import MOVES, Move, follows
from commission.procedure.loop.by_hand import worked_by_hand
from commission.vocabulary import Presence, PunchClass

TRIES = 3
"""So often the right plug may be looked for, and a move that could not be read be done."""
MOVED = "still_plugged"
"""What the keys of the watches begin with in which the filament is moved."""
MOVE_KEYS = {Presence.IN: f"{MOVED}.insert", Presence.OUT: f"{MOVED}.withdraw"}
WORDS = {Presence.IN: "INSERT", Presence.OUT: "WITHDRAW"}
DEEDS = {
    Presence.IN: "Push the filament in, past the switch, and keep still.",
    Presence.OUT: "Pull the filament out of the sensor and keep still.",
}
BEFORE = (
    "It is read hands off first. Then the screen says four times to push the filament in or to pull it out.",
    "Do it each time. With the sensor unplugged the reading must not follow: one that follows shows the wrong plug.",
)
NOT_UNPLUGGED = (
    "The reading follows the filament: the sensor is still plugged in. Another plug was pulled, or none.",
    "What was read does not count. Follow the cable from the sensor to the board and pull that plug.",
)
NOT_SEEN = (
    "The tool did not see the power go off: no restart was heard, or the port never went away.",
    "That it was off rests on your word, and that makes the unplug test a conditional pass at best.",
)
CURE_UNSEEN = (
    "Do the unplug test again, and take both away each time, mains and USB, for ten seconds. A board that says nothing "
    "when it starts and counts no lines cannot show it; see for yourself that its lights go out."
)
CURE_PLUG = "Follow the cable from the sensor to the board, see that the input has its pull, and run this again."


@dataclass(frozen=True)
class Unplugging:
    """How the sensor is unplugged for one power-up.

    Attributes:
        first: the hold point at which it is done.
        again: the steps where another plug was pulled, or none.
        key: of the watch.
        title: of the watch, as in `Unplugged, power-up 1`.
    """

    first: Hold
    again: tuple[str, ...]
    key: str
    title: str


def surely_unplugged(plan: Plan, switch: str, unplugging: Unplugging) -> Steps[UnpluggedResult | None]:
    """Have the sensor unplugged and read it until it really was; None where the right plug was not found."""
    request = unplugging.first
    for _ in range(TRIES):
        released = yield from hold_same_printer(request)
        if released.power is not PowerSeen.POWER_OFF:
            yield Tell(NOT_SEEN, weight=Weight.CAUTION)
        yield Tell(BEFORE)
        result, moves = yield from _read(plan, switch, unplugging, released.power)
        if not follows(moves):
            return result
        said = f"{unplugging.title}: the reading followed the filament. It was not unplugged, and this does not count."
        yield from establish(UnpluggedSetAside(sentences=(said,), key=unplugging.key))
        yield Tell(NOT_UNPLUGGED, heading="Not unplugged", weight=Weight.CAUTION)
        request = replace(unplugging.first, steps=unplugging.again)
    text = f"{unplugging.title}: the reading went on following the filament, as a sensor's does that is plugged in."
    yield Punch(PunchClass.INCOMPLETE, f"{text} It is not judged.", CURE_PLUG)
    return None


def _read(
    plan: Plan, switch: str, unplugging: Unplugging, power: PowerSeen
) -> Steps[tuple[UnpluggedResult, tuple[Move, ...]]]:
    """Hands off, then through all moves; what could not be read is left out of the moves and makes it not judged."""
    rest = yield from watch(_hands_off(plan, switch, unplugging))
    moves = yield from worked_by_hand(_moved(plan, switch))
    readings = [reading.reading for reading in rest.readings]
    whole = _whole(plan, rest.readings) and len(moves) == len(MOVES)
    everything = (*readings, *(reading for move in moves for reading in move.readings))
    return UnpluggedResult(everything, watched=whole, power=power), moves


def _whole(plan: Plan, readings: Sequence[TimedReading]) -> bool:
    return watched(readings, plan.rest_s).complete


def _moved(plan: Plan, switch: str) -> Steps[tuple[Move, ...]]:
    moves = []
    for presence in MOVES:
        move = yield from _move(plan, switch, presence)
        if move is None:
            break
        moves.append(move)
    return tuple(moves)


def _move(plan: Plan, switch: str, presence: Presence) -> Steps[Move | None]:
    """One move, done again while it cannot be read; None where it never could be."""
    for _ in range(TRIES):
        taken = yield from watch(_prompt(plan, switch, presence))
        if _whole(plan, taken.readings):
            return Move(presence, tuple(reading.reading for reading in taken.readings))
        yield Tell(("Too little of that could be read: once more.",), weight=Weight.NOTE)
    return None


def _hands_off(plan: Plan, switch: str, unplugging: Unplugging) -> Watch:
    return Watch(
        key=unplugging.key,
        title=unplugging.title,
        lines=("Hands off. The input is read with the sensor unplugged.",),
        switch=switch,
        presence=None,
        seconds=plan.rest_s,
        readings=plan.readings_per_dwell,
        interval_s=AS_FAST_AS_IT_GOES,
    )


def _prompt(plan: Plan, switch: str, presence: Presence) -> Watch:
    return Watch(
        key=MOVE_KEYS[presence],
        title=f"Unplugged: filament {presence.value}",
        lines=(DEEDS[presence],),
        switch=switch,
        presence=presence,
        seconds=plan.rest_s,
        readings=plan.readings_per_dwell,
        interval_s=AS_FAST_AS_IT_GOES,
        lead_s=plan.countdown_s,
        word=WORDS[presence],
    )
