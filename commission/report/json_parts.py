"""The parts of a report in JSON, each a type with what its values mean."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from commission.evidence.findings import AnyFinding
from commission.evidence.findings.loop import Criterion
from commission.evidence.findings.wiring import Wiring
from commission.evidence.measured import Readings
from commission.judge.nuisance import Around
from commission.vocabulary import Instruction, Presence, PunchClass, Reading, Slowed, Verdict

Moment = Annotated[str, Meta(extra_json_schema={"format": "date-time"})]
Named = Annotated[str, Meta(min_length=1)]
Whole = Annotated[int, Meta(ge=0)]
NotNegative = Annotated[float, Meta(ge=0)]


class Form(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A part of the report."""


class Evidence(Form, frozen=True, kw_only=True):
    """What the report was drawn from.

    Attributes:
        entry: the run's newest entry in the record book.
        digest: SHA-256 of that entry as 64 hexadecimal digits; it depends on every entry before it.
        faults: where the book up to that entry is not as it was written.
        unread: entries that cannot be read and are left out.
    """

    entry: Whole
    digest: str
    faults: tuple[str, ...]
    unread: tuple[str, ...]


class Phase(Form, frozen=True, kw_only=True):
    """A phase of the run; `ended` is null for one that was broken off."""

    name: str
    title: str
    state: Literal["done", "abandoned", "broken off"]
    began: Moment
    ended: Moment | None


class SensorForm(Form, frozen=True, kw_only=True):
    """One of several sensors that the run tested.

    Attributes:
        sensor: how it is read.
        path: the filament path it belongs to; empty where nobody named one.
        verdict: its own.
        acceptance: each rule of the plan, what was observed of it, and the verdict.
    """

    sensor: str
    path: str
    verdict: Verdict
    acceptance: tuple[Criterion, ...]


class _Stands(Form, frozen=True, kw_only=True):
    """Something on record, with whether it counts; `why_not` is empty when it does, `at` is when it was written.

    `sensor` says which of several it belongs to; it is empty where the run tested one, and for what concerns all.
    """

    at: Moment
    counts: bool
    why_not: str
    sensor: str


class TrialForm(_Stands, frozen=True, kw_only=True):
    """One prompt with what was read.

    Attributes:
        presence: as declared.
        before: readings of the countdown: seconds since the prompt, the reading, the printer's own word.
        dwell: the readings that count.
        unwanted_changes: in the dwell; at a leave-it prompt from the prompt on.
        unread: queries of the dwell that brought no reading.
        void_reason: why the operator declared it spoilt; empty when it was not.
        set_aside: whether that was before its dwell or later; empty when it was not, or in an older book.
        void_before: why the trial before it was declared spoilt during this one; empty when it was not.
    """

    number: Whole
    cycle: Whole
    instruction: Instruction
    presence: Presence
    switch: str
    countdown_s: NotNegative
    dwell_s: NotNegative
    before: Readings
    dwell: Readings
    majority: Reading
    unwanted_changes: Whole
    unread: Whole
    void_reason: str
    set_aside: str
    void_before: str
    remark: str


class WatchForm(_Stands, frozen=True, kw_only=True):
    """Readings without a prompt.

    Attributes:
        presence: as declared; null where nothing was.
        watched_s: time between known readings at most half a second apart; bounds come from it.
        unwanted_changes: 0 in a watch that does not count.
        slowed: why it was not read as fast as the wire allows; null where it was, or was not to be.
    """

    key: str
    title: str
    presence: Presence | None
    readings: Readings
    taken_s: NotNegative
    largest_gap_s: NotNegative
    watched_s: NotNegative
    unwanted_changes: Whole
    unread: Whole
    slowed: Slowed | None = None


class FindingForm(_Stands, frozen=True, kw_only=True):
    """What was established, by kind: `name` says which, and with it which values there are."""

    finding: AnyFinding


class ItemForm(Form, frozen=True, kw_only=True, rename={"grade": "class"}):
    """An open item; A: unsafe to go on; B: incomplete; C: minor."""

    grade: PunchClass
    text: str
    cure: str


class Correction(Form, frozen=True, kw_only=True):
    """A note written later that puts right an entry of this run."""

    at: Moment
    entry: Whole
    person: str
    text: str


class NoteForm(Form, frozen=True, kw_only=True):
    """A note on this printer, such as `nuisance-trip` or `rewiring`, made until the run's newest entry.

    Attributes:
        wiring: that was declared without a run by a note `wiring-declared`; null in every other.
    """

    at: Moment
    kind: Named
    person: str
    text: str
    wiring: Wiring | None


class CheckValue(Form, frozen=True, kw_only=True):
    """What one check measured; the second of one day carries a number, `value` is null where it was not measured."""

    check: str
    value: NotNegative | None


class TrendForm(Form, frozen=True, kw_only=True):
    """A value over the checks, oldest first; beyond `limit` it is too much, null where there is no limit."""

    title: Named
    unit: str
    limit: NotNegative | None
    checks: Annotated[tuple[CheckValue, ...], Meta(min_length=2)]


class Traffic(Form, frozen=True, kw_only=True):
    """How much went over the wire; the bytes themselves stay in the book."""

    sent_bytes: Whole
    received_bytes: Whole


class BoundForm(Form, frozen=True, kw_only=True):
    """How rarely the reading changes by itself in one condition, since the last recorded change of wiring or firmware.

    Attributes:
        around: the condition; conditions are never added up.
        watched_s: time between known readings at most half a second apart.
        at_most_per_hour: the exact upper bound of the rate at that one-sided confidence.
    """

    around: Around
    watched_s: NotNegative
    changes: Whole
    at_most_per_hour: NotNegative
    confidence: float


class ShortForm(Form, frozen=True, kw_only=True):
    """The run in five points, as the first page and the last screen say them.

    Attributes:
        now: what to do, one sentence a deed, the most urgent first.
        missing: what is missing for a pass.
    """

    verdict: Verdict
    why: str
    now: tuple[str, ...]
    missing: str
    next_check: str


class Step(Form, frozen=True, kw_only=True):
    """Something that was done, with the phase it belongs to or the phases it lies between; `at` is its wall time."""

    phase: str
    at: str
    what: str


class WireForm(Form, frozen=True, kw_only=True):
    """A line of the wire as the full report prints it.

    Attributes:
        at: wall time to the millisecond; empty for a step.
        direction: sent or received; `step` says what was being done, `note` what is folded away.
    """

    at: str
    direction: Literal["sent", "received", "step", "note"]
    text: str
