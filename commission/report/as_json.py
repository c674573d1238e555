"""The report as JSON, as `report.schema.json` beside this file describes it; made for programs that read reports."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from commission.drawing.trend import Trend
from commission.files.kinds import REPORT_FORMAT
from commission.judge.polarity import majority
from commission.records.notes import Note
from commission.report.record import Event, RunFacts, mapping, moment, texts
from commission.report.trials import changes_of, readings_of, watched_s
from commission.report.wire import wire_lines
from commission.vocabulary import Verdict

FORMAT_VERSION = 2
DIGITS = 4
VERDICTS = {verdict.value for verdict in Verdict}


def json_text(run: RunFacts) -> str:
    """The report as text, the same for the same entries."""
    return json.dumps(as_json(run), indent=1, ensure_ascii=False, allow_nan=False, sort_keys=False) + "\n"


def as_json(run: RunFacts) -> dict[str, Any]:
    """The report as values of JSON types; times are ISO 8601 with offset."""
    return {
        "format": REPORT_FORMAT,
        "format_version": FORMAT_VERSION,
        **_head(run),
        "outcome": run.outcome.value,
        "verdict": run.verdict.value,
        "why": str(run.ended.get("why") or ""),
        "make_safe": str(mapping(run.ended.get("make_safe")).get("sentence") or ""),
        "evidence": _evidence(run),
        "identity": dict(run.finding("identity")) or None,
        "plan": dict(mapping(run.started.get("plan"))),
        **{key: list(texts(run.started.get(key))) for key in ("plan_sentences", "cautions", "blind_spots")},
        "phases": list(_phases(run)),
        "trials": [_trial(event) for event in run.of("trial")],
        "watches": [_watch(event) for event in run.of("watch")],
        "findings": [_finding(event) for event in run.of("finding")],
        "acceptance": [_criterion(each) for each in run.criteria],
        "worklist": [_item(item) for item in run.worklist],
        "corrections": list(map(_correction, run.corrections)),
        "notes": list(map(_note, run.notes)),
        "trends": [_trend(trend) for trend in run.trends if trend.is_drawn],
        "no_trend": run.no_trend,
        "traffic": _traffic(run),
    }


def _head(run: RunFacts) -> dict[str, Any]:
    named = ("purpose", "site", "operator", "port", "tool_version", "timezone", "follows")
    started = {key: str(run.started.get(key) or "") for key in named}
    return {
        "number": run.number,
        "tag": run.tag,
        **started,
        "began": run.began.isoformat(timespec="milliseconds"),
        "newest_entry": run.finished.isoformat(timespec="milliseconds"),
    }


def _evidence(run: RunFacts) -> dict[str, Any]:
    return {
        "entry": run.head.sequence,
        "digest": run.head.digest,
        "faults": [fault.what for fault in run.faults],
        "unread": list(run.unread),
    }


def _phases(run: RunFacts) -> Iterator[dict[str, Any]]:
    ends = run.of("phase_ended", "phase_abandoned")
    begins = run.of("phase_started")
    for index, began in enumerate(begins):
        until = begins[index + 1].sequence if index + 1 < len(begins) else run.head.sequence + 1
        inside = [end for end in ends if began.sequence < end.sequence < until]
        end = next((each for each in inside if each.facts["name"] == began.facts["name"]), None)
        state = "broken off" if end is None else "done" if end.kind == "phase_ended" else "abandoned"
        yield {
            "name": began.facts["name"],
            "title": began.facts["title"],
            "state": state,
            "began": _at(began),
            "ended": None if end is None else _at(end),
        }


def _trial(event: Event) -> dict[str, Any]:
    facts = event.facts
    kept = ("number", "cycle", "instruction", "presence", "countdown_s", "dwell_s", "before", "dwell")
    return {
        "at": _at(event),
        **{key: facts[key] for key in kept},
        "majority": majority(readings_of(facts["dwell"])).value,
        "unwanted_changes": changes_of(event),
        "unread": facts["unread"],
        "void_reason": facts["void_reason"],
        "remark": facts["remark"],
    }


def _watch(event: Event) -> dict[str, Any]:
    kept = ("title", "presence", "readings", "taken_s", "largest_gap_s")
    seen = {"watched_s": round(watched_s(event), DIGITS), "unwanted_changes": changes_of(event)}
    return {"at": _at(event), **{key: event.facts[key] for key in kept}, **seen}


def _finding(event: Event) -> dict[str, Any]:
    facts = event.facts
    return {
        "at": _at(event),
        "name": facts["name"],
        "sentences": list(texts(facts["sentences"])),
        "facts": facts["facts"],
    }


def _criterion(criterion: Mapping[str, Any]) -> dict[str, str]:
    said = {key: str(criterion.get(key) or "") for key in ("name", "rule", "observed", "verdict")}
    return said if said["verdict"] in VERDICTS else said | {"verdict": Verdict.NOT_JUDGED.value}


def _item(facts: Mapping[str, Any]) -> dict[str, str]:
    return {"class": facts["grade"], "text": facts["text"], "cure": facts["cure"]}


def _correction(note: Note) -> dict[str, Any]:
    at = moment(note.at).isoformat(timespec="milliseconds")
    return {"at": at, "entry": note.about, "person": note.person, "text": note.text}


def _note(note: Note) -> dict[str, str]:
    at = moment(note.at).isoformat(timespec="milliseconds")
    return {"at": at, "kind": note.what, "person": note.person, "text": note.text}


def _trend(trend: Trend) -> dict[str, Any]:
    """The numbers behind a picture: one a check, null where it was not measured."""
    checks = [{"check": label, "value": value} for label, value in zip(trend.labels, trend.values, strict=True)]
    return {"title": trend.title, "unit": trend.unit, "limit": trend.limit, "checks": checks}


def _traffic(run: RunFacts) -> dict[str, int]:
    """How much went over the wire; the bytes themselves stay in the book."""
    lines = wire_lines(run.events)
    sent = sum(line.size for line in lines if line.sent)
    return {"sent_bytes": sent, "received_bytes": sum(line.size for line in lines) - sent}


def _at(event: Event) -> str:
    return event.at.isoformat(timespec="milliseconds")
