"""Part of the unplug test: is the input held by a pull, or does it only happen to rest at out?

Reading alone cannot tell. Two leads are clipped to the free header with the power off and led out of the housing;
outside 1 kilohm must change the reading, else nothing was fitted, and 220 kilohm must not. Or a meter shows the current
through 1 kilohm, or the voltage across each of the two. It may be left out, and then the check is no full pass.
"""

from dataclasses import replace

from commission.asking.message import Tell, Weight
from commission.asking.power import HANDS, around, hold_point, hold_same_printer
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Hold, Option
from commission.asking.steps import Steps, choose, confirm, enter, establish
from commission.drawing.pull_proof import PullProofPicture, pull_proof_text
from commission.evidence.findings.pull import PullProof as PullProofFound
from commission.evidence.findings.pull import PullProofBy
from commission.judge.evidence import PullResult
from commission.judge.plan import Plan
from commission.procedure.loop.pull_readings import LARGE_R, SMALL_R, by_meter, by_resistors, by_voltmeter
from commission.procedure.wiring.declaration import declared_before
from commission.vocabulary import Pull, PullConclusion
from commission.wiring.declaration import declared_installation
from commission.wiring.installation import Installation, Terminal, WiringError
from commission.wiring.pull_proof import SAFETY, PullFinding, PullProof, pull_proof

TRIES = 3
"""So often the leads are looked for again where nothing was fitted."""
CLIPS = "pull.clips"
OWN_SUPPLY = 0.9
"""What is measured at the supply terminal must be at least so much of the logic voltage: else it is not that supply."""
APART = "Lead their free ends out of the housing, apart."
THIRD = "Clip a third lead to the header's ground and lead it out as well, for the meter."
WHY = (
    "An input that nothing holds can rest at out by chance, for years: reading alone does not show it.",
    "It takes the power off once more, two test leads, and 1 kΩ and 220 kΩ, or a meter with 1 kΩ.",
    "A sound pull above about 90 kΩ gives way to 220 kΩ too: where one was fitted, use the meter on its µA range.",
)
OPTIONS = (
    Option("resistors", "by 1 kΩ and 220 kΩ", "1 kΩ must change the reading, 220 kΩ must not"),
    Option("meter", "by a meter that reads µA, and 1 kΩ", "a sound pull gives at least 15 µA"),
    Option(
        "volts",
        "by a voltmeter, 1 kΩ and 220 kΩ",
        "for a meter without a µA range; the meter alone proves nothing",
    ),
    Option("left_out", "not now", "then the check is at best a conditional pass"),
)
DIRECTIONS = (
    Option("up", "up, to the logic voltage", "the usual one for a contact to ground"),
    Option("down", "down, to ground", "the usual one for a contact to supply"),
    Option("none", "there is none, or I do not know", "then it is not proven, and this is no full pass"),
)
LOGIC = (Option("3.3", "3.3 V", "most boards of today"), Option("5", "5 V", "older boards"))
NOT_KNOWN = "The pull is not proven: which way it goes is not known."
LEFT_OUT = "The pull is not proven: it was left out."
NOT_LAID = "The pull is not proven: it was begun, and not every resistor was laid or measured."
NOT_MEASURED = "The pull is not proven: the supply that the resistor would go to was not measured."
NOT_THE_SUPPLY = "The pull is not proven: {measured:g} V at the supply terminal is not the logic supply of {logic:g} V."


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
    how = yield from choose(
        Choose("pull.how", question, OPTIONS, (*WHY, *pull_proof_text(picture_of(proof.to)).splitlines()))
    )
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


def _carried_out(
    proof: PullProof, installation: Installation, how: str, plan: Plan, switch: str
) -> Steps[PullResult | None]:
    """The leads clipped on, and the proof; the leads are looked for again where nothing was fitted."""
    tried = 0
    while True:
        tried += 1
        yield from hold_same_printer(_clips(proof))
        if proof.pull is Pull.DOWN and (refused := (yield from _supply_refused(installation))):
            return (yield from _left_out(refused))
        found = yield from _by(how, proof, plan, switch)
        if found is None:
            return (yield from _left_out(NOT_LAID))
        if found.conclusion is not PullConclusion.NOT_FITTED or tried == TRIES:
            break
        yield Tell((found.sentence,), heading="Nothing was fitted", weight=Weight.NOTE)
    if how != "meter" and found.conclusion is PullConclusion.WEAK and (yield from _has_a_meter()):
        found = (yield from by_meter(proof)) or found
    return PullResult(found.conclusion, found.sentence)


def _by(how: str, proof: PullProof, plan: Plan, switch: str) -> Steps[PullFinding | None]:
    if how == "meter":
        return (yield from by_meter(proof))
    if how == "volts":
        return (yield from by_voltmeter(proof))
    return (yield from by_resistors(proof, plan, switch))


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


def picture_of(to: Terminal, cautions: tuple[str, ...] = ()) -> PullProofPicture:
    """How the resistors are laid, from signal to this terminal."""
    return PullProofPicture("board input", to.value, SMALL_R, LARGE_R, cautions)
