"""Entries of a run as a whole, of its phases and of its port."""

from typing import Any

from msgspec import Struct, field

from commission.evidence.entry import Count, Entry
from commission.evidence.findings.wiring import Wiring
from commission.judge.plan import Plan
from commission.vocabulary import Outcome, Verdict

REWIRING = "rewiring"
"""What a note says that sensor, cable or plug was changed or moved: another wiring begins with it."""
WIRING_DECLARED = "wiring-declared"
"""What a note says that holds a wiring declared without a run: a person's word, which proves and settles nothing."""
RULES = 4
"""Number of the rules that verdicts are given by; raised whenever the same evidence would be judged otherwise.

4: of a power-up that was broken off, *in* counts however little else was read; 3: not so; nothing passes beside an open
item of class A, and power-ups that were broken off count; 2: not so; a pass needs the proof of the pull; 1: it did not.
"""


class _Beginning(Entry, frozen=True, kw_only=True):
    """What is fixed before anything is measured.

    Attributes:
        number: unique in the book, printed on the report.
        tag: the owner's name for the printer.
        purpose: `install` or another job.
        plan: of the trials; None for a job without any.
        follows: number of the run whose advice was carried out just before; empty for none.
    """

    number: str
    tag: str
    purpose: str
    site: str = ""
    operator: str = ""
    port: str = ""
    tool_version: str = ""
    python: str = ""
    timezone: str = ""
    plan: Plan | None = None
    plan_sentences: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    blind_spots: tuple[str, ...] = ()
    follows: str = ""


class RunStarted(_Beginning, frozen=True, kw_only=True, tag="run_started"):
    """A run begins."""


class RunResumed(_Beginning, frozen=True, kw_only=True, tag="run_resumed"):
    """A broken-off run is taken up again."""


class Attempt(Struct, frozen=True, array_like=True):
    """One thing that was tried on the way out, and what became of it."""

    what: str
    delivered: str
    detail: str = ""


class WayOut(Struct, frozen=True, kw_only=True):
    """What was made safe at the end.

    Attributes:
        needed: whether there was anything to make safe.
        doing: what the printer was doing; empty where nothing was needed.
        complete: everything was delivered and read back.
        sentence: it in one line.
    """

    needed: bool = False
    doing: str = ""
    attempted: tuple[Attempt, ...] = ()
    complete: bool = True
    sentence: str = ""


class MadeSafe(Entry, frozen=True, kw_only=True, tag="made_safe"):
    """What was made safe, written before the run's end."""

    way_out: WayOut


class RunEnded(Entry, frozen=True, kw_only=True, tag="run_ended"):
    """A run's one end.

    Attributes:
        outcome: what became of the run.
        verdict: what was found; never mixed with the outcome.
        why: why it was not finished; empty when it was.
        rules: number of the rules it was judged by; 0 for the runs before rules had numbers.
    """

    outcome: Outcome
    verdict: Verdict
    why: str = ""
    exit_code: int = 0
    way_out: WayOut = WayOut()
    rules: int = 0


class PhaseStarted(Entry, frozen=True, kw_only=True, tag="phase_started"):
    """A phase boundary."""

    name: str
    title: str


class PhaseEnded(Entry, frozen=True, kw_only=True, tag="phase_ended"):
    """A phase came to its own end; `kept` is what earlier releases noted of it beside its findings."""

    name: str
    kept: dict[str, Any] = field(default_factory=dict)


class PhaseAbandoned(Entry, frozen=True, kw_only=True, tag="phase_abandoned"):
    """A phase was broken off."""

    name: str
    why: str


class Opening(Entry, frozen=True, kw_only=True, tag="opening"):
    """The port is about to be opened."""

    port: str


class Opened(Entry, frozen=True, kw_only=True, tag="opened"):
    """The port is open; `heard` is what the printer said by itself."""

    port: str
    speed_baud: int = 0
    restarted: bool = False
    heard: tuple[str, ...] = ()


class Interrupted(Entry, frozen=True, kw_only=True, tag="interruption"):
    """What came instead of a response.

    Attributes:
        what: the kind of interruption, in words.
        request: class name of the request that was not answered; `key` its key, where it has one.
    """

    what: str
    detail: str = ""
    request: str = ""
    key: str = ""


class Note(Entry, frozen=True, kw_only=True, tag="note"):
    """A person's note between two runs.

    Attributes:
        about: sequence of the entry it corrects; 0 for none.
        wiring: that it declares; None in every other note.
    """

    tag_of_printer: str
    what: str
    text: str
    person: str = ""
    about: Count = 0
    wiring: Wiring | None = None


def tag_in(number: str) -> str:
    """The owner's name for the printer, from the number of a run: tag, day and a count."""
    return number.rsplit("/", 2)[0]
