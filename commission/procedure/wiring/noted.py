"""A wiring that was declared without a run: where it comes from, and where it is not what a run declared before it."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.asking.message import Tell, Weight
from commission.asking.steps import Steps
from commission.command_lines import NOTE_REWIRING
from commission.evidence.findings.wiring import Wiring
from commission.wiring.assessment import in_class
from commission.wiring.differing import differing

PROVES_NOTHING = "It is a person's word: it proves nothing, and settles nothing that is open."
ASK = f"Was the sensor rewired? Then say so: `{NOTE_REWIRING}`. If not, one of the two declarations is wrong."


@dataclass(frozen=True)
class NotedWiring:
    """The newest declaration of a wiring, made without a run.

    Attributes:
        now: what it declares.
        before: what the last run declared; None where none did.
        before_on: the day of that, ISO 8601; empty where none did.
        changed: a change of the wiring is on record since then.
        sensor: of several the one that it is about; empty for the only one.
    """

    now: Wiring
    before: Wiring | None = None
    before_on: str = ""
    changed: bool = False
    sensor: str = ""

    @property
    def difference(self) -> str:
        """Where it is not what the last run declared, in words; empty where it is the same, or none declared any."""
        if self.before is None or not (parts := differing(self.before.answers, self.now.answers)):
            return ""
        said = f"It differs from what the last run declared on {self.before_on}, by which its tests were judged"
        return f"{said}: {'; '.join(parts)}."

    @property
    def sentences(self) -> tuple[str, ...]:
        """It in words, for who reads what is on record."""
        whose = f"The wiring of {self.sensor} was" if self.sensor else "The wiring was"
        said = (f"{whose} {self.now.source}. Predicted from it: {self._class}.", PROVES_NOTHING)
        if not self.difference:
            return said
        return (*said, self.difference, "A change of the wiring is on record since then." if self.changed else ASK)

    @property
    def as_note(self) -> str:
        """It as one text: the class, every answer, and the difference."""
        answers = ", ".join(f"{name} {answer}" for name, answer in self.now.answers.items())
        return f"Predicted: {self._class}. Declared: {answers}. {self.difference}".strip()

    @property
    def _class(self) -> str:
        return in_class(self.now.assessment.polarity, fail_safe=self.now.assessment.fail_safe)


def told_as_declared(said: Sequence[str]) -> Steps[None]:
    """Tell the operator these sentences on a wiring that was declared without a run; nothing where there are none."""
    if said:
        yield Tell(tuple(said), heading="The declared wiring", weight=Weight.NOTE)
