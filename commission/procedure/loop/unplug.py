"""The unplug test: what does the input read with the sensor unplugged, in as many power-ups as planned?

Where the cable has a plug at the sensor too, a break at that end may be tried as well: only that shows a cable that
holds the line by itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.asking.message import Punch
from commission.asking.power import PLUG_BACK, End, around, hold_point, hold_same_printer, plug_in, unplug
from commission.asking.request import Confirm
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings.loop import UnpluggedAtBoard, UnpluggedAtSensor
from commission.judge.evidence import PullResult
from commission.judge.failsafe import UnpluggedResult, far_end_sentence
from commission.judge.plan import Plan
from commission.judge.power import PowerSeen
from commission.procedure.loop.pull_proof import proven_pull
from commission.procedure.loop.unplugged_reading import Unplugging, surely_unplugged
from commission.vocabulary import PunchClass, Reading

UNPLUG_STEPS = around(unplug(End.BOARD), mains_stays_out=True)
AGAIN_STEPS = around("Wait ten seconds. Leave the sensor unplugged.", opens=False, mains_stays_out=True)
LEADS_OFF = "Take the test leads off the header, if they are on it."
FAR_END_STEPS = around(LEADS_OFF, plug_in(End.BOARD), unplug(End.SENSOR), mains_stays_out=True)
FAR_END_AGAIN_STEPS = around(unplug(End.SENSOR), mains_stays_out=True)
RECONNECT_STEPS = around(LEADS_OFF, f"{PLUG_BACK} Push the filament in.")
LEFT_UNPLUGGED = (
    "The unplug test was broken off: the sensor may still be unplugged, and the printer without mains or USB."
)
CURE_UNPLUGGED = (
    " ".join(RECONNECT_STEPS) + " See that the switch reads filament in and out before the printer is used."
)
RECONNECT = "unplug.reconnect"
PLUG_BACK_IN = hold_point(
    RECONNECT, "plug the sensor back in", RECONNECT_STEPS, "Is the sensor plugged in again and the printer on?"
)


@dataclass(frozen=True)
class UnplugResult:
    """What was read with the sensor off.

    Attributes:
        at_board: one result per power-up with the plug out at the board.
        at_sensor: with the plug out at the sensor; None where that was not done.
        pull: what the proof of the pull came to; None where it was left out.
        back: how far the power-off was seen at which it was plugged in again.
    """

    at_board: tuple[UnpluggedResult, ...] = ()
    at_sensor: UnpluggedResult | None = None
    back: PowerSeen = PowerSeen.WORD
    pull: PullResult | None = None


def unplug_test(plan: Plan, switch: str) -> Steps[UnplugResult]:
    """Unplug at the board, read in each planned power-up, at the sensor too where it has a plug, and plug back in.

    The filament is put in before it is plugged in again. What breaks the test off leaves a sensor unplugged and a
    printer without mains: that is said, and is an open item.

    Args:
        plan: how many power-ups, and how long each is read.
        switch: what is read.
    """
    try:
        return (yield from _powered_up(plan, switch))
    except Interrupted:
        yield Punch(PunchClass.UNSAFE, LEFT_UNPLUGGED, CURE_UNPLUGGED, settled_by=RECONNECT)
        raise


def _powered_up(plan: Plan, switch: str) -> Steps[UnplugResult]:
    results: list[UnpluggedResult] = []
    for power_up in range(1, plan.power_ups + 1):
        found = yield from surely_unplugged(plan, switch, _at_board(plan, power_up))
        if found is None:
            break
        results.append(found)
        yield from _keep(results)
    pull = (yield from proven_pull(plan, switch)) if _rests_at_out(plan, results) else None
    far_end = (yield from _far_end(plan, switch, results)) if results else None
    released = yield from hold_same_printer(PLUG_BACK_IN)
    return UnplugResult(tuple(results), far_end, released.power, pull)


def _rests_at_out(plan: Plan, results: Sequence[UnpluggedResult]) -> bool:
    """Whether there is a pull to be proven: one that rests otherwise has failed already."""
    return len(results) == plan.power_ups and all(
        result.read and result.steady is Reading.INACTIVE for result in results
    )


def _at_board(plan: Plan, power_up: int) -> Unplugging:
    title = f"unplug the sensor (power-up {power_up} of {plan.power_ups})"
    steps = UNPLUG_STEPS if power_up == 1 else AGAIN_STEPS
    released = "Is the sensor unplugged at the board and USB plugged back in?"
    request = hold_point(f"unplug.{power_up}", title, steps, released)
    return Unplugging(request, UNPLUG_STEPS, f"unplugged.{power_up}", f"Unplugged, power-up {power_up}")


def _keep(results: Sequence[UnpluggedResult]) -> Steps[None]:
    """Record what stands so far: the newest of these findings holds all power-ups that count."""
    newest = results[-1]
    reads = {True: f"read {newest.steady.value} throughout", False: "could not be read for long enough"}[newest.read]
    said = f"Unplugged, power-up {len(results)}: the input {reads}, through all moves of the filament."
    yield from establish(
        UnpluggedAtBoard(
            sentences=(said,),
            readings=tuple(each.steady for each in results),
            power=tuple(each.power for each in results),
            watched=tuple(each.watched for each in results),
        )
    )


def _far_end(plan: Plan, switch: str, at_board: Sequence[UnpluggedResult]) -> Steps[UnpluggedResult | None]:
    lines = (
        "With the plug pulled at the sensor the cable stays on the input: it shows whether the cable holds the line by "
        "itself, as one that is pinched or rubbed through does.",
        "It takes the power off once more. Say no where the cable cannot be unplugged at the sensor.",
    )
    if not (yield from confirm(Confirm("far_end.now", "Is there a plug at the sensor, to be pulled as well?", lines))):
        return None
    released = "Is it plugged in at the board, unplugged at the sensor, and USB back in?"
    request = hold_point("far_end.hold", "unplug the sensor at its own end", FAR_END_STEPS, released)
    unplugging = Unplugging(request, FAR_END_AGAIN_STEPS, "far_end", "Unplugged at the sensor")
    found = yield from surely_unplugged(plan, switch, unplugging)
    if found is None:
        return None
    said = far_end_sentence(found, at_board)
    yield from establish(UnpluggedAtSensor(sentences=(said,), reading=found.steady))
    return found
