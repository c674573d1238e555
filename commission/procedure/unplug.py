"""The unplug test: what does the input read with the sensor unplugged, in as many power-ups as planned?

What reads unplugged as it read plugged in is doubted first: another plug may have been pulled. Where the cable has a
plug at the sensor too, a break at that end may be tried as well: only that shows a cable that holds the line by itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.failsafe import UnpluggedResult, far_end_sentence
from commission.judge.plan import Plan
from commission.judge.polarity import PREDICTIONS
from commission.judge.stability import unwanted_changes
from commission.procedure.by_hand import worked_by_hand
from commission.procedure.message import Punch, Tell, Weight
from commission.procedure.power import PLUG_BACK, End, around, hold_point, plug_in, same_printer, unplug
from commission.procedure.request import Choose, Confirm, Hold, Option, Watch
from commission.procedure.response import Interrupted
from commission.procedure.steps import Steps, choose, confirm, establish, watch
from commission.vocabulary import Presence, PunchClass, Reading, SwitchBehaviour

TRIES = 3
"""So often the right plug may be looked for before the test is given up."""
UNPLUG_STEPS = around(unplug(End.BOARD), mains_stays_out=True)
AGAIN_STEPS = around("Wait ten seconds. Leave the sensor unplugged.", opens=False, mains_stays_out=True)
FAR_END_STEPS = around(plug_in(End.BOARD), unplug(End.SENSOR), mains_stays_out=True)
RECONNECT_STEPS = around(f"{PLUG_BACK} Leave the filament as it is.")
CURE_PLUG = "Follow the cable from the sensor to the board, see that the input has its pull, and run the check again."
LEFT_UNPLUGGED = (
    "The unplug test was broken off: the sensor may still be unplugged, and the printer without mains or USB."
)
CURE_UNPLUGGED = (
    " ".join(RECONNECT_STEPS) + " See that the switch reads filament in and out before the printer is used."
)
RECONNECT = "unplug.reconnect"


_RECONNECT = hold_point(
    RECONNECT, "plug the sensor back in", RECONNECT_STEPS, "Is the sensor plugged in again and the printer on?"
)


@dataclass(frozen=True)
class Unplugged:
    """What was read with the sensor off.

    Attributes:
        at_board: one result per power-up with the plug out at the board.
        at_sensor: with the plug out at the sensor; None where that was not done.
    """

    at_board: tuple[UnpluggedResult, ...] = ()
    at_sensor: UnpluggedResult | None = None


def unplug_test(
    plan: Plan,
    switch: str,
    behaviour: SwitchBehaviour = SwitchBehaviour.UNDECIDED,
    presence: Presence | None = None,
) -> Steps[Unplugged]:
    """Unplug at the board, read in each planned power-up, at the sensor too where it has a plug, and plug back in.

    What breaks it off leaves a sensor unplugged and a printer without mains: that is said, and is an open item.

    Args:
        plan: how many power-ups, and how long each is read.
        switch: what is read.
        behaviour: how it read plugged in; with it a wrong plug is found out.
        presence: where the filament is; None where nobody knows.
    """
    try:
        return (yield from _powered_up(plan, switch, behaviour, presence))
    except Interrupted:
        yield Punch(PunchClass.UNSAFE, LEFT_UNPLUGGED, CURE_UNPLUGGED, settled_by=RECONNECT)
        raise


def _powered_up(plan: Plan, switch: str, behaviour: SwitchBehaviour, presence: Presence | None) -> Steps[Unplugged]:
    results: list[UnpluggedResult] = []
    follows = behaviour in (SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED)
    plugged = _plugged_in(behaviour, presence) if follows else None
    for power_up in range(1, plan.power_ups + 1):
        if power_up == 1:
            hold_off, title = _off(plan, 1, UNPLUG_STEPS), "Unplugged, power-up 1"
            first = yield from _surely_off(plan, switch, hold_off, "unplugged.1", title, plugged)
            if first is None:
                break
            results.append(first)
        else:
            yield from same_printer(_off(plan, power_up, AGAIN_STEPS))
            results.append((yield from _read(plan, switch, f"unplugged.{power_up}", f"Unplugged, power-up {power_up}")))
    far_end = (yield from _far_end(plan, switch, plugged, results)) if results else None
    yield from same_printer(_RECONNECT)
    return Unplugged(tuple(results), far_end)


def _plugged_in(behaviour: SwitchBehaviour, presence: Presence | None) -> Reading | None:
    """What the sensor reads plugged in; None where that is not known."""
    return None if presence is None else PREDICTIONS.get(behaviour, {}).get(presence)


def _surely_off(
    plan: Plan, switch: str, hold_off: Hold, key: str, title: str, plugged: Reading | None
) -> Steps[UnpluggedResult | None]:
    """Unplug and read; what reads as plugged in is doubted. None where the right plug was not found.

    Args:
        plan: how long it is read.
        switch: what is read.
        hold_off: the hold point at which it is unplugged.
        key: of the watch.
        title: of the watch.
        plugged: what the sensor reads plugged in; None where that never changed or is not known.
    """
    for _ in range(TRIES):
        yield from same_printer(hold_off)
        found = yield from _read(plan, switch, key, title)
        if plugged is None or found.steady is not plugged or not (yield from worked_by_hand(_follows(plan, switch))):
            return found
        said = (
            "The reading changes with the filament: the sensor is still plugged in (another plug was pulled, or none), "
            "or nothing holds the input. What was read does not count.",
        )
        yield Tell(said, heading="Not unplugged", weight=Weight.CAUTION)
    text = f"{title}: the reading went on changing, as a sensor's does that is plugged in. It is not judged."
    yield Punch(PunchClass.INCOMPLETE, text, CURE_PLUG)
    return None


def _follows(plan: Plan, switch: str) -> Steps[bool]:
    """Whether the reading still follows the filament, though the sensor should be unplugged."""
    taken = yield from watch(
        Watch(
            key="still_plugged",
            title="Is it the right plug?",
            lines=(
                "It reads as before. Move the filament past the switch, there and back, twice.",
                "Unplugged, the reading must not follow. At the end leave it as it was.",
            ),
            switch=switch,
            presence=None,
            seconds=2 * (plan.countdown_s + plan.dwell_s),
            readings=2 * plan.readings_per_dwell,
        )
    )
    return unwanted_changes([reading.reading for reading in taken.readings]) > 0


def _off(plan: Plan, power_up: int, steps: tuple[str, ...]) -> Hold:
    title = f"unplug the sensor (power-up {power_up} of {plan.power_ups})"
    return hold_point(
        f"unplug.{power_up}", title, steps, "Is the sensor unplugged at the board and USB plugged back in?"
    )


def _far_end(
    plan: Plan, switch: str, plugged: Reading | None, at_board: Sequence[UnpluggedResult]
) -> Steps[UnpluggedResult | None]:
    lines = (
        "With the plug pulled at the sensor the cable stays on the input: it shows whether the cable holds the line by "
        "itself, as one that is pinched or rubbed through does.",
        "It takes the power off once more. Say no where the cable cannot be unplugged at the sensor.",
    )
    if not (yield from confirm(Confirm("far_end.now", "Is there a plug at the sensor, to be pulled as well?", lines))):
        return None
    released = "Is it plugged in at the board, unplugged at the sensor, and USB back in?"
    hold_off = hold_point("far_end.hold", "unplug the sensor at its own end", FAR_END_STEPS, released)
    found = yield from _surely_off(plan, switch, hold_off, "far_end", "Unplugged at the sensor", plugged)
    if found is None:
        return None
    yield from establish("unplugged_at_sensor", far_end_sentence(found, at_board), reading=found.steady.value)
    return found


def read_start_up(plan: Plan, switch: str, presence: Presence | None, behaviour: SwitchBehaviour) -> Steps[None]:
    """Read the switch right after the power cycle, with the filament as it was left; once more after a second look."""
    if presence is None:
        presence = yield from _where(switch)
    expected = _plugged_in(behaviour, presence)
    found = yield from _started(plan, switch, presence)
    if expected is not None and found is not expected and (yield from _looked_again(switch, presence)):
        found = yield from _started(plan, switch, presence)
    said = f"After the power cycle, with filament {presence.value}, the switch reads "
    said += f"steadily {found.value}." if found is not Reading.UNKNOWN else "unsteadily."
    facts = {"presence": presence.value, "reading": found.value, "expected": expected.value if expected else None}
    yield from establish("start_up", said, **facts)
    if expected is not None and found is not expected:
        cure = (
            "See that the sensor is plugged in again, which pins decide how the board starts, and whether the pull is "
            "switched on that early."
        )
        yield Punch(PunchClass.INCOMPLETE, f"{said} Before it read {expected.value}.", cure)


def _where(switch: str) -> Steps[Presence]:
    options = (Option("in", "in"), Option("out", "out"))
    return Presence((yield from choose(Choose("start_up.where", "Where is the filament now?", options, watch=switch))))


def _looked_again(switch: str, presence: Presence) -> Steps[bool]:
    """Whether something was put right that has nothing to do with the start."""
    question = f"Is the sensor plugged in again, and the filament {presence.value}?"
    options = (
        Option("yes", "yes, both", "then it counts as it was read"),
        Option("now", "the filament was not, but is now", "it is read once more"),
        Option(
            "out", "the sensor is not plugged in", "the power is taken off to plug it in; then it is read once more"
        ),
    )
    lines = ("It does not read as before the power cycle.",)
    answer = yield from choose(Choose("start_up.as_before", question, options, lines, watch=switch))
    if answer == "out":
        yield from same_printer(_RECONNECT)
    return answer != "yes"


def _started(plan: Plan, switch: str, presence: Presence) -> Steps[Reading]:
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
    return known.pop() if len(known) == 1 else Reading.UNKNOWN


def _read(plan: Plan, switch: str, key: str, title: str) -> Steps[UnpluggedResult]:
    taken = yield from watch(
        Watch(
            key=key,
            title=title,
            lines=("Hands off. The input is read with the sensor unplugged.",),
            switch=switch,
            presence=None,
            seconds=plan.dwell_s,
            readings=plan.readings_per_dwell,
        )
    )
    return UnpluggedResult(tuple(reading.reading for reading in taken.readings))
