"""What was established of the gates in front of a pause."""

from msgspec import Struct

from commission.evidence.findings.base import Finding, Picture
from commission.judge.gates import Gate, GateState, How


class GateShown(Struct, frozen=True, kw_only=True):
    """One condition that must hold before the printer can pause; see `judge.gates.Gate`."""

    key: str
    title: str
    state: GateState
    how: How
    reason: str
    cure: str

    @classmethod
    def of(cls, gate: Gate) -> "GateShown":
        """The gate, for the record."""
        return cls(key=gate.key, title=gate.title, state=gate.state, how=gate.how, reason=gate.reason, cure=gate.cure)

    @property
    def gate(self) -> Gate:
        """It as the judge gave it."""
        return Gate(self.key, self.title, self.state, self.how, self.reason, self.cure)


class Gates(Finding, frozen=True, kw_only=True, tag="gates"):
    """All of them in their order; `first_shut` is empty where none is shut."""

    gates: tuple[GateShown, ...]
    first_shut: str
    unknown: tuple[str, ...]
    drawn_before: Picture | None = None


class GateTold(Struct, frozen=True, kw_only=True):
    """What a printer's replies tell of one gate: open, shut, or None for not told; and how it would be known."""

    key: str
    told: bool | None
    how: str


class PauseTold(Finding, frozen=True, kw_only=True, tag="pause_told"):
    """What the console of a printer of another family tells of its pause; no pause was provoked."""

    gates: tuple[GateTold, ...]
    watches: str
    known_by: str
