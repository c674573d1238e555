"""The first page: what must be known before anything else, the run in a few sentences, and the open items."""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from commission.judge.wording import counted
from commission.procedure.identity import Match
from commission.report.document import Block, Pairs, Paragraph, Section, Table
from commission.report.findings import sentences_of
from commission.report.in_words import title_of
from commission.report.record import JUDGEMENTS, RunFacts, mapping, objects
from commission.vocabulary import Outcome, PunchClass, Verdict

MOST_NAMED = 5
ROOM, LESS_ROOM = 230, 120
"""Characters that the summary gives a finding, and where there are many; its first sentence is never cut."""
MANY = 16
LEFT_OUT = frozenset({"sign_off", "tests_done", "counters", "settings_files"})
"""Findings of which the first page has nothing to say; they stand among the findings all the same."""
_EACH_TIME = ("runout_control_now", "switches_now", "settings_at_check", "settings_drift", "steady", "check")
_BY_HAND = ("switch_name", "polarity", "wiggle", "runout_control_after_restart", "changes_since")
NEWEST_COUNTS = frozenset({"diagnosis", "predicted_and_measured", "wiring", *_EACH_TIME, *_BY_HAND})
"""Findings that replace what an earlier one of the same name said, as in a run that was taken up again."""
EXPECTED_MATCHES = frozenset({Match.FIRST.value, Match.SAME.value})
_ENDS = (".", "!", "?")
_BETWEEN = re.compile(r"(?<=[.!?]) +(?=[A-Z])")

UNFINISHED = {
    Outcome.STOPPED: "The operator stopped this run before its end.",
    Outcome.NOT_CONNECTED: "The printer was never reached in this run.",
    Outcome.LINK_LOST: "The link to the printer was lost before the end of this run.",
    Outcome.INTERRUPTED: "The printer interrupted this run before its end.",
    Outcome.BROKEN_OFF: "The record of this run has no proper end: the program was broken off, or is still at work.",
    Outcome.UNDER_WAY: "The run had not come to its end when this was drawn.",
}


def alarms(run: RunFacts) -> Iterator[Paragraph]:
    """An altered book, entries that cannot be read, a run without its end, corrections written later."""
    if run.faults:
        said = _named([fault.what for fault in run.faults])
        text = f"The record book does not check out: {said}. What follows may not be what was written at the time."
        yield Paragraph(text, "alarm", "The evidence was altered")
    if run.unread:
        text = f"Left out of this report, because not of a known form: {_named(run.unread)}."
        yield Paragraph(text, "alarm", f"Entries that could not be read: {len(run.unread)}")
    if run.outcome is not Outcome.COMPLETE:
        why = str(run.ended.get("why") or "").strip()
        said = " ".join(part for part in (UNFINISHED[run.outcome], why and f"{why.rstrip('.')}.") if part)
        text = f"{said} What was done until then follows; what was not done is not judged."
        yield Paragraph(text, "alarm", "This run was not finished")
    for note in run.corrections:
        text = f"{note.person or 'Someone not named'} wrote on {note.at[:10]} about entry {note.about}: {note.text}"
        yield Paragraph(text, "caution", "Corrected later")


def _named(what: list[str] | tuple[str, ...]) -> str:
    more = f"; and {len(what) - MOST_NAMED} more" if len(what) > MOST_NAMED else ""
    return "; ".join(what[:MOST_NAMED]) + more


def summary_section(run: RunFacts) -> Section:
    """One row a finding, and how the printer was left."""
    told = [event for event in run.of("finding") if event.facts["sentences"] and not _nothing_to_say(event.facts)]
    together: dict[str, list[str]] = {}
    room = LESS_ROOM if len({event.facts["name"] for event in told}) > MANY else ROOM
    for event in told:
        said = together.setdefault(title_of(str(event.facts["name"])), [])
        if event.facts["name"] in NEWEST_COUNTS:
            said.clear()
        said.append(_row(event.facts, room))
    rows = [(title, " ".join(dict.fromkeys(said))) for title, said in together.items()]
    blocks: list[Block] = [Pairs(tuple(rows))] if rows else [Paragraph("Nothing was established in this run.")]
    safe = mapping(run.ended.get("make_safe")).get("sentence")
    blocks.append(Paragraph(str(safe or "The record does not say how the printer was left: look at it.")))
    return Section("summary", "Summary", tuple(blocks))


def _nothing_to_say(finding: Mapping[str, Any]) -> bool:
    """Whether a finding is of no concern on the first page: a routine one, or one that found what it ought to."""
    name, facts = str(finding["name"]), finding["facts"]
    as_it_ought = {
        "printer_marks": facts.get("match") in EXPECTED_MATCHES and not facts.get("firmware_changed"),
        "settings_plausibility": facts.get("findings") == [],
        "switch_name": facts.get("clear") is True,
    }
    stands_from_before = name.startswith("resume.") and not facts.get("void")
    return name in LEFT_OUT or stands_from_before or as_it_ought.get(name, False)


def _row(finding: Mapping[str, Any], room: int) -> str:
    """The finding as short as it can be told."""
    brief = _BRIEF.get(str(finding["name"]))
    return (brief(finding["facts"]) if brief else "") or _first(finding, room)


def _first(finding: Mapping[str, Any], room: int) -> str:
    """The first sentence whole, and as many more as there is room for."""
    whole = " ".join(str(each) if str(each).endswith(_ENDS) else f"{each}." for each in finding["sentences"])
    first, *more = _BETWEEN.split(whole)
    while more and len(first) + len(more[0]) < room:
        first = f"{first} {more.pop(0)}"
    return first


def _switches(facts: Mapping[str, Any]) -> str:
    switches = objects(facts.get("switches"))
    filament = [each for each in switches if str(each.get("name", "")).startswith("filament")]
    if not filament:
        return ""
    said = "; ".join(f"{each['name']} reads {each.get('reading')} ({each.get('wire_word')})" for each in filament)
    return f"{said}. Switches reported in all: {len(switches)}."


def _acceptance(facts: Mapping[str, Any]) -> str:
    criteria = objects(facts.get("criteria"))
    counts = Counter(str(each.get("verdict")) for each in criteria)
    said = []
    for verdict in (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL):
        names = ", ".join(str(each.get("name")) for each in criteria if each.get("verdict") == verdict.value)
        said += [f"{verdict.value}: {names}"] if names else []
    passed = f"{counts[Verdict.PASS.value]} of {counted(len(criteria), 'rule')} passed"
    return f"{'; '.join([passed, *said])}." if criteria else ""


def _predicted(facts: Mapping[str, Any]) -> str:
    rows = objects(facts.get("rows"))
    otherwise = [
        f"{each.get('state')} (predicted {each.get('predicted')}, measured {each.get('measured') or 'nothing'})"
        for each in rows
        if each.get("agrees") is False
    ]
    as_said = sum(each.get("agrees") is True for each in rows)
    said = [
        f"{as_said} of {counted(len(rows), 'state')} read as predicted",
        *(f"NOT as predicted: {each}" for each in otherwise),
    ]
    return f"{'; '.join(said)}." if rows else ""


_BRIEF: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "switches_as_found": _switches,
    "switches_as_left": _switches,
    **dict.fromkeys(JUDGEMENTS, _acceptance),
    "predicted_and_measured": _predicted,
}


def worklist_section(run: RunFacts) -> Section:
    """What is left to put right, the heaviest class first."""
    rows = []
    for grade in PunchClass:
        items = [item for item in run.worklist if item["grade"] == grade.value]
        rows += [(f"{grade.value}, {grade.meaning}", str(item["text"]), str(item["cure"])) for item in items]
    if not rows:
        return Section("worklist", "Worklist", (Paragraph("No open item was recorded."),))
    head = ("Class", "Open item", "What to do")
    return Section("worklist", "Worklist", (Table("", head, tuple(dict.fromkeys(rows))),))


def remaining_reasons(run: RunFacts) -> tuple[str, ...]:
    """What the judgement says beyond its criteria."""
    observed = {str(each.get("observed")) for each in run.criteria}
    said = () if run.judgement is None else sentences_of(run.judgement)
    return tuple(each for each in said if not any(seen and each.endswith(seen) for seen in observed))
