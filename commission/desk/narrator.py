"""One sentence per change, on a line of its own: what a screen reader can follow and a transcript can keep.

A change is a prompt, the start of a countdown, the start of a dwell, a result, a reading that differs from the last
one said, or a new note. Nothing is ever redrawn, no line is left open, and no colour or cursor movement is used.
"""

from collections.abc import Iterable
from typing import TextIO

from commission.desk import wording
from commission.desk.base import Status
from commission.procedure.request import (
    Choose,
    Confirm,
    Enter,
    Establish,
    Hold,
    Punch,
    TakeTrial,
    Tell,
    TrialTaken,
    Watch,
    WatchTaken,
)

# A noisy contact can change ten times a second. After so many changes within one trial, watch or question the rest is
# only counted: the result line and the record have them all, and a voice reading them out would drown the instruction.
CHANGES_SAID = 8


class Narrator:
    """Writes requests and changes to a stream as plain lines."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._trial: TakeTrial | None = None
        self._counting = False
        self._said = Status()
        self._changes = 0
        self._unsaid = 0

    def say(self, *lines: str) -> None:
        """Write lines that come from `wording`; what the stream's encoding lacks is spelled out."""
        encoding = getattr(self._out, "encoding", None) or "utf-8"
        for line in lines:
            self._out.write(line.encode(encoding, "backslashreplace").decode(encoding) + "\n")
        self._out.flush()

    def tell(self, message: Tell) -> None:
        """Say a message."""
        self.say(*wording.tell(message))

    def ask(self, request: Confirm | Choose | Enter | Hold) -> None:
        """Say a question; the readings said before it no longer count."""
        self._forget()
        self._trial = None
        self.say(*_question(request))

    def begin_trial(self, request: TakeTrial) -> None:
        """Say the prompt of a trial and that its countdown runs."""
        self._forget()
        self._trial = request
        self.say(*wording.trial(request))

    def begin_watch(self, request: Watch) -> None:
        """Say what is to be done during a watch."""
        self._forget()
        self._trial = None
        self.say(*wording.watch(request))

    def change(self, status: Status) -> None:
        """Say what differs from the status said last; time passing and progress are no changes."""
        self._dwell(status)
        if (status.reading, status.wire_word) != (self._said.reading, self._said.wire_word):
            self._change(status)
        if status.note and status.note != self._said.note:
            self.say(f"{wording.clean(status.note)}.")
        self._said = status

    def end_trial(self, request: TakeTrial, taken: TrialTaken) -> None:
        """Say what the dwell was."""
        self._end([wording.trial_taken(request, taken)])

    def end_watch(self, request: Watch, taken: WatchTaken) -> None:
        """Say what the watch saw."""
        self._end([wording.watch_taken(request, taken)])

    def establish(self, finding: Establish) -> None:
        """Say a finding."""
        self.say(*wording.establish(finding))

    def punch(self, item: Punch) -> None:
        """Say an open item."""
        self.say(wording.punch(item))

    def _dwell(self, status: Status) -> None:
        running = bool(status.seconds_left)
        if self._trial is not None and not running and (self._counting or status.progress):
            self.say(wording.dwell(self._trial))
            self._trial = None
        self._counting = running

    def _change(self, status: Status) -> None:
        self._changes += 1
        if self._changes <= CHANGES_SAID:
            self.say(f"Reading: {wording.reading(status)}.")
        elif self._changes == CHANGES_SAID + 1:
            self.say("The reading keeps changing; further changes are counted, not said.")
        self._unsaid = max(0, self._changes - CHANGES_SAID)

    def _end(self, lines: Iterable[str]) -> None:
        more = wording.count(self._unsaid, "change")
        self.say(*([f"{more} of the reading not said."] if self._unsaid else []), *lines)
        self._trial = None
        self._forget()

    def _forget(self) -> None:
        self._said, self._counting, self._changes, self._unsaid = Status(), False, 0, 0


def _question(request: Confirm | Choose | Enter | Hold) -> list[str]:
    match request:
        case Confirm():
            return wording.confirm(request)
        case Choose():
            return wording.choose(request)
        case Enter():
            return wording.enter(request)
        case Hold():
            return wording.hold(request)
