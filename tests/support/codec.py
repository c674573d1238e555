"""Findings through the book and back, without a book."""

from typing import TypeVar

from commission.evidence import codec
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.records.chain import canonical

_F = TypeVar("_F", bound=Finding)


def read_back(finding: _F) -> _F:
    """The finding as it is read after it was written.

    Raises:
        AssertionError: it cannot be read, or comes back as another kind.
    """
    text = canonical(codec.written(Established.of(finding)))
    entry, _ = codec.read(Established.kind(), text)
    assert isinstance(entry, Established), entry
    found = entry.finding
    assert isinstance(found, type(finding))
    return found
