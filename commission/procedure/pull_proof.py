"""Part of the unplug test: is the input held by a pull, or does it only happen to rest at out?

Reading alone cannot tell. Two leads are clipped to the free header with the power off and led out of the housing;
outside 1 kilohm must change the reading, else nothing was fitted, and 220 kilohm must not. Or a meter shows the current
through 1 kilohm. It may be left out, and then the check is no full pass.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.drawing.pull_proof import PullProofPicture, pull_proof_text
from commission.evidence.findings.loop import PullProof as PullProofFound
from commission.evidence.findings.loop import PullProofBy
from commission.judge.evidence import PullResult
from commission.judge.plan import Plan
from commission.procedure.message import Tell, Weight
from commission.procedure.power import HANDS, around, hold_point, same_printer
from commission.procedure.request import Choose, Enter, EntryKind, Hold, Option, Watch
from commission.procedure.steps import Steps, choose, enter, establish, watch
from commission.procedure.wiring import declared_before
from commission.vocabulary import Pull, PullConclusion, Reading
from commission.wiring.installation import Installation, WiringError
from commission.wiring.pull_proof import SAFETY, PullFinding, PullProof, pull_proof

TRIES = 3
"""So often the leads are looked for again where nothing was fitted."""
CLIPS = "pull.clips"
FREE, SMALL, LARGE, SMALL_AGAIN = "pull.free", "pull.small", "pull.large", "pull.small_again"
SMALL_R, LARGE_R = "1 kΩ", "220 kΩ"
APART = "Lead their free ends out of the housing, apart."
THIRD = "Clip a third lead to the header's ground and lead it out as well, for the meter."
WHY = (
    "An input that nothing holds can rest at out by chance, today or for years: reading alone cannot tell it from a "
    "sound one.",
    "It takes the power off once more, two test leads, and either two resistors or a meter that reads µA.",
    "A sound pull above about 90 kΩ gives way to 220 kΩ too: where one was fitted, use the meter.",
)
OPTIONS = (
    Option("resistors", "by 1 kΩ and 220 kΩ", "1 kΩ must change the reading, 220 kΩ must not"),
    Option("meter", "by a meter that reads µA, and 1 kΩ", "a sound pull-up gives at least 15 µA"),
    Option("left_out", "not now", "then the check is at best a conditional pass"),
)
NOT_KNOWN = "The pull is not proven: how the input is wired is not on record."
LEFT_OUT = "The pull is not proven: it was left out."
NOT_MEASURED = "The pull is not proven: the supply that the resistor would go to was not measured."


@dataclass(frozen=True)
class _Readings:
    """What was read with nothing fitted, and with each resistor."""

    free: tuple[Reading, ...]
    small: tuple[Reading, ...]
    large: tuple[Reading, ...]
    again: tuple[Reading, ...]


def proven_pull(plan: Plan, switch: str) -> Steps[PullResult | None]:
    """Offer the proof with the sensor unplugged at the board, carry it out, and put it into the record.

    Args:
        plan: how long each reading takes.
        switch: what is read.

    Returns:
        What it came to; None where it was left out.
    """
    proof, installation, why = yield from _provable()
    if proof is None or installation is None:
        return (yield from _left_out(why))
    how = yield from choose(
        Choose("pull.how", "Prove now that something holds the unplugged input?", OPTIONS, (*WHY, *_drawn(proof)))
    )
    if how == "left_out":
        return (yield from _left_out(LEFT_OUT))
    for _ in range(TRIES):
        yield from same_printer(_clips(proof))
        if proof.pull is Pull.DOWN and (refused := (yield from _supply_refused(installation))):
            return (yield from _left_out(refused))
        found = yield from (_by_meter(proof) if how == "meter" else _by_resistors(proof, plan, switch))
        if found.conclusion is not PullConclusion.NOT_FITTED:
            break
        yield Tell((found.sentence,), heading="Nothing was fitted", weight=Weight.CAUTION)
    return PullResult(found.conclusion, found.sentence)


def _provable() -> Steps[tuple[PullProof | None, Installation | None, str]]:
    """The proof for the input as it was declared, or why there is none."""
    declared = yield from declared_before()
    if declared is None:
        declared = yield from declared_before(earlier=True)
    if declared is None or declared.installation is None:
        return None, None, NOT_KNOWN
    try:
        return pull_proof(declared.installation), declared.installation, ""
    except WiringError as nothing:
        return None, None, f"The pull is not proven. {nothing}"


def _left_out(why: str) -> Steps[None]:
    yield from establish(PullProofFound(sentences=(why,), how=PullProofBy.LEFT_OUT, conclusion=None))


def _drawn(proof: PullProof) -> list[str]:
    return pull_proof_text(PullProofPicture("board input", proof.to.value, SMALL_R, LARGE_R)).splitlines()


def _clips(proof: PullProof) -> Hold:
    fit = (
        f"Clip one test lead to the header's signal and one to its {proof.to.value}, each found by function, so that "
        "nothing slips."
    )
    third = (THIRD,) if proof.pull is Pull.DOWN else ()
    steps = around(fit, *third, APART, mains_stays_out=True)
    released = "Are the free ends of the leads outside and apart, and is USB plugged back in?"
    request = hold_point(CLIPS, "clip two test leads to the free header", steps, released)
    return replace(request, cautions=(HANDS, SAFETY[0]))


def _supply_refused(installation: Installation) -> Steps[str]:
    """Why the resistor must not go to this supply; empty where it may. Measured, before anything is laid."""
    lines = ("Set the meter to volts. Read from the free end of the ground lead to that of the supply lead.",)
    asked = Enter("pull.supply", "The supply of the header", EntryKind.NUMBER, "V", optional=True, lines=lines)
    said = yield from enter(asked)
    if not said.strip():
        return NOT_MEASURED
    try:
        pull_proof(replace(installation, supply_v=float(said)))
    except WiringError as unsafe:
        return f"The pull is not proven. {unsafe}"
    return ""


def _by_meter(proof: PullProof) -> Steps[PullFinding]:
    least_a, greatest_a = proof.sound_a
    lines = (
        f"Set the meter to µA and put {SMALL_R} in series with it, between the free ends of the leads.",
        f"A sound pull of this input gives {1e6 * least_a:.0f} to {1e6 * greatest_a:.0f} µA.",
    )
    asked = Enter("pull.current", "The current through the resistor", EntryKind.NUMBER, "µA", lines=lines)
    current_a = 1e-6 * float((yield from enter(asked)))
    found = proof.judge_current(current_a)
    yield from establish(
        PullProofFound(
            sentences=(found.sentence,), how=PullProofBy.METER, conclusion=found.conclusion, current_a=current_a
        )
    )
    return found


def _by_resistors(proof: PullProof, plan: Plan, switch: str) -> Steps[PullFinding]:
    free = yield from _read(plan, switch, FREE, "Nothing between the leads", "Hands off; the free ends stay apart.")
    small = yield from _read(plan, switch, SMALL, SMALL_R, f"Lay {SMALL_R} between the free ends and keep it there.")
    large = yield from _read(plan, switch, LARGE, LARGE_R, f"Lay {LARGE_R} there in its place and keep it there.")
    again = yield from _read(plan, switch, SMALL_AGAIN, SMALL_R, f"Lay {SMALL_R} there once more and keep it there.")
    read = _Readings(free, small, large, again)
    found = proof.judge_readings(read.free, read.small, read.large, read.again)
    yield from establish(
        PullProofFound(
            sentences=(found.sentence,),
            how=PullProofBy.RESISTORS,
            conclusion=found.conclusion,
            free=_one(read.free),
            small=_one(read.small),
            large=_one(read.large),
            small_again=_one(read.again),
        )
    )
    return found


def _read(plan: Plan, switch: str, key: str, title: str, deed: str) -> Steps[tuple[Reading, ...]]:
    taken = yield from watch(
        Watch(
            key=key,
            title=f"Proof of the pull: {title}",
            lines=(deed,),
            switch=switch,
            presence=None,
            seconds=plan.dwell_s,
            readings=plan.readings_per_dwell,
            interval_s=plan.dwell_beat_s,
            lead_s=0.0 if key == FREE else plan.countdown_s,
            word="" if key == FREE else title,
        )
    )
    return tuple(reading.reading for reading in taken.readings)


def _one(readings: Sequence[Reading]) -> Reading:
    """What was read throughout; unknown where there was more than one, or none."""
    known = set(readings) - {Reading.UNKNOWN}
    return known.pop() if len(known) == 1 else Reading.UNKNOWN
