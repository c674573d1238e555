"""One sentence per change, on lines of its own: what a screen reader can follow and a transcript can keep.

A change is a prompt, the start of a countdown, the start of a dwell, a result, a reading that differs from the last
one said, or a new note. Nothing is ever redrawn, no line is left open, and no colour or cursor movement is used.
"""

from collections.abc import Callable, Iterable
from typing import TextIO

from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Choose, Confirm, Enter, Hold, TakeTrial, Watch
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk import wording
from commission.desk.base import Status
from commission.folding import for_reader

# A noisy contact can change ten times a second. After so many changes the rest is only counted until the reading has
# stayed the same for a while: the result line and the record have them all, and a voice reading them out would drown
# the instruction.
CHANGES_SAID = 8
STEADY_AFTER = 10


class Narrator:
    """Writes requests and changes to a stream as plain lines.

    Args:
        out: the stream.
        gone: called once when the stream takes nothing any more; later lines are dropped, as nobody can read them, so
            that the way out of a run is still walked to its end.
    """

    def __init__(self, out: TextIO, gone: Callable[[], None]) -> None:
        self._out = out
        self._gone: Callable[[], None] | None = gone
        self._trial: TakeTrial | None = None
        self._counting = False
        self._said = Status()
        self._changes = 0
        self._steady = 0
        self._unsaid = 0
        self._apart = False

    def say(self, *lines: str) -> None:
        """Write lines that come from `wording`; what the stream's encoding lacks is spelled out."""
        encoding = getattr(self._out, "encoding", None) or "utf-8"
        said = [line.encode(encoding, "backslashreplace").decode(encoding) for line in lines]
        self._write("".join(for_reader(self._out, line, "") + "\n" for line in said))

    def ring(self) -> None:
        """Sound the terminal bell."""
        self._write("\a")

    def _write(self, text: str) -> None:
        gone = self._gone
        if gone is None:
            return
        try:
            self._out.write(text)
            self._out.flush()
        except OSError:
            self._gone = None
            gone()

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

    def change(self, status: Status, *, apart: bool = False) -> None:
        """Say what differs from the status said last; time passing and progress are no changes.

        Args:
            status: what is true now.
            apart: begin on a fresh line, because somebody may be typing on the present one.
        """
        self._apart = apart
        self._dwell(status)
        if (status.reading, status.wire_word) == (self._said.reading, self._said.wire_word):
            self._same(status)
        else:
            self._differs(status)
        if status.note and status.note != self._said.note:
            self._say_change(f"{wording.clean(status.note)}.")
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

    def _differs(self, status: Status) -> None:
        self._changes += 1
        self._steady = 0
        if self._changes <= CHANGES_SAID:
            self._say_change(f"Reading: {wording.reading(status)}.")
            return
        self._unsaid += 1
        if self._changes == CHANGES_SAID + 1:
            self._say_change("The reading keeps changing; further changes are counted, not said.")

    def _same(self, status: Status) -> None:
        self._steady += 1
        if self._steady != STEADY_AFTER:
            return
        if self._changes > CHANGES_SAID:
            self._say_change(f"The reading is steady again: {wording.reading(status)}.")
        self._changes = 0

    def _say_change(self, line: str) -> None:
        self.say(*[""] * self._apart, line)

    def _end(self, lines: Iterable[str]) -> None:
        more = wording.count(self._unsaid, "change")
        self.say(*([f"{more} of the reading not said."] if self._unsaid else []), *lines)
        self._trial = None
        self._forget()

    def _forget(self) -> None:
        self._said, self._counting = Status(), False
        self._changes, self._steady, self._unsaid = 0, 0, 0


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
