"""The request to read back what a done phase of this run was answered, and one such answer."""

from dataclasses import dataclass

from commission.evidence.entry import Entry
from commission.evidence.findings.base import Finding


@dataclass(frozen=True)
class Reread:
    """Read back what the phase of this name was answered when this run last carried it out to its end."""

    phase: str


@dataclass(frozen=True)
class RecordedAnswer:
    """One answer as the book holds it; `response_of` gives it back to the request that it answers.

    Attributes:
        entry: what was written of it; of a finding that was read back, what was asked for.
        finding: the finding that was read back then; None where there was none, and with every other answer.
    """

    entry: Entry
    finding: Finding | None = None
