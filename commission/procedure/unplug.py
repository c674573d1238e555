"""The unplug test: what does the input read with the sensor unplugged, in as many power-ups as planned?"""

from commission.judge.failsafe import UnpluggedResult
from commission.judge.plan import Plan
from commission.judge.polarity import PREDICTIONS
from commission.procedure.message import Punch
from commission.procedure.request import Hold, Watch
from commission.procedure.response import Interrupted, Interruption, InterruptionKind
from commission.procedure.steps import Steps, establish, hold, watch
from commission.vocabulary import Presence, PunchClass, Reading, SwitchBehaviour

UNPLUG_STEPS = (
    "Switch the printer off and pull its mains plug.",
    "Pull the USB cable.",
    "Let the parts near the sensor cool before you reach in.",
    "Unplug the sensor at the main board, at the plug you noted. Touch the frame first.",
    "Close the cover, or leave the mains plug out.",
    "Plug only the USB cable back in.",
)
AGAIN_STEPS = (
    "Pull the USB cable and wait ten seconds.",
    "Leave the sensor unplugged.",
    "Plug the USB cable back in.",
)
RECONNECT_STEPS = (
    "Pull the USB cable; the mains plug is still out.",
    "Plug the sensor back in at the main board. Leave the filament as it is.",
    "Close the cover.",
    "Plug the mains and the USB cable in and switch the printer on.",
)
CAUTION = "Hands go to the connector only with mains and USB both out."


def unplug_test(plan: Plan, switch: str) -> Steps[tuple[UnpluggedResult, ...]]:
    """Unplug at the board, read in each planned power-up, plug back in."""
    results = []
    for power_up in range(1, plan.power_ups + 1):
        yield from same_printer(
            Hold(
                key=f"unplug.{power_up}",
                title=f"Power off: unplug the sensor (power-up {power_up} of {plan.power_ups})",
                steps=UNPLUG_STEPS if power_up == 1 else AGAIN_STEPS,
                release="Is the sensor unplugged at the board and USB plugged back in?",
                power=True,
                cautions=(CAUTION,),
            )
        )
        results.append((yield from _read(plan, switch, power_up)))
    yield from same_printer(
        Hold(
            key="unplug.reconnect",
            title="Power off: plug the sensor back in",
            steps=RECONNECT_STEPS,
            release="Is the sensor plugged in again and the printer on?",
            power=True,
            cautions=(CAUTION,),
        )
    )
    return tuple(results)


def read_start_up(plan: Plan, switch: str, presence: Presence, behaviour: SwitchBehaviour) -> Steps[None]:
    """Read the switch right after the power cycle, with the filament as it was left."""
    taken = yield from watch(
        Watch(
            key="start_up",
            title="After the power cycle",
            lines=(f"Hands off. The filament is {presence.value} still; what does the input read at start-up?",),
            switch=switch,
            presence=presence,
            seconds=plan.dwell_s,
            readings=plan.readings_per_dwell,
        )
    )
    known = {reading.reading for reading in taken.readings} - {Reading.UNKNOWN}
    steady = known.pop() if len(known) == 1 else Reading.UNKNOWN
    expected = PREDICTIONS[behaviour][presence] if behaviour in PREDICTIONS else None
    said = f"After the power cycle, with filament {presence.value}, the switch reads "
    said += f"steadily {steady.value}." if steady is not Reading.UNKNOWN else "unsteadily."
    facts = {"presence": presence.value, "reading": steady.value, "expected": expected.value if expected else None}
    yield from establish("start_up", said, **facts)
    if expected is not None and steady is not expected:
        cure = "See which pins decide how the board starts, and whether the pull is switched on that early."
        yield Punch(PunchClass.INCOMPLETE, f"{said} Before it read {expected.value}.", cure)


def same_printer(request: Hold) -> Steps[None]:
    """Hold with the power off, and ask nothing more of a printer that is another one afterwards."""
    released = yield from hold(request)
    if not released.same_identity:
        said = f"On {released.port} a printer answers that announces itself differently. Nothing more is asked of it."
        raise Interrupted(Interruption(InterruptionKind.OTHER_PRINTER, said))


def _read(plan: Plan, switch: str, power_up: int) -> Steps[UnpluggedResult]:
    taken = yield from watch(
        Watch(
            key=f"unplugged.{power_up}",
            title=f"Unplugged, power-up {power_up}",
            lines=("Hands off. The input is read with the sensor unplugged.",),
            switch=switch,
            presence=None,
            seconds=plan.dwell_s,
            readings=plan.readings_per_dwell,
        )
    )
    return UnpluggedResult(tuple(reading.reading for reading in taken.readings))
