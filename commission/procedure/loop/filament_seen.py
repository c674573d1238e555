"""Is the filament where it was declared? Looked at before a wiggle counts, and asked where readings differ.

A wiggle tells of connections only while filament is in. Readings that stay *out* throughout say one of two things: the
filament was not there, or the switch misreads it. Which of them only the operator knows, and neither of them is a
connection that lets go.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from commission.asking.leave_out import leave_out, said_left_out
from commission.asking.message import Tell, Weight
from commission.asking.request import Choose, Confirm, Option, Watch
from commission.asking.response import TimedReading, WatchTaken
from commission.asking.steps import Steps, choose, confirm, establish, watch
from commission.evidence.findings.loop import Misread, SetAside, WatchLeftOut
from commission.judge.plan import Plan
from commission.vocabulary import Presence, Reading

TRIES = 3
"""So often the filament may be put in again before a wiggle is left out."""
LAST_READINGS, LAST_S = 5, 0.4
"""The end of a wiggle: so many readings and so long, whichever is more. Longer than any bounce, shorter than a hand."""


class Standing(Enum):
    """What is to become of a wiggle."""

    COUNTS = "it counts"
    AGAIN = "the filament was out: it does not count and is done again"
    LEFT_OUT = "it is left out"


@dataclass(frozen=True)
class WiggleKind:
    """One of the wiggles.

    Attributes:
        name: begins the keys of its questions.
        set_aside, left_out: the findings by which its watch taken just before them does not count.
        misread: the finding by which it was not done.
    """

    name: str
    set_aside: type[SetAside]
    misread: type[Misread]
    left_out: type[WatchLeftOut]


@dataclass(frozen=True)
class Looked:
    """What came of the look before.

    Attributes:
        go: whether the wiggle may begin: with filament in the switch reads in.
        misread: the readings, where the operator says that the filament was in and the switch read out.
    """

    go: bool
    misread: WatchTaken | None = None


def steadily_out(readings: Sequence[TimedReading]) -> bool:
    """Whether every reading that could be understood says out, with filament in."""
    known = _known(readings)
    return bool(known) and set(known) == {Reading.INACTIVE}


def ends_out(readings: Sequence[TimedReading]) -> bool:
    """Whether the last readings all say out: it did not come back, as a connection that lets go for a moment does."""
    known = [each for each in readings if each.reading is not Reading.UNKNOWN]
    if len(known) < LAST_READINGS:
        return False
    since_s = min(known[-LAST_READINGS].at_s, known[-1].at_s - LAST_S)
    return {each.reading for each in known if each.at_s >= since_s} == {Reading.INACTIVE}


def look_first(plan: Plan, switch: str, kind: WiggleKind) -> Steps[Looked]:
    """Read the switch before a wiggle begins, and have the filament put in where it reads out.

    Args:
        plan: how long a look is.
        switch: what is read.
        kind: of the wiggle.
    """
    for left in reversed(range(TRIES)):
        looked = yield from watch(_look(plan, switch, kind.name))
        if not ends_out(looked.readings):
            return Looked(go=True)
        answer = yield from _where(switch, kind.name, again=left > 0)
        if answer == "in":
            said = "With filament in the switch reads out, steadily: it misreads. The wiggle is not done."
            yield from establish(kind.misread(sentences=(said,), readings=len(looked.readings)))
            return Looked(go=False, misread=looked)
        if answer == "leave":
            break
        yield from _put_in(switch, kind.name)
    yield from _left_out(kind)
    return Looked(go=False)


def stands(readings: Sequence[TimedReading], switch: str, kind: WiggleKind, *, again: bool) -> Steps[Standing]:
    """Whether a wiggle that ended on out counts: the operator says where the filament was.

    Args:
        readings: of the wiggle.
        switch: what was read.
        kind: of the wiggle.
        again: whether it may be done once more.
    """
    if not ends_out(readings):
        return Standing.COUNTS
    seen = "all the time" if steadily_out(readings) else "at the end, and it did not come back"
    options = [Option("in", "in, all the time", "then it counts: the switch, a wire or a plug let go for good")]
    if again:
        options.append(Option("out", "it was out or slipped out", "then this wiggle does not count and is done again"))
    options.append(Option("leave", "leave the wiggle out", "you say why"))
    question = f"It read out {seen}. Where was the filament?"
    answer = yield from choose(Choose(f"{kind.name}.where", question, tuple(options), watch=switch))
    if answer == "in":
        return Standing.COUNTS
    if answer == "leave":
        yield from _left_out(kind)
        return Standing.LEFT_OUT
    said = f"A wiggle does not count: the filament was out ({len(readings)} readings). It is done again."
    yield from establish(kind.set_aside(sentences=(said,), readings=len(readings)))
    yield from _put_in(switch, kind.name)
    return Standing.AGAIN


def _look(plan: Plan, switch: str, name: str) -> Watch:
    return Watch(
        key=f"{name}.before",
        title="Before moving anything: does it read in?",
        lines=("Keep still. With filament in it must read in before anything is moved.",),
        switch=switch,
        presence=Presence.IN,
        seconds=plan.rest_s,
        readings=plan.readings_per_dwell,
    )


def _put_in(switch: str, name: str) -> Steps[None]:
    while not (yield from confirm(Confirm(f"{name}.put_in", "Is the filament in now?", watch=switch))):
        yield Tell(("Push it past the switch until the reading changes, or as far as it goes; then say yes.",))


def _where(switch: str, name: str, *, again: bool) -> Steps[str]:
    yield Tell(
        (
            "The switch reads out, steadily, and filament was to be in. Begun like this a wiggle would say nothing "
            "about cable and plugs.",
        ),
        weight=Weight.NOTE,
    )
    options = [
        Option("in", "is still in, and was", "then the switch misreads: that counts, and the wiggle is not done")
    ]
    if again:
        options.insert(0, Option("again", "it was out", "put it in; then it is looked at again"))
    options.append(Option("leave", "leave the wiggle out", "you say why"))
    return (yield from choose(Choose(f"{name}.presence", "Where is the filament?", tuple(options), watch=switch)))


def _left_out(kind: WiggleKind) -> Steps[None]:
    def left_out(reason: str) -> WatchLeftOut:
        return kind.left_out(sentences=(said_left_out("the wiggle", reason),), reason=reason)

    yield from leave_out("the wiggle", f"{kind.name}.reason", left_out, needed=True)


def _known(readings: Sequence[TimedReading]) -> list[Reading]:
    return [reading.reading for reading in readings if reading.reading is not Reading.UNKNOWN]
