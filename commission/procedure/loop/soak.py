"""Phase: filament in, and the switch is read for hours with nobody there; every change is unwanted."""

from commission.asking.message import Punch, Tell
from commission.asking.phase import Phase, Voiding, carried_out
from commission.asking.response import Interrupted, InterruptionKind
from commission.asking.soak import Soak, SoakTaken
from commission.asking.steps import Steps, checked, establish
from commission.evidence.findings.soak import Shown, Soaked
from commission.judge.nuisance import length
from commission.judge.wording import counted
from commission.vocabulary import PunchClass, Reading, Verdict

SOAK = Phase("soak", "Soak: filament in, hands off", "the soak", frozenset({Voiding.FIRMWARE, Voiding.WIRING}))
LINES = (
    "Filament is in and stays in. Only questions are sent; nobody is needed.",
    "A key ends it (q): what was watched by then counts.",
)
CURE = "Look for noise, a loose plug or a worn switch; put it right, then run this again."
NOT_IN = "It read inactive most of the time: filament was not in, or it is misread. The soak is not judged."


def soak(request: Soak) -> Steps[Verdict]:
    """Carry it out and say what it shows; one that the operator ends is judged by what was watched.

    Raises:
        Interrupted: the link was lost, or the printer restarted or fell silent; what was read stands in the book.
    """
    titled = SOAK.titled(f"Soak: {length(request.seconds)} with filament in, hands off")
    return (yield from carried_out(titled, _soaked(request)))


def _soaked(request: Soak) -> Steps[Verdict]:
    taken = checked((yield request), SoakTaken, request)
    if taken.stopped:
        yield from _say_stopped()
    verdict = judged(taken, request.seconds)
    misread = Reading.INACTIVE if _reads_out(taken) else None
    yield from establish(
        Soaked(
            sentences=sentences(taken, request.seconds),
            switch=request.switch,
            shown=tuple(map(Shown.of, taken.bounds)),
            planned_s=request.seconds,
            taken_s=taken.seconds,
            stopped=taken.stopped,
            verdict=verdict,
            misread=misread,
        )
    )
    if verdict is Verdict.FAIL:
        yield Punch(PunchClass.INCOMPLETE, f"Soak: {counted(_changes(taken), 'unwanted change')}.", CURE)
    return verdict


def judged(taken: SoakTaken, planned_s: float) -> Verdict:
    """A change fails it; a clean one passes when it was watched as long as planned, with filament in."""
    if _changes(taken):
        return Verdict.FAIL
    if not taken.exposure_s > 0 or _reads_out(taken):
        return Verdict.NOT_JUDGED
    return Verdict.PASS if taken.exposure_s >= planned_s - 1e-6 else Verdict.CONDITIONAL


def sentences(taken: SoakTaken, planned_s: float) -> tuple[str, ...]:
    """What it came to, for a person."""
    if not taken.exposure_s > 0:
        return (f"Nothing was watched in {length(taken.seconds)}: too little could be read.",)
    said = [bound.sentence for bound in taken.bounds]
    if taken.exposure_s < planned_s - 1e-6:
        ended = "It was ended before its time" if taken.stopped else "Time without readings does not count"
        said.append(f"{ended}: {length(taken.exposure_s)} of {length(planned_s)} were watched.")
    widths = [each.shortest_glitch_s for each in taken.stretches if each.shortest_glitch_s is not None]
    said.append(f"A change shorter than {1000 * max(widths):.0f} ms was seen with less than 95 % probability.")
    slowed = dict.fromkeys(each.slowed for each in taken.stretches if each.slowed is not None)
    said += [f"After a change: {why.sentence}" for why in slowed]
    return (*said, *([NOT_IN] if _reads_out(taken) else []))


def _changes(taken: SoakTaken) -> int:
    return sum(len(stretch.changes) for stretch in taken.stretches)


def _reads_out(taken: SoakTaken) -> bool:
    counts = dict.fromkeys(Reading, 0)
    for stretch in taken.stretches:
        for each in stretch.repeated:
            counts[each.reading] += each.count
    return counts[Reading.INACTIVE] > counts[Reading.ACTIVE]


def _say_stopped() -> Steps[None]:
    """The stop is told to the run here, and ends nothing any more: the soak was ended by it."""
    try:
        yield Tell(("The soak is ended here; what was watched counts.",))
    except Interrupted as broken:
        if broken.interruption.kind is not InterruptionKind.OPERATOR_STOP:
            raise
