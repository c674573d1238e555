"""What the book says of a printer up to a run: the newest finding of each kind that tells what is fitted to it."""

from collections.abc import Iterable
from dataclasses import dataclass

from commission.evidence.entry import AnyRecord, of_kind
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import FunctionTest, Reserve
from commission.evidence.findings.loop import FailSafeFound, Polarity
from commission.evidence.findings.meeting import NextCheck, PrinterIdentity
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.reported import RunoutControlled
from commission.evidence.findings.wiring import InputClaims, Wiring
from commission.evidence.found import Established

FITTED = (
    *(PrinterIdentity, Wiring, InputClaims, Polarity, FailSafeFound, PullProof, Reserve, RunoutControlled),
    *(FunctionTest, NextCheck),
)
"""The kinds that the first page tells; the newest of each is looked for in the printer's earlier runs too."""


@dataclass(frozen=True)
class Kept:
    """A finding with the number of the run that established it."""

    run: str
    finding: Finding


def newest_of_each(records: Iterable[AnyRecord], runs: Iterable[str]) -> tuple[Kept, ...]:
    """The newest finding of each of these kinds, one at most a kind.

    Args:
        records: entries of the book in order.
        runs: the numbers of the printer's runs.
    """
    known = set(runs)
    newest: dict[type[Finding], Kept] = {}
    for record in of_kind(records, Established):
        kind = next((each for each in FITTED if isinstance(record.entry.finding, each)), None)
        if kind is not None and record.run in known:
            newest[kind] = Kept(record.run, record.entry.finding)
    return tuple(newest.values())
