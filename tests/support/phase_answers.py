"""What each phase was answered, as the book would hold it, for tests without one."""

from commission.asking import table
from commission.asking.form import Known
from commission.asking.request import Keep, PhaseBegins, PhaseEnds, Recall, Request
from commission.asking.reread import RecordedAnswer
from commission.asking.table import ANSWERED
from commission.evidence.findings.base import Finding
from commission.evidence.talk import FileKept


class PhaseAnswers:
    """Takes every request with its response, in order; `of` gives back what a done phase was answered."""

    def __init__(self) -> None:
        self._done: dict[str, tuple[RecordedAnswer, ...]] = {}
        self._now: list[RecordedAnswer] = []

    def note(self, request: Request, response: object) -> None:
        """Take one more."""
        match request:
            case PhaseBegins():
                self._now = []
            case PhaseEnds():
                self._done[request.name] = tuple(self._now)
            case Recall():
                found = response if isinstance(response, Finding) else None
                self._now.append(RecordedAnswer(table.before(request), found))
            case Keep():
                kept = FileKept(path=str(response), purpose=request.purpose, sha256="0" * 64, bytes=1)
                self._now.append(RecordedAnswer(kept))
        if isinstance(request, (*ANSWERED, Known)):
            entry = table.after(request, response)  # type: ignore[arg-type]
            if entry is not None and not isinstance(request, Recall):
                self._now.append(RecordedAnswer(entry))

    def of(self, phase: str) -> tuple[RecordedAnswer, ...]:
        """What that phase was answered; nothing where it came to no end."""
        return self._done.get(phase, ())

    @property
    def done(self) -> tuple[str, ...]:
        """The phases that came to their end."""
        return tuple(self._done)
