"""The borrowed socket with nothing plugged in: what its pull gives, and by 1 kilohm which way that pull goes."""

from dataclasses import replace

from commission.asking.message import Punch, Tell, Weight
from commission.asking.power import hold_same_printer
from commission.asking.request import AS_FAST_AS_IT_GOES, Confirm, Hold, Watch
from commission.asking.steps import Steps, confirm, watch
from commission.judge.exposure import watched
from commission.judge.plan import Plan
from commission.procedure.borrow.own_switch import TRIES, worked
from commission.procedure.loop.pull_readings import SMALL_R
from commission.vocabulary import PunchClass, Reading

LAY = Confirm(
    "borrow.small.now",
    "Show by 1 kΩ which way the socket's pull goes?",
    (
        "Without it the direction is as you declared it. It takes two test leads from signal and ground of the empty "
        "socket, led out with the power off.",
        f"Outside, {SMALL_R} then changes the reading where the pull goes up, and does not where it goes down.",
    ),
)
STILL_THERE = (
    "The reading follows the endstop's own switch: its plug is still in. Another plug was pulled, or none.",
    "What was read does not count. Follow the cable from that switch to the board and pull that plug.",
)
NEVER_EMPTY = "The socket went on following its own switch: the right plug was not found."


def read_empty(plan: Plan, socket: str, emptied: Hold) -> Steps[Reading]:
    """Have the socket emptied and read it, hands off and while its own switch is pressed; unknown where unsteady.

    Pressing shows that it is the right plug: a socket that still follows its switch is not empty.
    """
    for _ in range(TRIES):
        yield from hold_same_printer(emptied)
        rest = yield from _hands_off(plan, socket, "borrow.rest", "Empty socket", "Hands off. The input is read.")
        pressed = yield from worked(plan, socket, "Empty socket: its own switch must change nothing")
        if pressed.follows:
            yield Tell(STILL_THERE, heading="Not empty", weight=Weight.CAUTION)
            continue
        moved = [reading for move in pressed.moves for reading in move.readings]
        return _steady([*rest, *moved]) if pressed.whole and rest else Reading.UNKNOWN
    yield Punch(PunchClass.INCOMPLETE, NEVER_EMPTY, "Follow the cable of that endstop, and run this again.")
    return Reading.UNKNOWN


def read_with_small(plan: Plan, socket: str) -> Steps[Reading | None]:
    """What the empty socket reads with 1 kilohm from signal to ground; None where it was not laid."""
    lines = (f"Clip {SMALL_R} between the free ends of the leads. Touch nothing but the free ends.",)
    if not (yield from confirm(Confirm("borrow.lay", f"Is {SMALL_R} between the leads, hands off?", lines))):
        return None
    read = yield from _hands_off(plan, socket, "borrow.small", f"Empty socket with {SMALL_R}", "Hands off. It is read.")
    return _steady(read)


def _hands_off(plan: Plan, socket: str, key: str, title: str, line: str) -> Steps[list[Reading]]:
    """What was read; nothing where too little could be."""
    request = Watch(key, title, (line,), socket, None, plan.rest_s, plan.readings_per_dwell)
    taken = yield from watch(replace(request, interval_s=AS_FAST_AS_IT_GOES))
    whole = watched(taken.readings, plan.rest_s).complete
    return [each.reading for each in taken.readings] if whole else []


def _steady(readings: list[Reading]) -> Reading:
    """What was read throughout."""
    known = set(readings) - {Reading.UNKNOWN}
    return known.pop() if len(known) == 1 else Reading.UNKNOWN
