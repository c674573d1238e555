"""The wiring's share of an installation: each phase is offered where it belongs and may be left out with a reason."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from commission.asking.message import Tell
from commission.asking.phase import Change, Progress
from commission.asking.request import Confirm
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings.wiring import NoMeter
from commission.jobs.settings_share import skipped
from commission.judge.plan import Plan
from commission.procedure.cause.diagnose import NAME as DIAGNOSE
from commission.procedure.cause.diagnose import VOIDED_BY as DIAGNOSE_VOIDED_BY
from commission.procedure.cause.diagnose import may_be_tested, weigh
from commission.procedure.cause.find_cause import find_cause
from commission.procedure.cause.predicted import compare_with_prediction
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.loop_check import NAME as LOOP_CHECK
from commission.procedure.loop.loop_check import VOIDED_BY as LOOP_CHECK_VOIDED_BY
from commission.procedure.loop.loop_check import LoopChecked
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.wiring.claims import NAME as CLAIMS
from commission.procedure.wiring.claims import input_claims
from commission.procedure.wiring.declaration import NAME as WIRING
from commission.procedure.wiring.declaration import Declared, declared_before, wiring
from commission.procedure.wiring.mechanical import NAME as MECHANICAL
from commission.procedure.wiring.mechanical import mechanical
from commission.procedure.wiring.meter import NAME as METER
from commission.procedure.wiring.meter import meter
from commission.procedure.wiring.sensor_plug import have_plugged_in
from commission.vocabulary import SwitchBehaviour, Verdict

_T = TypeVar("_T")
VOIDED_BY = frozenset({Change.WIRING})
_WHAT = {
    "wiring": "the wiring",
    "claims": "the sheet of the input",
    "mechanical": "the mechanical sheet",
    "meter": "the meter check",
}
_STANDS = "Already done in this run and still valid: {}."
_READS_RIGHT = (Verdict.PASS, Verdict.CONDITIONAL)


@dataclass(frozen=True)
class Prepared:
    """What is known of the wiring before the loop check; `forbidden` says that it must not be plugged in."""

    declared: Declared | None = None
    forbidden: bool = False


def prepare_wiring(switch: str, progress: Progress | None = None) -> Steps[Prepared]:
    """Offer the wiring, the input's claims, the meter check and the mechanical sheet, in this order.

    The sensor is plugged in with the meter check, so the mechanical sheet behind it is gone through with the reading.

    Args:
        switch: the filament switch, whose reading is shown where it helps.
        progress: what of a run that is taken up again still stands; none of that is offered again.
    """
    progress = Progress() if progress is None else progress
    declared = yield from _wiring(progress)
    answers: Mapping[str, str] = {} if declared is None else declared.answers
    if (yield from _offered(progress, CLAIMS, "claims", "Note the input, and what else may be on it, now?")):
        yield from input_claims(answers)
    if declared is not None and declared.forbidden:
        return Prepared(declared, forbidden=True)
    metered = yield from _metered(progress, declared)
    if metered is Verdict.FAIL:
        return Prepared(declared, forbidden=True)
    if metered is None and not progress.stands(LOOP_CHECK, LOOP_CHECK_VOIDED_BY):
        yield from have_plugged_in()
    if (yield from _offered(progress, MECHANICAL, "mechanical", "Go through the mechanical sheet now?")):
        yield from worked_by_hand(mechanical(switch))
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


def follow_up(checked: LoopChecked, plan: Plan, switch: str, progress: Progress | None = None) -> Steps[None]:
    """Hold what was measured beside the prediction, and offer a diagnosis where it did not come out right."""
    declared = yield from declared_before()
    if declared is not None and declared.installation is not None:
        yield from compare_with_prediction(declared)
    if checked.acceptance.verdict in _READS_RIGHT:
        return
    if checked.acceptance.verdict is Verdict.NOT_JUDGED and checked.behaviour is SwitchBehaviour.DIRECT:
        return
    if progress is not None and progress.stands(DIAGNOSE, DIAGNOSE_VOIDED_BY):
        yield Tell(("Already done in this run and still valid: the diagnosis.",))
        return
    lines = (
        "The diagnosis weighs whatever can be wrong against what was read, and asks for what tells most for its cost.",
        "Only tests that cannot restart the board are asked for; you may stop at any of them.",
    )
    if not (yield from confirm(Confirm("diagnose.now", "Look for the cause now?", lines))):
        yield from skipped("diagnose", "the diagnosis")
        return
    if declared is None:
        yield Tell(("A diagnosis needs to know how it is meant to be wired.",))
        declared = yield from wiring(tested=True)
    if declared is not None and (yield from may_be_tested(declared)):
        yield from find_cause(declared, (yield from seen_before()), plan, switch)


def _wiring(progress: Progress) -> Steps[Declared | None]:
    """The wiring as it is declared now, or was before; one that nobody knew is offered again."""
    declared = (yield from declared_before()) if progress.stands(WIRING, VOIDED_BY) else None
    if declared is not None:
        yield Tell((_STANDS.format(_WHAT["wiring"]),))
        return declared
    question = "Say how the sensor is wired, and have that assessed?"
    if (yield from _offered(Progress(), WIRING, "wiring", question)):
        return (yield from wiring())
    return None


def _metered(progress: Progress, declared: Declared | None) -> Steps[Verdict | None]:
    """What the meter check came to, now or before; None without one, when nobody knows where the sensor's plug is."""
    if declared is None or declared.installation is None:
        return None
    if progress.stands(METER, VOIDED_BY):
        yield Tell((_STANDS.format(_WHAT["meter"]),))
        return Verdict(progress.done[METER]["verdict"])
    question = "Is a meter at hand, to check the sensor's cable off the board?"
    if (yield from _offered(progress, METER, "meter", question)):
        return (yield from meter(declared.installation)).verdict
    yield from establish(NoMeter())
    return None


def _offered(progress: Progress, phase: str, name: str, question: str) -> Steps[bool]:
    """Whether the phase is to be done now; one that stands is not offered again."""
    if progress.stands(phase, VOIDED_BY):
        yield Tell((_STANDS.format(_WHAT[name]),))
        return False
    if (yield from confirm(Confirm(f"{name}.now", question))):
        return True
    yield from skipped(name, _WHAT[name])
    return False
