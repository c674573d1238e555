"""Which tests of a room run which of its lines, as `scripts.mutation.measuring` wrote it down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

NET = "test_transcripts"
"""The tests of a room that compare all it asks, says and finds: most slips show there, so they are run first."""
NO_TEST = ""


class Reached:
    """What was measured in one room.

    Args:
        found: of each file the tests by line; the tests that start other processes; those that stand on something which
            their file begins anew; and how long each takes.
    """

    def __init__(self, found: Mapping[str, Any]) -> None:
        self._lines: Mapping[str, Mapping[str, Sequence[str]]] = found["lines"]
        self._starting = frozenset[str](found["starting"])
        self._begun_anew = frozenset[str](found["begun_anew"])
        self._seconds: Mapping[str, float] = found["seconds"]

    def by(self, path: str, lines: range) -> list[str] | None:
        """The tests to try a mutant of these lines by; None where they are run outside of all tests too.

        First those that run one of the lines: the net of the room, then the quickest. Then all that start a process,
        for what it runs is not seen.
        """
        measured = self._lines.get(path, {})
        here = {test for line in lines for test in measured.get(str(line), ())}
        if NO_TEST in here or NO_TEST in self._starting:
            return None
        return sorted(here, key=self._turn) + sorted(self._starting - here, key=self._turn)

    def _turn(self, test: str) -> tuple[bool, str, float]:
        """The net first; last, file by file, those that share what takes time to begin."""
        file = test.split("::", 1)[0]
        return NET not in file, file if test in self._begun_anew else "", self._seconds.get(test, 0.0)
