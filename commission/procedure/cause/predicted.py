"""The predicted reading of each state beside the measured one: what was drawn on paper against what is there."""

from collections.abc import Sequence

from commission.asking.message import Punch
from commission.asking.steps import Steps, establish
from commission.evidence.findings.wiring import PredictedAndMeasured, PredictionHeld
from commission.judge.diagnosis import Observation
from commission.procedure.loop.tests_done import seen_before
from commission.procedure.wiring.candidates import SOUND, case_of
from commission.procedure.wiring.declaration import Declared
from commission.vocabulary import PunchClass
from commission.wiring.installation import Installation
from commission.wiring.prediction import Probe

STATES = (Probe.FILAMENT_IN, Probe.FILAMENT_OUT, Probe.UNPLUGGED_AT_BOARD)
MAY_BE_TRIED = Probe.UNPLUGGED_AT_SENSOR
_WORDS = {"positive": "active", "negative": "inactive", "floating": "floating", "restart": "restarts"}


NOT_AS_DECLARED = (
    "What was measured is not what the declared wiring predicts: it is not wired, or not set, as declared."
)
LOOK_FOR_IT = "Go through the declaration, or have the cause looked for by the diagnosis."


def rows(installation: Installation, seen: Sequence[Observation]) -> tuple[PredictionHeld, ...]:
    """Every state of the loop check, predicted as declared and measured."""
    table = case_of(installation).explanations.candidates[SOUND].row
    tried = any(one.test == MAY_BE_TRIED.value for one in seen)
    states = (*STATES, MAY_BE_TRIED) if tried else STATES
    return tuple(_row(probe.value, _WORDS[table[probe.value].sign], seen) for probe in states)


def _row(state: str, predicted: str, seen: Sequence[Observation]) -> PredictionHeld:
    tests = [one for one in seen if one.test == state]
    measured, agrees = _measured(predicted, tests) if tests else ("", None)
    return PredictionHeld(state=state, predicted=predicted, measured=measured, tests=len(tests), agrees=agrees)


def _measured(predicted: str, tests: Sequence[Observation]) -> tuple[str, bool | None]:
    """What the tests showed together, and whether it is what was predicted."""
    if any(one.restarted for one in tests):
        return "restarts", predicted == "restarts"
    shown = {"active" if one.positives == one.readings else "inactive" if one.positives == 0 else "" for one in tests}
    measured = shown.pop() if len(shown) == 1 else ""
    return measured or "unsteady", None if predicted == "floating" else measured == predicted


def _in_short(compared: Sequence[PredictionHeld]) -> tuple[str, ...]:
    """What came out otherwise in full; what came out as predicted by name."""
    agreed = [row.state for row in compared if row.agrees]
    named = (f"As predicted: {', '.join(agreed)}.",) if agreed else ()
    return (*(row.sentence for row in compared if not row.agrees), *named)


def compare_with_prediction(declared: Declared) -> Steps[tuple[PredictionHeld, ...]]:
    """Record both; see `differing` for what is open where they differ."""
    if declared.installation is None:
        return ()
    compared = rows(declared.installation, (yield from seen_before()))
    found = PredictedAndMeasured(sentences=tuple(row.sentence for row in compared), rows=compared)
    yield from establish(found, _in_short(compared))
    return compared


def differing(compared: Sequence[PredictionHeld], cure: str = "") -> Steps[None]:
    """The open item where what was measured is not what was predicted: the wiring is then not what was declared.

    Args:
        compared: both, state by state.
        cure: what mends it, where a diagnosis has found that; empty where none has.
    """
    if any(row.agrees is False for row in compared):
        yield Punch(PunchClass.INCOMPLETE, NOT_AS_DECLARED, cure or LOOK_FOR_IT)
