"""A sensor whose trials look like those of a wheel: who fitted it is asked, and it is not judged as presence."""

from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm, establish
from commission.command_lines import MOTION, line
from commission.evidence.findings import loop
from commission.evidence.findings.motion import MovementSensed
from commission.judge.acceptance import Acceptance, Criterion
from commission.judge.movement_suspected import flipping
from commission.procedure.loop.trials import Series
from commission.vocabulary import PunchClass, Verdict

QUESTION = "Does this sensor sense movement: a wheel or an encoder that the filament turns, and no lever?"
CURE = (
    "Run `{}`: it counts the changes over a measured length. That nobody knows whether filament is there stays so: a "
    "sensor of movement tells only while filament moves."
)
NOT_PRESENCE = "It senses movement. At rest either word may stand, so presence is not judged."


def senses_movement(series: Series) -> Steps[bool]:
    """Ask what kind of sensor it is where its trials look like those of a wheel."""
    seen = flipping(series.tally.now)
    if not seen.seems_movement:
        return False
    said = (
        f"While filament moved the reading flipped again and again, in {seen.flipping} of {seen.moves} prompts.",
        "At rest it stood still, and did not tell filament in from filament out. A wheel reads so.",
    )
    yield Tell(said, heading="This looks like a sensor of movement", weight=Weight.CAUTION)
    moves = yield from confirm(Confirm("loop_check.movement", QUESTION))
    operator = "it senses movement" if moves else "it senses presence"
    yield from establish(
        MovementSensed(
            sentences=(*said, f"The operator says: {operator}."),
            moves=seen.moves,
            flipping=seen.flipping,
            confirmed=moves,
        )
    )
    return moves


def not_presence(switch: str) -> Steps[Acceptance]:
    """Presence is not judged, and where to go on from there."""
    rule = "The sensor tells whether filament is there"
    judged = Acceptance(
        Verdict.NOT_JUDGED,
        (NOT_PRESENCE,),
        (Criterion("kind of sensor", rule, NOT_PRESENCE, Verdict.NOT_JUDGED),),
    )
    criteria = loop.criteria_of(judged.criteria)
    yield from establish(loop.Acceptance(sentences=judged.reasons, verdict=judged.verdict, criteria=criteria))
    yield Punch(
        PunchClass.INCOMPLETE,
        f"{switch} senses movement and was not tested as such.",
        CURE.format(line(MOTION, "", "", switch)),
    )
    return judged
