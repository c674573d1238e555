"""The form of a report in JSON, version 3: a tree of types, from which its schema is generated.

Version 3 has types for everything the run measured and found, and says of each trial, watch and finding whether it
counts. Versions after it only add.
"""

import inspect
import json
import re
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from commission.evidence.findings import AnyFinding
from commission.evidence.findings.loop import Criterion
from commission.evidence.findings.meeting import PrinterIdentity
from commission.evidence.measured import Readings
from commission.judge.nuisance import Around
from commission.judge.plan import Plan
from commission.vocabulary import Instruction, Outcome, Presence, PunchClass, Reading, Verdict

FORMAT_VERSION: Literal[3] = 3
DIALECT = "https://json-schema.org/draft/2020-12/schema"
Moment = Annotated[str, Meta(extra_json_schema={"format": "date-time"})]
Named = Annotated[str, Meta(min_length=1)]
Whole = Annotated[int, Meta(ge=0)]
NotNegative = Annotated[float, Meta(ge=0)]


class _Form(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A part of the report."""


class Evidence(_Form, frozen=True, kw_only=True):
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


class Phase(_Form, frozen=True, kw_only=True):
    """A phase of the run; `ended` is null for one that was broken off."""

    name: str
    title: str
    state: Literal["done", "abandoned", "broken off"]
    began: Moment
    ended: Moment | None


class _Stands(_Form, frozen=True, kw_only=True):
    """Something on record, with whether it counts; `why_not` is empty when it does, `at` is when it was written."""

    at: Moment
    counts: bool
    why_not: str


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


class FindingForm(_Stands, frozen=True, kw_only=True):
    """What was established, by kind: `name` says which, and with it which values there are."""

    finding: AnyFinding


class ItemForm(_Form, frozen=True, kw_only=True, rename={"grade": "class"}):
    """An open item; A: unsafe to go on; B: incomplete; C: minor."""

    grade: PunchClass
    text: str
    cure: str


class Correction(_Form, frozen=True, kw_only=True):
    """A note written later that puts right an entry of this run."""

    at: Moment
    entry: Whole
    person: str
    text: str


class NoteForm(_Form, frozen=True, kw_only=True):
    """A note on this printer, such as `nuisance-trip` or `rewiring`, made until the run's newest entry."""

    at: Moment
    kind: Named
    person: str
    text: str


class CheckValue(_Form, frozen=True, kw_only=True):
    """What one check measured; the second of one day carries a number, `value` is null where it was not measured."""

    check: str
    value: NotNegative | None


class TrendForm(_Form, frozen=True, kw_only=True):
    """A value over the checks, oldest first; beyond `limit` it is too much, null where there is no limit."""

    title: Named
    unit: str
    limit: NotNegative | None
    checks: Annotated[tuple[CheckValue, ...], Meta(min_length=2)]


class Traffic(_Form, frozen=True, kw_only=True):
    """How much went over the wire; the bytes themselves stay in the book."""

    sent_bytes: Whole
    received_bytes: Whole


class BoundForm(_Form, frozen=True, kw_only=True):
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


class ReportForm(_Form, frozen=True, kw_only=True):
    """One run of one printer, as `commission report TAG --format json` writes it.

    Times are ISO 8601 with offset; what is not known is null or an empty text, never guessed. Text from outside is made
    printable: a character that does not print stands as its escape.

    Attributes:
        number: unique number of the run.
        tag: the owner's name for the printer.
        bench: the computer that wrote the run; empty in records of before it was told.
        port: where the printer was when the run began.
        timezone: name of the clock's zone; the offset stands in every time.
        follows: number of the run before a repair, or empty.
        newest_entry: when the run's newest entry was written.
        outcome: what became of the run; says nothing of the sensor.
        rules: number of the rules that the verdict was given by; 0 for runs of before rules had numbers.
        why: what ended a run that was not finished.
        make_safe: how the printer was left.
        identity: what the printer announces of itself; null when it was not asked.
        plan: what was fixed before anything was measured; null when nothing was planned.
        trials: every prompt in order, those that do not count too.
        acceptance: each rule of the plan, what was observed, and the verdict on it.
        bounds: what all watches of the printer until then show of unwanted changes, one for each condition watched.
        trends: what the completed checks measured, up to and including this run, where two or more did.
        no_trend: why the trends could not be worked out; empty when they were.
    """

    format: Literal["commission-report"]
    format_version: Literal[3]
    number: Named
    tag: str
    purpose: str
    site: str
    operator: str
    bench: str
    port: str
    tool_version: str
    timezone: str
    follows: str
    began: Moment
    newest_entry: Moment
    outcome: Outcome
    verdict: Verdict
    rules: Whole
    why: str
    make_safe: str
    evidence: Evidence
    identity: PrinterIdentity | None
    plan: Plan | None
    plan_sentences: tuple[str, ...]
    cautions: tuple[str, ...]
    blind_spots: tuple[str, ...]
    phases: tuple[Phase, ...]
    trials: tuple[TrialForm, ...]
    watches: tuple[WatchForm, ...]
    findings: tuple[FindingForm, ...]
    acceptance: tuple[Criterion, ...]
    bounds: tuple[BoundForm, ...]
    worklist: tuple[ItemForm, ...]
    corrections: tuple[Correction, ...]
    notes: tuple[NoteForm, ...]
    trends: tuple[TrendForm, ...]
    no_trend: str
    traffic: Traffic


def values_of(report: ReportForm) -> dict[str, Any]:
    """The report as values of JSON types."""
    values: dict[str, Any] = msgspec.to_builtins(report)
    return values


def schema() -> dict[str, Any]:
    """The published JSON Schema (draft 2020-12), generated from the types and what is written about them."""
    head = {
        "$schema": DIALECT,
        "$id": f"urn:commission:report:{FORMAT_VERSION}",
        "title": "A commissioning test report",
    }
    generated = msgspec.json.schema(ReportForm)
    for described in generated["$defs"].values():
        _describe(described)
    return {**head, **generated}


def schema_text() -> str:
    """The schema as it stands beside this file in `report.schema.json`."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


def _describe(described: dict[str, Any]) -> None:
    """What a docstring says of attributes goes to the attributes."""
    text, _, attributes = inspect.cleandoc(described.get("description", "")).partition("\n\nAttributes:\n")
    if text:
        described["description"] = " ".join(text.split())
    for names, said in _ATTRIBUTE.findall(attributes):
        for name in names.split(", "):
            if name in described.get("properties", {}):
                described["properties"][name]["description"] = " ".join(said.split())


_ATTRIBUTE = re.compile(r"^    (\w[\w, ]*): (.+(?:\n {6,}.+)*)", re.MULTILINE)
