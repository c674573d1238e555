"""A phase of a job, and which phases of a run that is taken up again still stand.

A run is taken up at a phase boundary, never inside a phase: the real world is not replayed. What a done phase came to
is worked out again from the answers that the book holds (`replay`); nothing else is remembered of it.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from enum import Enum
from functools import wraps
from typing import ParamSpec, TypeVar

from commission.asking.leave_out import Record, leave_out, said_left_out
from commission.asking.replay import worked_out_again
from commission.asking.request import Confirm, PhaseBegins, PhaseEnds
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings.meeting import LeftOut, TakenOver

_T = TypeVar("_T")
_P = ParamSpec("_P")


class Voiding(Enum):
    """What can have happened between breaking off and going on, and makes done phases void."""

    PRINTER = "another printer"
    FIRMWARE = "another firmware"
    WIRING = "the wiring was touched"
    SETTINGS = "the settings changed"


@dataclass(frozen=True)
class Phase:
    """A part of a job between two boundaries at which a run can be taken up.

    Attributes:
        name: stands in the book and never changes.
        title: what the operator reads when it begins.
        what: how it is called in a sentence, as in `the loop check`.
        voided_by: what makes it void once it is done; another printer voids every phase.
    """

    name: str
    title: str
    what: str
    voided_by: frozenset[Voiding] = frozenset()

    def titled(self, title: str) -> "Phase":
        """The same phase where its title names something."""
        return replace(self, title=title)


def carried_out(phase: Phase, steps: Steps[_T]) -> Steps[_T]:
    """Carry the steps out between the phase's boundaries."""
    yield PhaseBegins(phase.name, phase.title)
    result = yield from steps
    yield PhaseEnds(phase.name)
    return result


def steps_of(phase: Phase) -> Callable[[Callable[_P, Steps[_T]]], Callable[_P, Steps[_T]]]:
    """Mark a function whose steps are the whole phase: they are carried out between its boundaries."""

    def bounded(function: Callable[_P, Steps[_T]]) -> Callable[_P, Steps[_T]]:
        @wraps(function)
        def within(*args: _P.args, **kwargs: _P.kwargs) -> Steps[_T]:
            return carried_out(phase, function(*args, **kwargs))

        return within

    return bounded


def offer(phase: Phase, question: Confirm, record: Record | None = None, *, needed: bool = False) -> Steps[bool]:
    """Offer a phase; one that is left out is left out with a reason, and that goes into the record.

    Args:
        phase: what is offered.
        question: its key ends in `.now`; that of the reason begins alike.
        record: the finding that says so, from the reason; `LeftOut` where the phase has none of its own.
        needed: whether a reason must be given.
    """
    if (yield from confirm(question)):
        return True
    begins = question.key.removesuffix(".now")

    def left_out(reason: str) -> LeftOut:
        return LeftOut(sentences=(said_left_out(phase.what, reason),), phase=begins, reason=reason)

    yield from leave_out(phase.what, f"{begins}.skip_reason", record or left_out, needed=needed)
    return False


@dataclass(frozen=True)
class Progress:
    """Which phases of a run are done and stand.

    Attributes:
        done: their names; empty for a run from the start.
        voiding: what has happened since.
    """

    done: Collection[str] = ()
    voiding: frozenset[Voiding] = frozenset()

    def stands(self, phase: Phase) -> bool:
        """Whether it is done and nothing has made it void."""
        return phase.name in self.done and not self._causes(phase)

    def again(self, phase: Phase, steps: Steps[_T]) -> Steps[_T | None]:
        """What a done phase came to, with that said; None for one that is not done, is void, or came to nothing.

        Args:
            phase: the phase.
            steps: it as it would be carried out now, not yet begun; they are used up.
        """
        if phase.name not in self.done:
            return None
        result = (yield from worked_out_again(steps, phase.name)) if self.stands(phase) else None
        steps.close()
        said = f"Already done in this run and still valid: {phase.what}."
        if result is None:
            said = f"Done before and void now, so it comes again: {phase.what} ({self._why(phase)})."
        yield from establish(TakenOver(sentences=(said,), phase=phase.name, void=result is None))
        return result

    def do(self, phase: Phase, steps: Callable[[], Steps[_T]]) -> Steps[_T]:
        """Carry the phase out, or say what it came to where it stands.

        Args:
            phase: the phase.
            steps: makes its steps, with the boundaries.
        """
        result = yield from self.again(phase, steps())
        return (yield from steps()) if result is None else result

    def offered(
        self,
        phase: Phase,
        question: Confirm,
        steps: Callable[[], Steps[_T]],
        record: Record | None = None,
        *,
        needed: bool = False,
    ) -> Steps[_T | None]:
        """The phase, done now or before; None where it is left out. See `do` and `offer`."""
        result = yield from self.again(phase, steps())
        if result is None and (yield from offer(phase, question, record, needed=needed)):
            result = yield from steps()
        return result

    def _causes(self, phase: Phase) -> frozenset[Voiding]:
        return self.voiding & (phase.voided_by | {Voiding.PRINTER})

    def _why(self, phase: Phase) -> str:
        causes = sorted(cause.value for cause in self._causes(phase))
        return ", ".join(causes) or "the book holds no result of it"


FROM_THE_START = Progress()
"""Nothing is done yet."""
