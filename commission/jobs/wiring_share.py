"""The wiring's share of an installation: each phase is offered where it belongs and may be left out with a reason."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from commission.asking.message import Tell, Weight
from commission.asking.phase import FROM_THE_START, Progress, offer, steps_of
from commission.asking.request import Confirm
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, establish
from commission.evidence.findings.wiring import NoMeter, PredictionHeld
from commission.judge.plan import Plan
from commission.procedure.cause.diagnose import DIAGNOSIS, diagnose_steps, may_be_tested, weigh
from commission.procedure.cause.find_cause import declared_anew
from commission.procedure.cause.predicted import compare_with_prediction, differing
from commission.procedure.cause.weighed import Weighed, cure_found
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.loop_check import LOOP_CHECK, LoopChecked
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.wiring.claims import CLAIMS, input_claims
from commission.procedure.wiring.declaration import WIRING, Declared, declared_before, wiring
from commission.procedure.wiring.mechanical import MECHANICAL, mechanical
from commission.procedure.wiring.meter import METER, meter
from commission.procedure.wiring.sensor_plug import have_plugged_in, have_unplugged
from commission.vocabulary import SwitchBehaviour, Verdict

_T = TypeVar("_T")
UNSAFE_INPUT = (
    "This input is not safe for a sensor: the run ends after this.",
    "Find another header, change the input in the firmware where it takes that, and begin again.",
)
_READS_RIGHT = (Verdict.PASS, Verdict.CONDITIONAL)


@dataclass(frozen=True)
class Prepared:
    """What is known of the wiring before the loop check; `forbidden` says that it must not be plugged in."""

    declared: Declared | None = None
    forbidden: bool = False


def prepare_wiring(switch: str, progress: Progress = FROM_THE_START) -> Steps[Prepared]:
    """Offer the wiring, the input's claims, the meter check and the mechanical sheet, in this order.

    The sensor is plugged in with the meter check, so the mechanical sheet behind it is gone through with the reading.

    Args:
        switch: the filament switch, whose reading is shown where it helps.
        progress: what of a run that is taken up again still stands; none of that is offered again.
    """
    question = Confirm("wiring.now", "Say how the sensor is wired, and have that assessed?")
    declared = yield from progress.offered(WIRING, question, wiring)
    answers: Mapping[str, str] = {} if declared is None else declared.answers
    question = Confirm("claims.now", "Note the input, and what else may be on it, now?")
    noted = yield from progress.offered(CLAIMS, question, lambda: input_claims(answers))
    if declared is not None and declared.forbidden:
        return Prepared(declared, forbidden=True)
    if noted is not None and noted.forbidden:
        yield Tell(UNSAFE_INPUT, heading="The sensor stays unplugged", weight=Weight.DANGER)
        if not progress.stands(CLAIMS):
            yield from have_unplugged()
        return Prepared(declared, forbidden=True)
    metered = yield from _metered(progress, declared)
    if metered is Verdict.FAIL:
        return Prepared(declared, forbidden=True)
    if metered is None and not progress.stands(LOOP_CHECK):
        yield from have_plugged_in()
    contact = declared is not None and declared.installation is not None and declared.installation.has_contact
    question = Confirm("mechanical.now", "Go through the mechanical sheet now?")
    yield from progress.offered(MECHANICAL, question, lambda: worked_by_hand(mechanical(switch, has_contact=contact)))
    return Prepared(declared)


def explained(steps: Steps[_T]) -> Steps[_T]:
    """Carry out a loop check; one that ends in a suspected short is weighed at once, with what was seen up to then."""
    try:
        return (yield from steps)
    except Interrupted as broken:
        if broken.interruption.kind.suspects_wiring:
            declared = yield from declared_before()
            if declared is not None and declared.installation is not None:
                yield from weigh(declared, (yield from seen_before()), asks=False)
        raise


def follow_up(checked: LoopChecked, plan: Plan, switch: str, progress: Progress = FROM_THE_START) -> Steps[None]:
    """Hold what was measured beside the prediction, and offer a diagnosis where it did not come out right."""
    if checked.movement:
        return
    declared = yield from declared_before()
    compared: tuple[PredictionHeld, ...] = ()
    if declared is not None and declared.installation is not None:
        compared = yield from compare_with_prediction(declared)
    weighed = None
    try:
        if _wants_diagnosis(checked):
            weighed = yield from _diagnosis(declared, plan, switch, progress)
    except Interrupted:
        yield from differing(compared)
        raise
    yield from differing(compared, "" if weighed is None else cure_found(weighed))


def _wants_diagnosis(checked: LoopChecked) -> bool:
    verdict = checked.acceptance.verdict
    unjudged = verdict is Verdict.NOT_JUDGED and checked.behaviour is SwitchBehaviour.DIRECT
    return not unjudged and verdict not in _READS_RIGHT


def _diagnosis(declared: Declared | None, plan: Plan, switch: str, progress: Progress) -> Steps[Weighed | None]:
    """What the diagnosis came to, now or before; None where there was none."""
    if declared is not None:
        before = yield from progress.again(DIAGNOSIS, _looked_for(declared, plan, switch))
        if before is not None:
            return before
    lines = (
        "The diagnosis weighs whatever can be wrong against what was read, and asks for what tells most for its cost.",
        "Only tests that cannot restart the board are asked for; you may stop at any of them.",
    )
    if not (yield from offer(DIAGNOSIS, Confirm("diagnose.now", "Look for the cause now?", lines))):
        return None
    if declared is None:
        yield Tell(("A diagnosis needs to know how it is meant to be wired.",))
        declared = yield from wiring(tested=True)
    if declared is not None and (yield from may_be_tested(declared)):
        weighed = yield from _looked_for(declared, plan, switch)
        return (yield from declared_anew(weighed, plan, switch))
    return None


@steps_of(DIAGNOSIS)
def _looked_for(declared: Declared, plan: Plan, switch: str) -> Steps[Weighed]:
    """The diagnosis from what was seen up to then."""
    return (yield from diagnose_steps(declared, (yield from seen_before()), plan, switch))


def _metered(progress: Progress, declared: Declared | None) -> Steps[Verdict | None]:
    """What the meter check came to, now or before; None without one, when nobody knows where the sensor's plug is."""
    if declared is None or declared.installation is None:
        return None
    installation = declared.installation
    question = Confirm("meter.now", "Is a meter at hand, to check the sensor's cable off the board?")
    metered = yield from progress.offered(METER, question, lambda: meter(installation))
    if metered is None:
        yield from establish(NoMeter())
        return None
    return metered.verdict
