"""Entries of what was established."""

from commission.evidence.entry import Entry
from commission.evidence.findings import AnyFinding


class Established(Entry, frozen=True, kw_only=True, tag="finding"):
    """A finding went into the record."""

    finding: AnyFinding
