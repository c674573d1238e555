"""The wiggle by hand: cable and plugs are worked with filament in, motors held still, and the reading must stay."""

from commission.asking.message import Tell
from commission.asking.request import AS_FAST_AS_IT_GOES, Confirm, Watch
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, confirm, establish, watch
from commission.evidence.findings import loop
from commission.evidence.findings.loop import watch_values
from commission.judge.evidence import wiggled
from commission.judge.plan import Plan
from commission.judge.wording import counted
from commission.procedure.loop.filament_seen import TRIES, Standing, WiggleKind, look_first, stands, steadily_out
from commission.vocabulary import Presence

NAME = "wiggle"
KIND = WiggleKind(NAME, loop.WiggleSetAside, loop.WiggleMisread, loop.WiggleLeftOut)
LEAD_S = 3.0
"""Time to get both hands to the cable after the answer was typed."""
LINES = (
    "Insert the filament and leave it in.",
    "Then work on the cable by hand while the tool reads: bend it at the sensor, along its way and where it goes into "
    "the printer, tug gently, tap the sensor. The cover stays closed and the motors off; keep hands away from heaters "
    "and gears.",
)


def wiggle_by_hand(plan: Plan, switch: str) -> Steps[WatchTaken | None]:
    """Watch the reading while the operator works on cable and plugs.

    Returns:
        What was read; only the look beforehand where the switch misreads filament that is in; None when left out.
    """
    while not (
        yield from confirm(Confirm("wiggle.ready", "Is the filament in and are you ready?", LINES, watch=switch))
    ):
        yield Tell(("The wiggle begins when you say yes; Ctrl-C ends the run.",))
    for left in reversed(range(TRIES)):
        looked = yield from look_first(plan, switch, KIND)
        if not looked.go:
            return looked.misread
        taken = yield from watch(_request(plan, switch))
        standing = yield from stands(taken.readings, switch, KIND, again=left > 0)
        if standing is Standing.LEFT_OUT:
            return None
        if standing is Standing.COUNTS:
            yield from _found(plan, taken)
            return taken
    return None


def _request(plan: Plan, switch: str) -> Watch:
    return Watch(
        key=NAME,
        title="Wiggle: bend and tap cable and sensor",
        lines=("Every change of the reading counts now.",),
        switch=switch,
        presence=Presence.IN,
        seconds=plan.wiggle_s,
        readings=plan.wiggle_readings,
        interval_s=AS_FAST_AS_IT_GOES,
        lead_s=LEAD_S,
    )


def _found(plan: Plan, taken: WatchTaken) -> Steps[None]:
    found = wiggled(taken.readings, plan.wiggle_s)
    said = [
        f"{counted(found.watched.readings, 'reading')} with filament in, while the cable was worked by hand.",
        *found.watched.sentences(plan.confidence),
    ]
    if steadily_out(taken.readings):
        said.insert(1, "It read out steadily all the time, with filament in: that is a misread, no loose connection.")
    counts = watch_values(found.watched)
    clean = found.watched.complete and not (found.misreads or found.watched.changes)
    briefly = found.watched.sentences(plan.confidence)[:1] if clean else ()
    yield from establish(loop.Wiggle(sentences=tuple(said), misreads=found.misreads, **counts), briefly)
