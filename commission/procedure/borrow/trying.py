"""Phase: the sensor in place of the endstop: the empty socket, filament in and out, and the endstop back again.

Whatever breaks it off once the endstop is unplugged leaves a printer that must not be homed: that is said, and is an
open item of class A until the endstop is back and its own switch works as before.
"""

from dataclasses import dataclass, replace
from typing import TypeVar

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.power import End, around, hold_point, hold_same_printer, put_together, unplug
from commission.asking.request import Confirm, Hold
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings.borrow import SocketHandedBack
from commission.evidence.findings.wiring import NoMeter
from commission.judge.borrowed import BorrowedReadings
from commission.judge.plan import Plan
from commission.judge.polarity import PREDICTIONS
from commission.procedure.borrow.empty import LAY, read_empty, read_with_small
from commission.procedure.borrow.own_switch import OwnSwitch, seen_to_follow
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.trials import Series, run_series
from commission.procedure.wiring.meter import measured_off_board
from commission.vocabulary import Presence, PunchClass, Reading, Verdict
from commission.wiring.installation import Installation
from commission.wiring.pull_proof import SAFETY

_T = TypeVar("_T")
TRYING = Phase("borrow_trying", "The sensor in place of the endstop", "the trial on the borrowed socket")
BACK = "borrow.back"
LEADS_OFF = "Take the test leads off the socket, if they are on it."
TAKE_OUT = (
    unplug(End.BOARD, maybe=True),
    "Note which way round the endstop's plug sits, then unplug it from the socket of {socket}, if it is in there.",
)
LEADS_ON_SUPPLY = (
    "Lead the board's end of the sensor's cable out of the printer. For the voltage of the socket: clip one test lead "
    "to its ground and one to its supply terminal, so that nothing slips, and lead both out. Skip this where hands "
    "would come near mains parts, or where the socket has no supply terminal."
)
LEADS_ON_SIGNAL = (
    "Clip one test lead to the socket's signal and one to its ground, each found by function, so that nothing slips. "
    "Lead their free ends out of the housing, apart."
)
PUT_IN = (
    "Touch the frame, then plug the sensor's cable into the socket of {socket}, each terminal by its function: not by "
    "colour, and not by its place."
)
GIVE_BACK = (
    "Touch the frame, then unplug the sensor's cable from the socket of {socket}, if it is in there. Plug the "
    "endstop's cable into it as it sat before.",
    "Leave the sensor unplugged.",
)
LEFT = "The trial was broken off: the endstop {socket} may be unplugged. Nobody may home or move the printer."
UNPROVEN = "The endstop {socket} is not proven to work again. Nobody may home or move the printer."
CURE_UNPROVEN = (
    "Switch the printer off and pull its mains plug and the USB cable. See that the endstop's plug sits as it did, by "
    "function. Then, with the printer on, press the switch by hand and see that its reading changes and returns."
)
READY = (
    "Take the filament out of the sensor now, so that the switch is free.",
    "Then the screen says INSERT, WITHDRAW or LEAVE IT: do it in the countdown, then keep still. No key is needed.",
    "What is read is that socket's word, so nothing is right or wrong in it: do what the screen says.",
)
MOST_MISREAD = 1
"""So many trials of the series may contradict the others: a slip of the hand."""


@dataclass(frozen=True)
class Tried:
    """What came of the trial; `readings` is None where the sensor was not plugged in."""

    readings: BorrowedReadings | None
    handed_back: bool


@steps_of(TRYING)
def tried_on_socket(plan: Plan, socket: str, own: OwnSwitch, installation: Installation) -> Steps[Tried]:
    """From the endstop in its socket to the endstop in its socket.

    Args:
        plan: how many cycles, and how long each is read.
        socket: the source that is read.
        own: what the socket's own switch read before.
        installation: the sensor's wiring to this socket.
    """
    back = _back(socket)
    left = LEFT.format(socket=socket)
    readings = yield from put_together(_apart(plan, socket, installation, back), left, back.steps, BACK)
    return Tried(readings, (yield from _proven_again(plan, socket, own)))


def _apart(plan: Plan, socket: str, installation: Installation, back: Hold) -> Steps[BorrowedReadings | None]:
    metered = yield from _metered(socket, installation)
    readings = None
    if metered is not Verdict.FAIL:
        readings = yield from _read(plan, socket)
    yield from hold_same_printer(back)
    return readings


def _metered(socket: str, installation: Installation) -> Steps[Verdict]:
    question = "Is a meter at hand, to check the sensor's cable and the socket before anything is plugged in?"
    lines = ("It finds a supply that the switch shorts, without risking the board. It takes the power off once more.",)
    if not (yield from confirm(Confirm("borrow.meter.now", question, lines))):
        yield from establish(NoMeter())
        return Verdict.NOT_JUDGED
    steps = around(*_taken_out(socket), LEADS_ON_SUPPLY, mains_stays_out=True)
    freed = "Is the endstop unplugged, the sensor's cable free, and USB plugged back in?"
    free = hold_point("borrow.meter.hold", "the endstop out, the sensor's cable free", steps, freed)
    return (yield from measured_off_board(installation, free)).verdict


def _read(plan: Plan, socket: str) -> Steps[BorrowedReadings]:
    small = yield from confirm(LAY)
    empty = yield from read_empty(plan, socket, _empty_hold(socket, leads=small))
    with_small = None
    if small and empty is not Reading.UNKNOWN:
        with_small = yield from read_with_small(plan, socket)
    yield from hold_same_printer(_put_in(socket))
    filament_in, filament_out = yield from worked_by_hand(_trials(plan, socket))
    return BorrowedReadings(empty, filament_in, filament_out, with_small)


def _empty_hold(socket: str, *, leads: bool) -> Hold:
    on = (LEADS_ON_SIGNAL,) if leads else ()
    steps = around(LEADS_OFF, *_taken_out(socket), *on, mains_stays_out=True)
    released = "Is the socket empty, and is USB plugged back in?"
    request = hold_point("borrow.empty", f"the socket of {socket} empty", steps, released)
    return replace(request, cautions=(*request.cautions, *((SAFETY[0],) if leads else ())))


def _taken_out(socket: str) -> tuple[str, ...]:
    return tuple(step.format(socket=socket) for step in TAKE_OUT)


def _put_in(socket: str) -> Hold:
    steps = around(LEADS_OFF, PUT_IN.format(socket=socket), mains_stays_out=True)
    released = f"Is the sensor plugged into the socket of {socket}, and is USB plugged back in?"
    return hold_point("borrow.plug", f"the sensor into the socket of {socket}", steps, released)


def _back(socket: str) -> Hold:
    steps = around(LEADS_OFF, *(step.format(socket=socket) for step in GIVE_BACK))
    released = "Is the endstop plugged in as it was, and is the printer on?"
    return hold_point(BACK, f"the endstop back into the socket of {socket}", steps, released)


def _trials(plan: Plan, socket: str) -> Steps[tuple[Reading, Reading]]:
    ready = Confirm("borrow.ready", "Is the filament out and are you ready?", READY, watch=socket)
    while not (yield from confirm(ready)):
        yield Tell(("Take your time. The prompts begin when you say yes; Ctrl-C ends the run.",))
    return read_in_and_out((yield from run_series(plan, socket)))


def read_in_and_out(series: Series) -> tuple[Reading, Reading]:
    """What a series read with filament in and out; unknown where it was not steady, or contradicts itself twice."""
    finding, counts = series.finding, series.counts
    unread = (Reading.UNKNOWN, Reading.UNKNOWN)
    if finding is None or not finding.decided or series.given_up or finding.errors > MOST_MISREAD:
        return unread
    if counts.dwell_changes or counts.leave_changes:
        return unread
    read = PREDICTIONS.get(finding.behaviour)
    return unread if read is None else (read[Presence.IN], read[Presence.OUT])


def _proven_again(plan: Plan, socket: str, own: OwnSwitch) -> Steps[bool]:
    """The endstop's own switch, pressed as before, must read as before; else, and if that is broken off, class A."""
    try:
        now = yield from seen_to_follow(plan, socket, f"Its own switch at {socket}, handed back")
    except Interrupted:
        yield Punch(PunchClass.UNSAFE, UNPROVEN.format(socket=socket), CURE_UNPROVEN)
        raise
    proven = now.follows and (now.pressed, now.free) == (own.pressed, own.free)
    said = f"The endstop {socket} works again: pressed and let go by hand it reads as before."
    if not proven:
        said = UNPROVEN.format(socket=socket)
        yield Punch(PunchClass.UNSAFE, said, CURE_UNPROVEN)
        yield Tell((said, CURE_UNPROVEN), heading="Not handed back", weight=Weight.DANGER)
    yield from establish(SocketHandedBack(sentences=(said,), socket=socket, proven=proven))
    return proven
