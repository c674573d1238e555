"""Takes a broken-off run up again: finds out what has changed since, and so which of its phases stand."""

from commission.asking.message import Tell
from commission.asking.phase import Phase, Progress, Voiding, carried_out
from commission.asking.request import Confirm
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings.meeting import ChangesSince
from commission.procedure.meeting.background import Continuation
from commission.procedure.meeting.identity import Match, PrinterMarks
from commission.procedure.settings.reading import read_settings

RESUME = Phase("resume", "Taking up a run again", "taking up the run")


def take_up(continuation: Continuation | None, now: PrinterMarks, match: Match) -> Steps[Progress]:
    """Find out what has changed since the run was broken off, and which phases stand.

    Args:
        continuation: the run to take up; None for one from the start.
        now: the marks of the printer that answers.
        match: how they compare with those of the tag's last record.
    """
    if continuation is None:
        return Progress()
    phase = RESUME.titled(f"Taking up {continuation.run} again")
    return (yield from carried_out(phase, _since(continuation, now, match)))


def _since(continuation: Continuation, now: PrinterMarks, match: Match) -> Steps[Progress]:
    done = ", ".join(continuation.done).replace("_", " ") or "nothing"
    yield Tell((f"It was broken off: {continuation.why.rstrip('.')}. Done so far: {done}.",))
    changes: set[Voiding] = set()
    if match is Match.DIFFERENT:
        changes.add(Voiding.PRINTER)
    if continuation.marks is not None and continuation.marks.firmware != now.firmware:
        changes.add(Voiding.FIRMWARE)
    if (yield from _wiring_touched(continuation)):
        changes.add(Voiding.WIRING)
    if (yield from _settings_changed(continuation)):
        changes.add(Voiding.SETTINGS)
    said = [f"Since it was broken off: {change.value}." for change in Voiding if change in changes]
    names = sorted(change.name.lower() for change in changes)
    told = tuple(said) or ("Nothing that matters has changed since.",)
    yield from establish(ChangesSince(sentences=told, changes=tuple(names)))
    return Progress(continuation.done, frozenset(changes))


def _wiring_touched(continuation: Continuation) -> Steps[bool]:
    lines = (f"The run was broken off at {continuation.broken_off_at[:16].replace('T', ' ')}.",)
    question = "Are sensor, cable and plugs untouched since then, and is what you noted of them right?"
    return not (yield from confirm(Confirm("resume.wiring_untouched", question, lines)))


def _settings_changed(continuation: Continuation) -> Steps[bool]:
    if not continuation.settings_digest:
        question = "Were the printer's settings left alone since then?"
        return not (yield from confirm(Confirm("resume.settings_untouched", question)))
    read = yield from read_settings()
    return read.snapshot is None or read.snapshot.digest != continuation.settings_digest
