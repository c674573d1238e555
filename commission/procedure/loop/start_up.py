"""What the switch reads right after the power came back, with the sensor plugged in and the filament in again."""

from commission.asking.message import Punch
from commission.asking.power import hold_same_printer
from commission.asking.request import Choose, Option, Watch
from commission.asking.steps import Steps, choose, establish, watch
from commission.evidence.findings import loop
from commission.evidence.findings.loop import watch_values
from commission.judge.evidence import StartUp
from commission.judge.exposure import Watched, watched
from commission.judge.plan import Plan
from commission.judge.polarity import PREDICTIONS
from commission.judge.power import PowerSeen
from commission.procedure.loop.unplug import PLUG_BACK_IN
from commission.vocabulary import Presence, PunchClass, Reading, SwitchBehaviour

KEY = "start_up"
PRESENCE = Presence.IN
"""Where the filament is put while the power is off: in, a sensor that was not plugged in again shows."""
CURE = (
    "See that the sensor is plugged in again, which pins decide how the board starts, and whether the pull is switched "
    "on that early."
)
UNSEEN = "That the printer began anew before it was not seen: it rests on the operator's word."
CURE_UNSEEN = "Run this again, and take mains and USB both away for ten seconds when the steps say so."
CURE_UNREAD = "Run this again once the printer's answers can be read."


def read_start_up(plan: Plan, switch: str, behaviour: SwitchBehaviour, power: PowerSeen) -> Steps[StartUp]:
    """Read the switch right after the power cycle; once more after a second look.

    Args:
        plan: how long it is read.
        switch: what is read.
        behaviour: how it read before; without a polarity nothing is expected.
        power: how far the power-off before it was seen; unseen, it is read on the operator's word.
    """
    expected = PREDICTIONS.get(behaviour, {}).get(PRESENCE)
    seen, found = yield from _started(plan, switch)
    again = seen.complete and expected not in (None, found)
    looked = (yield from _looked_again(switch, power)) if again else None
    if looked is not None:
        power = looked
        seen, found = yield from _started(plan, switch)
    said = _sentence(seen, found) + ("" if power.restart else f" {UNSEEN}")
    counts = watch_values(seen)
    yield from establish(loop.StartUp(sentences=(said,), presence=PRESENCE, reading=found, expected=expected, **counts))
    if not seen.complete:
        yield Punch(PunchClass.INCOMPLETE, said, CURE_UNREAD)
    elif expected is not None and found is not expected:
        yield Punch(PunchClass.INCOMPLETE, f"{said} Before it read {expected.value}.", CURE)
    elif not power.restart:
        yield Punch(PunchClass.INCOMPLETE, said, CURE_UNSEEN)
    return StartUp(seen, None if expected is None else found is expected, said, power.restart)


def _sentence(seen: Watched, found: Reading) -> str:
    said = f"After the power cycle, with filament {PRESENCE.value},"
    if not seen.complete:
        return f"{said} too little could be read. {seen.sentences()[0]}"
    return f"{said} the switch reads " + ("unsteadily." if found is Reading.UNKNOWN else f"steadily {found.value}.")


def _looked_again(switch: str, power: PowerSeen) -> Steps[PowerSeen | None]:
    """How far the power-off was seen after which it is read once more; None where it counts as it was read."""
    question = f"Is the sensor plugged in again, and the filament {PRESENCE.value}?"
    options = (
        Option("yes", "yes, both", "then it counts as it was read"),
        Option("now", "not before, but the filament is in now", "it is read once more"),
        Option(
            "out", "the sensor is not plugged in", "the power is taken off to plug it in; then it is read once more"
        ),
    )
    lines = ("It does not read as before the power cycle.",)
    answer = yield from choose(Choose("start_up.as_before", question, options, lines, watch=switch))
    if answer == "out":
        return (yield from hold_same_printer(PLUG_BACK_IN)).power
    return None if answer == "yes" else power


def _started(plan: Plan, switch: str) -> Steps[tuple[Watched, Reading]]:
    """What was watched, and the one reading that was seen throughout; unknown where there was more than one."""
    taken = yield from watch(
        Watch(
            key=KEY,
            title="After the power cycle",
            lines=(f"Hands off. The filament is {PRESENCE.value}; what does the input read at start-up?",),
            switch=switch,
            presence=PRESENCE,
            seconds=plan.rest_s,
            readings=plan.readings_per_dwell,
            interval_s=plan.rest_beat_s,
        )
    )
    known = {reading.reading for reading in taken.readings} - {Reading.UNKNOWN}
    return watched(taken.readings, plan.rest_s), known.pop() if len(known) == 1 else Reading.UNKNOWN
