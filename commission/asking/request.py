"""The vocabulary of a procedure: what a phase may ask for, and what it is answered.

A phase yields one of these requests and is sent the response. It holds no port, no terminal, no database and no clock.
Any request may be answered by an interruption instead: it is thrown into the phase as `Interrupted`.

    request      response
    Tell         None
    Confirm      bool
    Choose       the key of the option chosen
    Enter        the text, checked; empty only where that is allowed
    Form        several of these on one screen, from `sheet`: the answers by their keys, none where each is asked alone
    Known        one that was answered on a sheet before: its answer
    Ask          Exchange, from the conversation with the printer
    TakeTrial    TrialTaken
    Watch        WatchTaken; a Soak, from `soak`, SoakTaken
    Hold         HoldReleased
    Release      bool
    Recall       the finding, or None
    Reread       what a done phase was answered, from `reread`: tuple of RecordedAnswer
    Keep         the path of the file, as text
    Fingerprint  Mapping with name, place, sha256 and bytes, or None when it cannot be read
    RunMoves     MovesRun, from `moving`; so are Say (None) and Listen (Heard)
    Establish    None (a finding goes into the record)
    Punch        None (an open item goes into the record)
    PhaseBegins  None
    PhaseEnds    None
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from commission.asking.form import Form, Known
from commission.asking.message import Establish, Punch, Tell, Weight
from commission.asking.moving import Heard, Listen, MovesRun, RunMoves, Say
from commission.asking.question import Choose, Confirm, Enter, EntryKind, Option
from commission.asking.reread import RecordedAnswer, Reread
from commission.asking.response import HoldReleased, TrialTaken, WatchTaken
from commission.asking.soak import Soak, SoakTaken
from commission.dialect.commands import Command, Effect
from commission.evidence.findings.base import Finding
from commission.session import Exchange
from commission.vocabulary import Instruction, Presence

__all__ = ["Choose", "Confirm", "Enter", "EntryKind", "Option"]  # what is asked of a person is found here too


@dataclass(frozen=True)
class Ask:
    """Send one command and bring back all that came up to its acknowledgement.

    Attributes:
        timeout_s: silence allowed; keepalives extend it.
        release: key of the release under which a command goes out that does more than read; empty for a question.
    """

    command: Command
    timeout_s: float = 5.0
    release: str = ""


@dataclass(frozen=True)
class TakeTrial:
    """One trial, its moment and length fixed before the prompt is shown.

    Attributes:
        number: counted from 1 over all prompts of the run, `leave it` included; a repeat gets a new one.
        planned: how many prompts are planned as far as known.
        presence: what the operator will have declared once the instruction is followed.
        switch: the switch to read, as the printer names it.
        countdown_s: time from the prompt to the first reading of the dwell.
        readings: how many readings the dwell has.
        dwell_s: from the first reading to the last.
    """

    number: int
    planned: int
    cycle: int
    instruction: Instruction
    presence: Presence
    switch: str
    countdown_s: float
    readings: int
    dwell_s: float

    @property
    def key(self) -> str:
        """The request's name for a scripted operator."""
        return f"trial.{self.instruction.name.lower()}"


AS_FAST_AS_IT_GOES = 0.0
"""The interval of a watch that is read at the rate of the wire, one or two queries ahead."""


@dataclass(frozen=True)
class Watch:
    """Read the switch steadily while the operator does something, or nothing, with it.

    It ends when both the time and the number of readings are reached, each of known readings only (see `exposure`), or
    when it has taken twice the time. `lead_s` is the countdown before the first reading that counts, in which hands get
    to where they are needed; `word` says in one word what they do then, and without a lead what they do meanwhile. With
    `marks` it takes the keys of a trial.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    switch: str
    presence: Presence | None
    seconds: float
    readings: int
    interval_s: float = 0.1
    lead_s: float = 0.0
    word: str = ""
    marks: bool = False


@dataclass(frozen=True)
class Hold:
    """No further until the operator releases it.

    Attributes:
        steps: what to do, in order.
        release: the question whose yes releases it.
        power: the printer is switched off or the cable pulled meanwhile: the link is closed, and afterwards the
            printer is looked for again, opened and asked who it is.
        reflash: it is given another firmware meanwhile: what answers afterwards is this printer from then on,
            however it announces itself.
    """

    key: str
    title: str
    steps: tuple[str, ...]
    release: str
    power: bool = False
    cautions: tuple[str, ...] = ()
    reflash: bool = False


@dataclass(frozen=True)
class Release:
    """Ask the operator to release what does more than read; without it the conductor sends nothing of the kind.

    Attributes:
        key: names the release; commands that need it name it too.
        title: what is released, in a few words.
        lines: what will happen, and what must be true before it does.
        effects: the only effects that may follow under this key.
        question: how it is asked for, where the title does not say what it comes to.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    effects: frozenset[Effect]
    question: str = ""

    def __post_init__(self) -> None:
        if not self.key or not self.lines or not self.effects:
            raise ValueError("A release has a key, says what will happen, and names its effects")

    @property
    def asked(self) -> str:
        """The question as a person reads it."""
        return self.question or f"Release: {self.title}?"

    @property
    def weight(self) -> Weight:
        """Danger where something moves or heats, caution where settings change, else a plain question."""
        if self.effects & {Effect.MOTION, Effect.HEAT}:
            return Weight.DANGER
        return Weight.CAUTION if self.effects & {Effect.SETTING, Effect.ERASE} else Weight.NOTE


@dataclass(frozen=True)
class Recall:
    """Read the newest finding of this kind back from the book on the disk: what is not there was not saved.

    Attributes:
        earlier: look in the runs of the same printer before this one, not in this one.
        not_of: sensors whose findings are passed over.
    """

    kind: type[Finding]
    earlier: bool = False
    not_of: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fingerprint:
    """Say which file this is: its name, its place, its SHA-256 and its size in bytes; nothing of it is kept."""

    path: str


@dataclass(frozen=True)
class Keep:
    """Write a file beside the reports, as a settings backup or a small job.

    Attributes:
        name: file name without folder; characters a file system may refuse are replaced.
        text: its whole content.
        purpose: what it is, for the record, which also keeps its SHA-256.
    """

    name: str
    text: str
    purpose: str


@dataclass(frozen=True)
class PhaseBegins:
    """A phase boundary: a run can be taken up again here.

    Attributes:
        name: the phase's fixed name, as in `loop_check`.
        title: what the operator reads.
        step, steps: which of the planned ones it is; 0 where none were planned.
        takes_s, left_s: what it was planned to take, and with it all that comes.
    """

    name: str
    title: str
    step: int = 0
    steps: int = 0
    takes_s: float = 0.0
    left_s: float = 0.0


@dataclass(frozen=True)
class PhaseEnds:
    """The phase came to its own end."""

    name: str


_OfAPerson = Confirm | Choose | Enter | Form | Known | Release | TakeTrial | Watch | Soak | Hold
_OfThePrinter = Ask | RunMoves | Say | Listen
_OfTheRecord = Recall | Reread | Keep | Fingerprint
_Said = PhaseBegins | PhaseEnds | Tell | Establish | Punch
Request = _OfAPerson | _OfThePrinter | _OfTheRecord | _Said
Taken = Exchange | TrialTaken | WatchTaken | HoldReleased | MovesRun | Heard | SoakTaken
Response = None | bool | str | Finding | Mapping[str, Any] | tuple[RecordedAnswer, ...] | Taken
