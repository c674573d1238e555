"""Findings between their types and the form the book still holds them in; it goes once entries are typed too."""

from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from commission.evidence import codec
from commission.evidence.findings.base import Finding
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.found import Established
from commission.records.book import Book, BookError
from commission.records.chain import canonical
from commission.records.history import newest_finding

_F = TypeVar("_F", bound=Finding)


def as_facts(finding: Finding) -> dict[str, Any]:
    """The finding as its entry holds it."""
    name = f"resume.{finding.phase}" if isinstance(finding, TakenOver) else finding.name()
    return {"name": name, "sentences": list(finding.sentences), "facts": finding.values}


def typed(kind: type[_F], facts: Mapping[str, Any]) -> _F:
    """The finding of that kind with these facts; its sentences are not among them.

    Raises:
        BookError: it cannot be read.
    """
    text = canonical({"name": kind.name(), "sentences": [], "facts": facts})
    entry, _ = codec.read(Established.kind(), text)
    finding = entry.finding if isinstance(entry, Established) else None
    if not isinstance(finding, kind):
        raise BookError(f"A finding of the book cannot be read: {entry}. Look at it with `commission book verify`.")
    return finding


def recalled(book: Book, kind: type[_F], numbers: Collection[str]) -> _F | None:
    """The newest finding of that kind in these runs.

    Raises:
        BookError: it cannot be read.
    """
    facts = newest_finding(book, kind.name(), numbers)
    return None if facts is None else typed(kind, facts)
