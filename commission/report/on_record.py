"""What the book says of a printer up to a run: the newest finding of each kind that tells what is fitted to it."""

from collections.abc import Iterable
from dataclasses import dataclass

from commission.evidence.entry import AnyRecord
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import FunctionTest, Reserve
from commission.evidence.findings.loop import FailSafeFound, Polarity
from commission.evidence.findings.meeting import NextCheck, PrinterIdentity
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.reported import RunoutControlled
from commission.evidence.findings.wiring import InputClaims, Wiring
from commission.evidence.found import Established
from commission.evidence.runs import Note

FITTED = (
    *(PrinterIdentity, Wiring, InputClaims, Polarity, FailSafeFound, PullProof, Reserve, RunoutControlled),
    *(FunctionTest, NextCheck),
)
"""The kinds that the first page tells; the newest of each is looked for in the printer's earlier runs too."""


@dataclass(frozen=True)
class Kept:
    """A finding with the number of the run that established it, or what stands in its place in notes."""

    run: str
    finding: Finding


def newest_of_each(records: Iterable[AnyRecord], runs: Iterable[str]) -> tuple[Kept, ...]:
    """The newest finding of each of these kinds, one at most a kind.

    Args:
        records: entries of the book in order; of a note the wiring that it declares.
        runs: the numbers of the printer's runs, and what stands in place of one in the notes on it.
    """
    known = set(runs)
    newest: dict[type[Finding], Kept] = {}
    for record in records:
        match record.entry:
            case Established(finding=finding) | Note(wiring=Wiring() as finding):
                kind = next((each for each in FITTED if isinstance(finding, each)), None)
                if kind is not None and record.run in known:
                    newest[kind] = Kept(record.run, finding)
    return tuple(newest.values())
