"""Findings as a test looks at them: the newest of each kind, by its type."""

from collections.abc import Iterable, Iterator
from typing import TypeVar

from commission.evidence.findings.base import Finding
from tests.support.codec import read_back

_F = TypeVar("_F", bound=Finding)


class KeptFindings:
    """What was established, in order; `kept[Polarity]` is the newest polarity.

    What is kept has been through the book: each finding that any procedure establishes in a test must come back as it
    was written.
    """

    def __init__(self, findings: Iterable[Finding] = ()) -> None:
        self._kept: list[Finding] = []
        for finding in findings:
            self.keep(finding)

    def keep(self, finding: Finding) -> None:
        """Take one more.

        Raises:
            AssertionError: the book does not give it back as it was.
        """
        back = read_back(finding)
        assert finding == back, f"{finding} comes back as {back}"
        self._kept.append(back)

    def of(self, kind: type[_F]) -> list[_F]:
        """All of this kind, in order."""
        return [each for each in self._kept if isinstance(each, kind)]

    def get(self, kind: type[_F]) -> _F | None:
        """The newest of this kind; None where there is none."""
        found = self.of(kind)
        return found[-1] if found else None

    def __getitem__(self, kind: type[_F]) -> _F:
        """The newest of this kind.

        Raises:
            KeyError: there is none.
        """
        found = self.get(kind)
        if found is None:
            raise KeyError(kind.name())
        return found

    def __contains__(self, kind: type[Finding]) -> bool:
        return self.get(kind) is not None

    def __iter__(self) -> Iterator[Finding]:
        return iter(self._kept)

    def __len__(self) -> int:
        return len(self._kept)
