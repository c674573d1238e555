"""What was established of the pull that holds an unplugged input."""

from enum import Enum
from typing import ClassVar

from commission.evidence.findings.base import Finding
from commission.judge import evidence
from commission.vocabulary import PullConclusion, Reading
from commission.wiring.installation import Terminal


class PullProofBy(Enum):
    """By what the pull is proven."""

    RESISTORS = "resistors"
    METER = "meter"
    VOLTMETER = "voltmeter"
    LEFT_OUT = "left out"


class PullProof(Finding, frozen=True, kw_only=True, tag="pull_proof"):
    """Whether something holds the input with the sensor unplugged.

    Attributes:
        how: by what it was tried.
        conclusion: what it came to; None where it was left out.
        current_a: through 1 kilohm, by a meter; None for none.
        to: the terminal that the resistor went to from signal; None where it was left out.
        free, small, large, small_again, large_again: what the input read with nothing fitted, with 1 kilohm, with
            220 kilohm, and with each once more; unknown where it was unsteady or not read, None where it was not tried.
        small_v, large_v, small_again_v: across each resistor, by a meter, in volts; None for none.
    """

    title: ClassVar[str] = "Proof of the pull"

    how: PullProofBy
    conclusion: PullConclusion | None
    to: Terminal | None = None
    current_a: float | None = None
    free: Reading | None = None
    small: Reading | None = None
    large: Reading | None = None
    small_again: Reading | None = None
    large_again: Reading | None = None
    small_v: float | None = None
    large_v: float | None = None
    small_again_v: float | None = None

    @property
    def result(self) -> evidence.PullResult | None:
        """It as the judge takes it."""
        return None if self.conclusion is None else evidence.PullResult(self.conclusion, " ".join(self.sentences))
