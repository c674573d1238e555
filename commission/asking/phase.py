"""Which phases of a run are done and stand: a done one stays done until something that makes it void has happened.

A run is taken up at a phase boundary, never inside a phase: the real world is not replayed. Each phase declares by
`VOIDED_BY` which changes make it void. What a phase found is read back from the book, not remembered.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeVar

from commission.asking.steps import Steps, establish
from commission.evidence.findings.meeting import TakenOver

_T = TypeVar("_T")


class Change(Enum):
    """What can have happened between breaking off and going on."""

    PRINTER = "another printer"
    FIRMWARE = "another firmware"
    WIRING = "the wiring was touched"
    SETTINGS = "the settings changed"


@dataclass
class Progress:
    """Which phases of a run are done and stand.

    Attributes:
        done: their names with what each kept; empty for a run from the start.
        changes: what has happened since.
    """

    done: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    changes: frozenset[Change] = frozenset()

    def stands(self, name: str, voided_by: frozenset[Change]) -> bool:
        """Whether a phase need not be done again. Another printer voids every phase."""
        return name in self.done and not self.changes & (voided_by | {Change.PRINTER})

    def unless_done(
        self,
        name: str,
        voided_by: frozenset[Change],
        steps: Steps[_T],
        revive: Callable[[Mapping[str, Any]], Steps[_T | None]],
    ) -> Steps[_T]:
        """Carry the phase out, or read back what it found.

        Args:
            name: the phase's fixed name.
            voided_by: the changes that make it void.
            steps: the phase, not yet begun.
            revive: reads its result back, given what the phase kept; None when the book does not hold it.
        """
        if name not in self.done:
            return (yield from steps)
        if self.stands(name, voided_by):
            result = yield from revive(self.done[name])
            if result is not None:
                steps.close()
                said = f"Already done in this run and still valid: {name.replace('_', ' ')}."
                yield from establish(TakenOver(sentences=(said,), phase=name))
                return result
        yield from establish(TakenOver(sentences=(self._void(name, voided_by),), phase=name, void=True))
        return (yield from steps)

    def _void(self, name: str, voided_by: frozenset[Change]) -> str:
        causes = sorted(change.value for change in self.changes & (voided_by | {Change.PRINTER}))
        why = ", ".join(causes) or "the book does not hold all it found"
        return f"Done before and void now, so it is done again: {name} ({why})."
