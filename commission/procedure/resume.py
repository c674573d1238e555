"""Takes a broken-off run up again: phases done stay done, unless something that makes them void has happened since.

A run is taken up at a phase boundary, never inside a phase: the real world is not replayed. Each phase declares by
`VOIDED_BY` which changes make it void. What a phase found is read back from the book, not remembered.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeVar

from commission.evidence.findings.meeting import ChangesSince, TakenOver
from commission.procedure.identity import Match, PrinterMarks
from commission.procedure.message import Tell
from commission.procedure.request import Confirm, PhaseBegins, PhaseEnds
from commission.procedure.settings_reading import read_settings
from commission.procedure.steps import Steps, confirm, establish

_T = TypeVar("_T")
NAME = "resume"


class Change(Enum):
    """What can have happened between breaking off and going on."""

    PRINTER = "another printer"
    FIRMWARE = "another firmware"
    WIRING = "the wiring was touched"
    SETTINGS = "the settings changed"


@dataclass(frozen=True)
class Continuation:
    """The run that is taken up again.

    Attributes:
        run: its number.
        broken_off_at: wall time of its last entry, ISO 8601.
        why: what became of it.
        done: the phases that came to their own end, with what each kept.
        marks: of the printer it was done on; None when it did not get so far.
        settings_digest: of its last settings report; empty when none was read, or the run changed settings after it.
    """

    run: str
    broken_off_at: str
    why: str
    done: Mapping[str, Mapping[str, Any]]
    marks: PrinterMarks | None = None
    settings_digest: str = ""


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


def take_up(continuation: Continuation | None, now: PrinterMarks, match: Match) -> Steps[Progress]:
    """Find out what has changed since the run was broken off, and which phases stand.

    Args:
        continuation: the run to take up; None for one from the start.
        now: the marks of the printer that answers.
        match: how they compare with those of the tag's last record.
    """
    if continuation is None:
        return Progress()
    yield PhaseBegins(NAME, f"Taking up {continuation.run} again")
    done = ", ".join(continuation.done).replace("_", " ") or "nothing"
    yield Tell((f"It was broken off: {continuation.why.rstrip('.')}. Done so far: {done}.",))
    changes = set()
    if match is Match.DIFFERENT:
        changes.add(Change.PRINTER)
    if continuation.marks is not None and continuation.marks.firmware != now.firmware:
        changes.add(Change.FIRMWARE)
    if (yield from _wiring_touched(continuation)):
        changes.add(Change.WIRING)
    if (yield from _settings_changed(continuation)):
        changes.add(Change.SETTINGS)
    said = [f"Since it was broken off: {change.value}." for change in Change if change in changes]
    names = sorted(change.name.lower() for change in changes)
    told = tuple(said) or ("Nothing that matters has changed since.",)
    yield from establish(ChangesSince(sentences=told, changes=tuple(names)))
    yield PhaseEnds(NAME, {"changes": names})
    return Progress(continuation.done, frozenset(changes))


def _wiring_touched(continuation: Continuation) -> Steps[bool]:
    lines = (f"The run was broken off at {continuation.broken_off_at[:16].replace('T', ' ')}.",)
    question = "Are sensor, cable and plugs as they were then, untouched?"
    return not (yield from confirm(Confirm("resume.wiring_untouched", question, lines)))


def _settings_changed(continuation: Continuation) -> Steps[bool]:
    if not continuation.settings_digest:
        question = "Were the printer's settings left alone since then?"
        return not (yield from confirm(Confirm("resume.settings_untouched", question)))
    read = yield from read_settings()
    return read.snapshot is None or read.snapshot.digest != continuation.settings_digest
