"""The form of a report in JSON, version 3: a tree of types, from which its schema is generated.

Version 3 has types for everything the run measured and found, and says of each trial, watch and finding whether it
counts. Versions after it only add.
"""

import inspect
import json
import re
from typing import Any, Literal

import msgspec

from commission.evidence.findings.loop import Criterion
from commission.evidence.findings.meeting import PrinterIdentity
from commission.judge.plan import Plan
from commission.report.json_parts import (
    BoundForm,
    Correction,
    Evidence,
    FindingForm,
    Form,
    ItemForm,
    Moment,
    Named,
    NoteForm,
    Phase,
    SensorForm,
    ShortForm,
    Step,
    Traffic,
    TrendForm,
    TrialForm,
    WatchForm,
    Whole,
    WireForm,
)
from commission.vocabulary import Outcome, Verdict

FORMAT_VERSION: Literal[3] = 3
DIALECT = "https://json-schema.org/draft/2020-12/schema"


class ReportForm(Form, frozen=True, kw_only=True):
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
        acceptance: each rule of the plan, what was observed, and the verdict on it; of several sensors all of theirs.
        sensors: every sensor with its own verdict, where the run tested several; else empty.
        bounds: what all watches of the printer until then show of unwanted changes, one for each condition watched.
        trends: what the completed checks measured, up to and including this run, where two or more did.
        no_trend: why the trends could not be worked out; empty when they were.
        steps: what was asked, answered, sent and established, in order.
        exchanges: the lines of the wire, each distinct exchange once and the rest counted.
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
    sensors: tuple[SensorForm, ...]
    bounds: tuple[BoundForm, ...]
    worklist: tuple[ItemForm, ...]
    corrections: tuple[Correction, ...]
    notes: tuple[NoteForm, ...]
    trends: tuple[TrendForm, ...]
    no_trend: str
    traffic: Traffic
    in_short: ShortForm
    steps: tuple[Step, ...]
    exchanges: tuple[WireForm, ...]


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
    return text_of(schema())


def text_of(values: dict[str, Any]) -> str:
    """Values of JSON types as text that a person can read too, a value a line.

    Raises:
        ValueError: a number is not finite.
    """
    # laid out behind: the standard library lays out value by value, which takes many times as long
    return msgspec.json.format(json.dumps(values, ensure_ascii=False, allow_nan=False), indent=1) + "\n"


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
