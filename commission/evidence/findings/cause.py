"""What was established of the cause of a wrong reading, and of a printer at its periodic check."""

from typing import ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.findings.loop import Judgement
from commission.evidence.observations import Observed


class CauseClass(Struct, frozen=True, kw_only=True):
    """Causes that no test at hand separates, with their weight together and what to do about them."""

    members: tuple[str, ...]
    titles: tuple[str, ...]
    weight: float
    cures: tuple[str, ...]


class Diagnosis(Finding, frozen=True, kw_only=True, tag="diagnosis"):
    """What may be wrong, the likeliest first.

    Attributes:
        odds: of the first class against the next.
        unlikely: the causes that are not listed, with their weight together.
        next_test: the safe one that tells most; None for none.
        unsafe: tests that would tell, and are not asked for.
    """

    newest_stands: ClassVar[bool] = True
    decided: bool
    odds: float
    needed_odds: float
    reason: str
    classes: tuple[CauseClass, ...]
    unlikely: tuple[str, ...]
    unlikely_together: float
    next_test: str | None
    gain_bits: float
    unsafe: tuple[str, ...]
    observations: tuple[Observed, ...]
    drawn_before: Picture | None = None


class CheckJudged(Judgement, frozen=True, kw_only=True, tag="check"):
    """A periodic check as a whole.

    Attributes:
        not_judged: names of its rules without a verdict.
        unsettled: what earlier runs found unsafe and this check cannot clear, each as a sentence.
    """

    newest_stands: ClassVar[bool] = True
    kind: str
    switch: str | None
    unattended: bool
    not_judged: tuple[str, ...]
    unsettled: tuple[str, ...] = ()
