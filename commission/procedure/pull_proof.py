"""Part of the unplug test: is the input held by a pull, or does it only happen to rest at out?

Reading alone cannot tell. Two leads are clipped to the free header with the power off and led out of the housing;
outside 1 kilohm must change the reading, else nothing was fitted, and 220 kilohm must not. Or a meter shows the current
through 1 kilohm, or the voltage across each of the two. It may be left out, and then the check is no full pass.
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
from commission.procedure.request import Choose, Confirm, Enter, EntryKind, Hold, Option, Watch
from commission.procedure.steps import Steps, choose, confirm, enter, establish, watch
from commission.procedure.wiring import declared_before
from commission.vocabulary import Pull, PullConclusion, Reading
from commission.wiring.declaration import declared_installation
from commission.wiring.installation import Installation, Terminal, WiringError
from commission.wiring.pull_proof import SAFETY, PullFinding, PullProof, pull_proof

TRIES = 3
"""So often the leads are looked for again where nothing was fitted."""
CLIPS = "pull.clips"
FREE, SMALL, LARGE, SMALL_AGAIN = "pull.free", "pull.small", "pull.large", "pull.small_again"
LARGE_AGAIN = "pull.large_again"
SMALL_R, LARGE_R = "1 kΩ", "220 kΩ"
OWN_SUPPLY = 0.9
"""What is measured at the supply terminal must be at least so much of the logic voltage: else it is not that supply."""
APART = "Lead their free ends out of the housing, apart."
THIRD = "Clip a third lead to the header's ground and lead it out as well, for the meter."
WHY = (
    "An input that nothing holds can rest at out by chance, today or for years: reading alone cannot tell it from a "
    "sound one.",
    "It takes the power off once more, two test leads, and 1 kΩ and 220 kΩ, or a meter with 1 kΩ.",
    "A sound pull above about 90 kΩ gives way to 220 kΩ too: where one was fitted, use the meter on its µA range.",
)
OPTIONS = (
    Option("resistors", "by 1 kΩ and 220 kΩ", "1 kΩ must change the reading, 220 kΩ must not"),
    Option("meter", "by a meter that reads µA, and 1 kΩ", "a sound pull gives at least 15 µA"),
    Option(
        "volts",
        "by a voltmeter, 1 kΩ and 220 kΩ",
        "for a meter without a µA range; alone, without them, it proves nothing",
    ),
    Option("left_out", "not now", "then the check is at best a conditional pass"),
)
DIRECTIONS = (
    Option("up", "up, to the logic voltage", "the usual one for a contact to ground"),
    Option("down", "down, to ground", "the usual one for a contact to supply"),
    Option("none", "there is none, or I do not know", "then it is not proven, and this is no full pass"),
)
LOGIC = (Option("3.3", "3.3 V", "most boards of today"), Option("5", "5 V", "older boards"))
PULL_NOT_PROVEN = "Pull not proven: an unplugged input that nothing holds can rest at out by chance."
CURE_PULL = (
    "Run a full check, and prove the pull in its unplug test: by 1 kΩ and 220 kΩ, or by a meter with 1 kΩ. A module "
    "whose own pull goes away with its plug needs a pull at the board first."
)
CURE_WEAK = (
    "Switch the input's pull on in the firmware's configuration, or have a resistor of 4.7 to 10 kΩ fitted in its "
    "place; then run the check again. A sound pull above about 90 kΩ fails with resistors too: prove it with the meter."
)
NOT_KNOWN = "The pull is not proven: which way it goes is not known."
LEFT_OUT = "The pull is not proven: it was left out."
NOT_LAID = "The pull is not proven: the resistors were not laid."
NOT_MEASURED = "The pull is not proven: the supply that the resistor would go to was not measured."
NOT_THE_SUPPLY = "The pull is not proven: {measured:g} V at the supply terminal is not the logic supply of {logic:g} V."
GAVE_WAY = (
    "With 220 kΩ the reading was another one. See that it is 220 kΩ (red, red, yellow, or red, red, black, orange) and "
    "that the 1 kΩ is off, and keep your fingers off its wires.",
)
TWICE = "Not judged: 220 kΩ changed the reading once and not the other time."


@dataclass(frozen=True)
class _Readings:
    """What was read with nothing fitted, and with each resistor; None where it was not tried."""

    free: tuple[Reading, ...] | None = None
    small: tuple[Reading, ...] | None = None
    large: tuple[Reading, ...] | None = None
    again: tuple[Reading, ...] | None = None
    large_again: tuple[Reading, ...] | None = None


_NOTHING_READ = _Readings()


def proven_pull(plan: Plan, switch: str) -> Steps[PullResult | None]:
    """Offer the proof with the sensor unplugged at the board, carry it out, and put it into the record.

    Args:
        plan: how long each reading takes.
        switch: what is read.

    Returns:
        What it came to; None where it was left out.
    """
    installation = yield from _installation()
    if installation is None:
        return (yield from _left_out(NOT_KNOWN))
    try:
        proof = pull_proof(installation)
    except WiringError as nothing:
        return (yield from _left_out(f"The pull is not proven. {nothing}"))
    question = "Prove now that something holds the unplugged input?"
    how = yield from choose(Choose("pull.how", question, OPTIONS, (*WHY, *_drawn(proof))))
    if how == "left_out":
        return (yield from _left_out(LEFT_OUT))
    return (yield from _carried_out(proof, installation, how, plan, switch))


def _installation() -> Steps[Installation | None]:
    """The wiring as it was declared, or what must be known of it for the proof; None where that is not known."""
    declared = (yield from declared_before()) or (yield from declared_before(earlier=True))
    if declared is not None and declared.installation is not None:
        return declared.installation
    pull = yield from choose(Choose("pull.direction", "Which way does the input's own pull go?", DIRECTIONS))
    if pull == "none":
        return None
    logic = yield from choose(Choose("pull.logic", "What is the logic voltage of the board?", LOGIC))
    to = Terminal.GROUND if pull == "up" else Terminal.SUPPLY
    words = {"wires": "2", "contact": "NO", "to": to.value, "pull": pull, "logic": logic, "supply": logic}
    return declared_installation({"sensor": "switch", **words})


def _left_out(why: str) -> Steps[PullResult | None]:
    yield from establish(PullProofFound(sentences=(why,), how=PullProofBy.LEFT_OUT, conclusion=None))
    return None


def _drawn(proof: PullProof) -> list[str]:
    return pull_proof_text(PullProofPicture("board input", proof.to.value, SMALL_R, LARGE_R)).splitlines()


def _carried_out(
    proof: PullProof, installation: Installation, how: str, plan: Plan, switch: str
) -> Steps[PullResult | None]:
    """The leads clipped on, and the proof; the leads are looked for again where nothing was fitted."""
    tried = 0
    while True:
        tried += 1
        yield from same_printer(_clips(proof))
        if proof.pull is Pull.DOWN and (refused := (yield from _supply_refused(installation))):
            return (yield from _left_out(refused))
        found = yield from _by(how, proof, plan, switch)
        if found is None:
            return (yield from _left_out(NOT_LAID))
        if found.conclusion is not PullConclusion.NOT_FITTED or tried == TRIES:
            break
        yield Tell((found.sentence,), heading="Nothing was fitted", weight=Weight.CAUTION)
    if how != "meter" and found.conclusion is PullConclusion.WEAK and (yield from _has_a_meter()):
        found = yield from _by_meter(proof)
    return PullResult(found.conclusion, found.sentence)


def _by(how: str, proof: PullProof, plan: Plan, switch: str) -> Steps[PullFinding | None]:
    if how == "meter":
        return (yield from _by_meter(proof))
    if how == "volts":
        return (yield from _by_voltmeter(proof))
    return (yield from _by_resistors(proof, plan, switch))


def _has_a_meter() -> Steps[bool]:
    lines = ("A sound pull above about 90 kΩ gives way to 220 kΩ too, and gives at least 15 µA through 1 kΩ.",)
    question = "Was such a pull fitted, and is there a meter with a µA range?"
    return (yield from confirm(Confirm("pull.meter.now", question, lines)))


def _clips(proof: PullProof) -> Hold:
    fit = (
        f"Clip one test lead to the header's signal and one to its {proof.to.value}, each found by function, so that "
        "nothing slips."
    )
    third = (THIRD,) if proof.pull is Pull.DOWN else ()
    steps = around(fit, *third, APART, mains_stays_out=True)
    released = "Are the free ends of the leads outside and apart, and is USB plugged back in?"
    request = hold_point(CLIPS, "clip two test leads to the free header", steps, released)
    return replace(request, cautions=(HANDS, SAFETY[0], SAFETY[3]))


def _supply_refused(installation: Installation) -> Steps[str]:
    """Why the resistor must not go to this supply; empty where it may. Measured, before anything is laid."""
    lines = ("Set the meter to volts. Read from the free end of the ground lead to that of the supply lead.",)
    asked = Enter("pull.supply", "The supply of the header", EntryKind.NUMBER, "V", optional=True, lines=lines)
    said = yield from enter(asked)
    if not said.strip():
        return NOT_MEASURED
    measured_v, logic_v = float(said), installation.logic_v
    if not measured_v >= OWN_SUPPLY * logic_v:
        return NOT_THE_SUPPLY.format(measured=measured_v, logic=logic_v)
    try:
        pull_proof(replace(installation, supply_v=measured_v))
    except WiringError as unsafe:
        return f"The pull is not proven. {unsafe}"
    return ""


def _by_meter(proof: PullProof) -> Steps[PullFinding]:
    least_a, greatest_a = proof.sound_a
    lines = (
        f"Set the meter to µA and put {SMALL_R} in series with it, between the free ends of the leads.",
        f"A sound pull of this input gives {1e6 * least_a:.0f} to {1e6 * greatest_a:.0f} µA, one that was fitted by "
        "hand more, and none less than 15 µA.",
    )
    asked = Enter("pull.current", "The current through the resistor", EntryKind.NUMBER, "µA", lines=lines)
    current_a = 1e-6 * float((yield from enter(asked)))
    found = proof.judge_current(current_a)
    yield from establish(_stated(proof, found, PullProofBy.METER, current_a=current_a))
    return found


def _by_voltmeter(proof: PullProof) -> Steps[PullFinding]:
    read_v = []
    for key, resistor in ((SMALL, SMALL_R), (LARGE, LARGE_R), (SMALL_AGAIN, SMALL_R)):
        lines = (
            f"Set the meter to volts, clip {resistor} between the free ends of the leads and read across it.",
            f"At most {proof.overruled_v:.2f} V with {SMALL_R} shows that it is fitted; at least {proof.held_v:.2f} V "
            f"with {LARGE_R} that the pull holds.",
        )
        title = f"The voltage across {resistor}"
        asked = Enter(f"{key}.volts", title, EntryKind.NUMBER, "V", lines=lines)
        read_v.append(float((yield from enter(asked))))
    found = proof.judge_voltages(*read_v)
    yield from establish(_stated(proof, found, PullProofBy.VOLTMETER, volts=tuple(read_v)))
    return found


def _by_resistors(proof: PullProof, plan: Plan, switch: str) -> Steps[PullFinding | None]:
    """None where a resistor was not laid; too weak only where 220 kilohm was laid twice and gave way each time."""
    free = yield from _watched(plan, switch, FREE, "nothing between the leads")
    small = yield from _with(SMALL_R, plan, switch, SMALL)
    if small is None:
        return None
    found, read = proof.judge_readings(free, small, free), _Readings(free, small)
    if found.conclusion is not PullConclusion.PROVEN:  # 1 kilohm does not overrule it: the large one tells nothing
        yield from establish(_stated(proof, found, PullProofBy.RESISTORS, read))
        return found
    large = yield from _with(LARGE_R, plan, switch, LARGE)
    again = None if large is None else (yield from _with(SMALL_R, plan, switch, SMALL_AGAIN))
    if large is None or again is None:
        return None
    found, large_again = proof.judge_readings(free, small, large, again), None
    if found.conclusion is PullConclusion.WEAK:
        yield Tell(GAVE_WAY, heading="Once more", weight=Weight.CAUTION)
        large_again = yield from _with(LARGE_R, plan, switch, LARGE_AGAIN)
        if large_again is None:
            return None
        found = proof.judge_readings(free, small, large_again, again)
        if found.conclusion is PullConclusion.PROVEN:
            found = PullFinding(PullConclusion.NOT_JUDGED, TWICE)
    read = replace(read, large=large, again=again, large_again=large_again)
    yield from establish(_stated(proof, found, PullProofBy.RESISTORS, read))
    return found


def _stated(
    proof: PullProof,
    found: PullFinding,
    how: PullProofBy,
    read: _Readings = _NOTHING_READ,
    volts: Sequence[float | None] = (None, None, None),
    current_a: float | None = None,
) -> PullProofFound:
    small_v, large_v, small_again_v = volts
    return PullProofFound(
        sentences=(found.sentence,),
        how=how,
        conclusion=found.conclusion,
        to=proof.to,
        current_a=current_a,
        free=_one(read.free),
        small=_one(read.small),
        large=_one(read.large),
        small_again=_one(read.again),
        large_again=_one(read.large_again),
        small_v=small_v,
        large_v=large_v,
        small_again_v=small_again_v,
    )


def _with(resistor: str, plan: Plan, switch: str, key: str) -> Steps[tuple[Reading, ...] | None]:
    """What is read with this resistor between the leads; None where it was not laid."""
    lines = (
        f"Clip {resistor} between the free ends of the leads, in place of what lies there, and take your fingers off: "
        "skin conducts as well as 220 kΩ does.",
        "Touch nothing but the free ends.",
    )
    name = key.removeprefix("pull.")
    if not (yield from confirm(Confirm(f"pull.lay.{name}", f"Is {resistor} between the leads, hands off?", lines))):
        return None
    return (yield from _watched(plan, switch, key, resistor))


def _watched(plan: Plan, switch: str, key: str, title: str) -> Steps[tuple[Reading, ...]]:
    taken = yield from watch(
        Watch(
            key=key,
            title=f"Proof of the pull: {title}",
            lines=("Hands off. The input is read.",),
            switch=switch,
            presence=None,
            seconds=plan.dwell_s,
            readings=plan.readings_per_dwell,
            interval_s=plan.dwell_beat_s,
        )
    )
    return tuple(reading.reading for reading in taken.readings)


def _one(readings: Sequence[Reading] | None) -> Reading | None:
    """What was read throughout; unknown where there was more than one, or none."""
    if readings is None:
        return None
    known = set(readings) - {Reading.UNKNOWN}
    return known.pop() if len(known) == 1 else Reading.UNKNOWN
