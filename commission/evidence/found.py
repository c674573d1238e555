"""Entries of what was established."""

from typing import cast

from commission.evidence.entry import Entry
from commission.evidence.findings import AnyFinding
from commission.evidence.findings.base import Finding


class Established(Entry, frozen=True, kw_only=True, tag="finding"):
    """A finding went into the record."""

    finding: AnyFinding

    @classmethod
    def of(cls, finding: Finding) -> "Established":
        """The entry of any finding: the union holds every kind there is."""
        return cls(finding=cast("AnyFinding", finding))
