"""The predicted reading of each state beside the measured one: what was drawn on paper against what is there."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.diagnosis import Observation
from commission.procedure.candidates import SOUND, case_of
from commission.procedure.message import Punch
from commission.procedure.steps import Steps, establish
from commission.procedure.tests_done import seen_before
from commission.procedure.wiring import Declared
from commission.vocabulary import PunchClass
from commission.wiring.installation import Installation
from commission.wiring.prediction import Probe

NAME = "predicted_and_measured"
STATES = (Probe.FILAMENT_IN, Probe.FILAMENT_OUT, Probe.UNPLUGGED_AT_BOARD)
MAY_BE_TRIED = Probe.UNPLUGGED_AT_SENSOR
_WORDS = {"positive": "active", "negative": "inactive", "floating": "floating", "restart": "restarts"}


@dataclass(frozen=True)
class Row:
    """One state; `agrees` is None where nothing was measured or nothing steady is predicted."""

    state: str
    predicted: str
    measured: str
    tests: int
    agrees: bool | None

    @property
    def sentence(self) -> str:
        """The row in words."""
        verdict = {True: "as predicted", False: "NOT as predicted", None: "nothing to compare"}[self.agrees]
        state, measured = self.state[:1].upper() + self.state[1:], self.measured or "nothing"
        return f"{state}: predicted {self.predicted}, measured {measured}: {verdict}."


def rows(installation: Installation, seen: Sequence[Observation]) -> tuple[Row, ...]:
    """Every state of the loop check, predicted as declared and measured."""
    table = case_of(installation).explanations.candidates[SOUND].row
    tried = any(one.test == MAY_BE_TRIED.value for one in seen)
    states = (*STATES, MAY_BE_TRIED) if tried else STATES
    return tuple(_row(probe.value, _WORDS[table[probe.value].sign], seen) for probe in states)


def _row(state: str, predicted: str, seen: Sequence[Observation]) -> Row:
    tests = [one for one in seen if one.test == state]
    if not tests:
        return Row(state, predicted, "", 0, None)
    if any(one.restarted for one in tests):
        return Row(state, predicted, "restarts", len(tests), predicted == "restarts")
    shown = {"active" if one.positives == one.readings else "inactive" if one.positives == 0 else "" for one in tests}
    measured = shown.pop() if len(shown) == 1 else ""
    agrees = None if predicted == "floating" else measured == predicted
    return Row(state, predicted, measured or "unsteady", len(tests), agrees)


def compare_with_prediction(declared: Declared) -> Steps[tuple[Row, ...]]:
    """Record both, and an open item where they differ: the wiring is then not what was declared."""
    if declared.installation is None:
        return ()
    compared = rows(declared.installation, (yield from seen_before()))
    yield from establish(NAME, *(row.sentence for row in compared), rows=[vars(row) | {} for row in compared])
    if any(row.agrees is False for row in compared):
        yield Punch(
            PunchClass.INCOMPLETE,
            "What was measured is not what the declared wiring predicts: it is not wired, or not set, as declared.",
            "Go through the declaration, or have the cause looked for by the diagnosis.",
        )
    return compared
