"""The open items of class A beside a verdict: those that this run raised, and those that the record has."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from commission.asking.message import Punch
from commission.asking.on_a_form import passed_on
from commission.asking.phase import Progress
from commission.asking.request import Hold, PhaseBegins, PhaseEnds, Request
from commission.asking.response import HoldReleased
from commission.asking.steps import Steps, establish
from commission.evidence.findings.meeting import UnsafeOpen
from commission.judge.unsafe import while_unsafe
from commission.vocabulary import PunchClass, Verdict

_T = TypeVar("_T")
NONE_PASSES = "While an item of class A (unsafe to go on) is open, a run is no pass, not a conditional one either"
STANDS = "What earlier runs found wrong stands; this one does not clear it:"


@dataclass(frozen=True)
class RaisedBefore:
    """An open item of class A of a run that is taken up: the phase that raised it, and which hold point settles it."""

    phase: str
    text: str
    settled_by: str = ""


@dataclass(frozen=True)
class OnRecord:
    """What earlier runs found wrong and a run leaves standing, each as a sentence, by what the run comes to."""

    beside_pass: tuple[str, ...] = ()
    beside_conditional: tuple[str, ...] = ()

    def beside(self, verdict: Verdict) -> tuple[str, ...]:
        """What stands beside this verdict; one that is no pass clears nothing, and nothing is asked of it."""
        return {Verdict.PASS: self.beside_pass, Verdict.CONDITIONAL: self.beside_conditional}.get(verdict, ())


NOTHING_STANDS = OnRecord()


@dataclass
class UnsafeItems:
    """The items of class A of a run, as they are raised and settled.

    Attributes:
        on_record: what earlier runs found.
        found: open now, in order.
    """

    on_record: OnRecord = NOTHING_STANDS
    found: list[RaisedBefore] = field(default_factory=list)
    _kept: tuple[RaisedBefore, ...] = ()
    _phase: str = ""

    @property
    def carried(self) -> int:
        """How many of them were raised before this run was taken up."""
        return sum(each in self._kept for each in self.found)

    def noted(self, steps: Steps[_T]) -> Steps[_T]:
        """Carry out steps, and note what they raise and settle."""
        return passed_on(steps, self._note)

    def keep(self, raised: Sequence[RaisedBefore], progress: Progress) -> None:
        """Take over what the phases raised that were done before this run was taken up, and still stand."""
        self._kept = tuple(each for each in raised if each.phase in progress.done)
        self.found = [*self._kept, *self.found]

    def _note(self, request: Request, response: object) -> None:
        match request:
            case PhaseBegins(name=name):  # done again, it is done whole
                self.found = [each for each in self.found if each.phase != name]
                self._phase = name
            case PhaseEnds():
                self._phase = ""
            case Punch(grade=PunchClass.UNSAFE):
                self.found.append(RaisedBefore(self._phase, request.text, request.settled_by))
            case Hold(key=key) if isinstance(response, HoldReleased):
                self.found = [each for each in self.found if each.settled_by != key]

    def beside(self, verdict: Verdict) -> Verdict:
        """The verdict that stands beside them; see `judge.unsafe`."""
        return while_unsafe(verdict, found_here=bool(self.found), on_record=bool(self.on_record.beside(verdict)))

    def said_beside(self, verdict: Verdict) -> tuple[str, ...]:
        """Why a verdict does not stand; empty where it does."""
        stands = self.beside(verdict)
        if stands is verdict:
            return ()
        here = tuple(f"Open in this run, class A: {each.text}" for each in self.found)
        record = self.on_record.beside(verdict)
        return (*here, *((STANDS, *record) if record else ()), f"{NONE_PASSES}: {stands.value}.")

    def held_against(self, verdict: Verdict) -> Steps[Verdict]:
        """The verdict that stands beside them, with a finding that says why where it is another one."""
        said = self.said_beside(verdict)
        if said:
            found = tuple(each.text for each in self.found)
            standing = self.on_record.beside(verdict)
            stands = self.beside(verdict)
            yield from establish(
                UnsafeOpen(sentences=said, verdict=stands, without=verdict, found=found, on_record=standing)
            )
        return self.beside(verdict)
