"""Power off, power on and the power cycle: every step that takes the power away or gives it back, said once.

Two supplies feed the board: the mains, and the USB cable, which on most boards keeps the logic alive by itself. So the
steps go in one order:

    switch off, mains plug out     before anything is opened
    USB cable out                  before anything is touched
    cool, cover open               only where hands go in
    what is to be done
    the USB cable alone            enough to read by; the mains plug stays out, so the cover may stay open
    or cover, mains and USB        the printer runs again

They can be followed from any state, for a run that is taken up again may begin with the mains plug out; no step says
that something is so which the steps before it did not bring about.
"""

from collections.abc import Callable, Sequence
from enum import Enum
from typing import TypeVar

from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Hold
from commission.asking.response import HoldReleased, Interrupted, Interruption, InterruptionKind
from commission.asking.steps import Steps, hold
from commission.vocabulary import PunchClass
from commission.wiring.cautions import HANDS_AT_A_PLUG

_T = TypeVar("_T")

HANDS = HANDS_AT_A_PLUG
RUNNING = "See that the printer is on and the USB cable is in."
UNPLUG_AT_ONCE = (
    "Power switch off and USB cable out first. Then pull the mains plug, let hot parts cool, open the cover and unplug "
    "the sensor at the main board."
)
"""In this order where the supply may be shorted: what feeds the short goes first."""

PLUG_BACK = "Touch the frame, then plug the sensor's cable in wherever it is unplugged, each terminal by its function."
_MAINS_OUT = "Switch the printer off and pull its mains plug, if it is not out yet."
_USB_OUT = "Pull the USB cable: it powers the board too."
_COOL = "Let hot parts near your hands cool."
_OPEN = "Open the cover, if it is closed."
_USB_ALONE = "Leave the mains plug out. Plug only the USB cable in."
_UNLESS_POWERED = (
    "Only where the USB cable does not power the board: close the cover, then plug the mains plug in too and switch "
    "the printer on."
)
_ON_AGAIN = "Close the cover, if it is open. Plug the mains plug and the USB cable in and switch the printer on."
_CYCLE = (
    "Switch the printer off at its power switch.",
    f"{_USB_OUT} Wait ten seconds.",
    "Plug the USB cable back in and switch the printer on.",
)


class End(Enum):
    """An end of the sensor's cable that has a plug."""

    BOARD = "at the main board"
    SENSOR = "at the sensor"


def unplug(end: End, *, maybe: bool = False) -> str:
    """The step that unplugs the sensor's cable at this end; `maybe` where it may be out already."""
    return f"{_first(end)}, then unplug the sensor's cable {end.value}{', if it is plugged in there' if maybe else ''}."


def plug_in(end: End) -> str:
    """The step that plugs the sensor's cable in at this end."""
    known = ", each terminal by its function" if end is End.BOARD else ""
    return f"{_first(end)}, then plug the sensor's cable in {end.value}{known}."


def _first(end: End) -> str:
    return "Let hot parts near the sensor cool. Touch the frame" if end is End.SENSOR else "Touch the frame"


def around(*deeds: str, opens: bool = True, mains_stays_out: bool = False) -> tuple[str, ...]:
    """The steps of a hold point at which something is done without power.

    Args:
        deeds: what is done between power off and power on.
        opens: whether it is done behind the cover.
        mains_stays_out: the printer is fed by USB alone afterwards, so that it can be read and nothing can move or
            heat; a board that USB does not power is the exception, and gets mains behind its closed cover.
    """
    reached = (f"{_COOL} {_OPEN}",) if opens else ()
    on = (_USB_ALONE, _UNLESS_POWERED) if mains_stays_out else (_ON_AGAIN,)
    return (f"{_MAINS_OUT} {_USB_OUT}", *reached, *deeds, *on)


def hold_point(key: str, title: str, steps: Sequence[str], release: str) -> Hold:
    """A hold point at which hands go to the wiring."""
    return Hold(key, f"Power off: {title}", tuple(steps), release, power=True, cautions=(HANDS,))


def hold_same_printer(request: Hold) -> Steps[HoldReleased]:
    """Hold with the power off, and ask nothing more of a printer that is another one afterwards.

    Raises:
        Interrupted: another printer answers.
    """
    return _same((yield from hold(request)))


def _same(released: HoldReleased) -> HoldReleased:
    if not released.same_identity:
        said = f"On {released.port} a printer answers that announces itself differently. Nothing more is asked of it."
        raise Interrupted(Interruption(InterruptionKind.OTHER_PRINTER, said))
    return released


def by_itself(request: Hold) -> Steps[HoldReleased]:
    """A hold point from the printer in use to the printer in use; broken off, an item says how it may be left.

    Raises:
        Interrupted: as it came, or another printer answers.
    """
    left = f"Broken off at the hold point '{request.title}': the printer may stand open, without mains or USB."
    cure = ("Go through its steps.", *request.steps)
    return _same((yield from put_together(hold(request), left, cure, request.key)))


def power_cycle(key: str, title: str = "Power off and on again") -> Steps[HoldReleased]:
    """Have the power taken away and given back, with nothing touched; say what of it was seen.

    Raises:
        Interrupted: another printer answers.
    """
    cycle = Hold(key, title, _CYCLE, "Is the printer on and USB plugged in?", power=True)
    released = yield from hold_same_printer(cycle)
    yield from say_seen(released)
    return released


def say_seen(released: HoldReleased) -> Steps[None]:
    """Say what of a power-off was seen."""
    yield Tell((released.power.sentence,), weight=Weight.NOTE if released.power.restart else Weight.CAUTION)


def put_together(
    steps: Steps[_T], left: str, cure: Sequence[str], settled_by: str, apart: Callable[[], bool] = lambda: True
) -> Steps[_T]:
    """Carry out steps that take the printer apart and put it together again; broken off, an item says how it was left.

    Args:
        steps: what is done.
        left: how the printer may be left.
        cure: the steps that put it together.
        settled_by: key of the hold point that does so, if the run goes on.
        apart: whether it may be apart at the moment.
    """
    try:
        return (yield from steps)
    except Interrupted:
        if apart():
            yield Punch(PunchClass.UNSAFE, left, " ".join(cure), settled_by)
        raise
