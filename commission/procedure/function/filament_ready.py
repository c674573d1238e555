"""Before a runout is provoked: is filament in, and can it be pulled? And afterwards: what held it?

A cold drive gear that is closed holds the filament: what is pushed against it grinds, and what is pulled stays in.
"""

from commission.asking.message import Tell, Weight
from commission.asking.moving import Listen
from commission.asking.request import Confirm
from commission.asking.steps import Steps, ask, confirm, listen
from commission.dialect.commands import SWITCHES
from commission.dialect.switches import switches_of
from commission.procedure.function.plan import FunctionPlan
from commission.units import millimetres as mm
from commission.vocabulary import Reading

LOOKS, BETWEEN_LOOKS_S = 3, 0.5
"""A yes may come while the filament is still on its way."""
WAITED_LOOKS = 60
"""So often it is looked whether the filament has been pulled out, before that is asked."""
CLEAR_S = 3.0
"""Time to take the hands away where moves begin without a question."""
NO_CHANGE = "The switch did not change in time"
HELD = f"{NO_CHANGE}: the drive gear held the filament. Nothing was provoked."
FREE = f"{NO_CHANGE}, although the filament was free: nothing was provoked."
LET_GO = "Open the drive, or pull the filament back out of the gear. Then push it in only until the switch reads in."
PULL_FURTHER = "When the screen says so, pull the filament right out, past the switch."


def filament_ready(plan: FunctionPlan, switch: str, *, asks: bool = False) -> Steps[None]:
    """Have filament in the sensor; a yes against the reading is asked again, and the plan may go by the reading alone.

    Args:
        plan: whether the drive gear is cold, and how far away it is.
        switch: the one that is read.
        asks: nothing was provoked before, so that the reading alone is not taken for it.
    """
    if plan.hot and plan.goes_on_by_reading and not asks and (yield from _reads(switch, Reading.ACTIVE)):
        yield Tell(
            (f"The switch reads in: the moves go on in {CLEAR_S:g} s. Keep clear; the screen says when to cut.",)
        )
        yield from listen(Listen(CLEAR_S, frozenset(), "keep clear"))
        return
    ready = Confirm("pause.ready", "Is filament in the sensor, and are you ready?", free_to_pull(plan), watch=switch)
    while not (yield from confirm(ready)) or not (yield from _reads_in_or_sure(switch)):
        yield Tell(("The moves begin when you say yes; Ctrl-C ends the run.",))


def free_to_pull(plan: FunctionPlan) -> tuple[str, ...]:
    """What keeps the filament free in a cold test; nothing where it is cut and drawn through."""
    if plan.hot:
        return ()
    to_gear = plan.trip_to_gear_mm
    no_further = "only until the switch reads in" if to_gear is None else f"less than {mm(to_gear)} past the trip point"
    return (
        f"The gear is cold: open the drive, or push the filament in {no_further}. A closed gear holds what you pull.",
    )


def _reads_in_or_sure(switch: str) -> Steps[bool]:
    """Whether it reads in; where it reads out the operator says so once more, for the switch may misread."""
    for _ in range(LOOKS):
        if (yield from _read(switch)) is not Reading.INACTIVE:
            return True
        yield from listen(Listen(BETWEEN_LOOKS_S, frozenset()))
    lines = ("Push it past the switch, then say no. A yes says that filament is in and the switch misreads it.",)
    sure = Confirm("pause.surely_in", "The switch reads out. Is filament in it all the same?", lines, watch=switch)
    return (yield from confirm(sure))


def filament_out(switch: str) -> Steps[None]:
    """Have the filament pulled out: the reading goes from in to out, and where it does not, the operator says so."""
    lines = ("Pull the filament out of the sensor, and leave it out.",)
    yield Tell((*lines, f"It begins by itself {CLEAR_S:g} s after the switch reads out: hands off by then."))
    came_out = False
    for _ in range(WAITED_LOOKS):
        came_out = came_out or (yield from _read(switch)) is Reading.ACTIVE
        if came_out and (yield from _reads(switch, Reading.INACTIVE)):
            yield from listen(Listen(CLEAR_S, frozenset(), "hands off"))
            return
        yield from listen(Listen(BETWEEN_LOOKS_S, frozenset()))
    while not (
        yield from confirm(Confirm("function.empty", "Is the filament out of the sensor?", lines, watch=switch))
    ):
        pass


def _reads(switch: str, reading: Reading) -> Steps[bool]:
    """Whether it reads so each time it is looked at."""
    for look in range(LOOKS):
        if look:
            yield from listen(Listen(BETWEEN_LOOKS_S, frozenset()))
        if (yield from _read(switch)) is not reading:
            return False
    return True


def _read(switch: str) -> Steps[Reading]:
    states = switches_of((yield from ask(SWITCHES)).lines)
    return next((state.reading for state in states if state.name == switch), Reading.UNKNOWN)


def why_no_change(plan: FunctionPlan) -> Steps[str]:
    """Why a runout was not provoked, in one sentence; what to do about it is told."""
    if plan.hot:
        return f"{NO_CHANGE}: nothing was provoked."
    held = yield from confirm(Confirm("pause.gear_held", f"{NO_CHANGE}. Did the drive gear hold the filament?"))
    yield Tell((LET_GO if held else PULL_FURTHER,), weight=Weight.STEP)
    return HELD if held else FREE
