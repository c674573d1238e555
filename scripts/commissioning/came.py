"""What a procedure came to, in this campaign's words."""

from dataclasses import dataclass, field
from typing import Any

from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Acceptance, Polarity
from commission.vocabulary import SwitchBehaviour, Verdict

COMPLETE = "complete"


@dataclass
class Came:
    """What a procedure came to.

    Attributes:
        ended: `complete`, or what broke it off.
        findings: the newest of each kind, by its type.
        result: what the procedure itself returned; None where it was broken off.
    """

    ended: str = COMPLETE
    findings: dict[type[Finding], Finding] = field(default_factory=dict)
    result: Any = None

    @property
    def acceptance(self) -> Acceptance | None:
        """The loop check held against its plan; None where it did not come so far."""
        found = self.findings.get(Acceptance)
        return found if isinstance(found, Acceptance) else None

    @property
    def verdict(self) -> str:
        """On the loop check; what broke it off where there is none."""
        found = self.acceptance
        return self.ended if found is None else found.verdict.value

    @property
    def polarity(self) -> str:
        """As the tool found it; empty where it named neither direct nor inverted."""
        found = self.findings.get(Polarity)
        behaviour = found.behaviour if isinstance(found, Polarity) else SwitchBehaviour.UNDECIDED
        return behaviour.value if behaviour in (SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED) else ""

    @property
    def failed(self) -> tuple[str, ...]:
        """The criteria that failed."""
        criteria = () if self.acceptance is None else self.acceptance.criteria
        return tuple(each.name for each in criteria if each.verdict is Verdict.FAIL)
