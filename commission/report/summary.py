"""What must be known before anything else, what was found in a few sentences a kind, and the open items."""

from collections import Counter
from collections.abc import Iterator

from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Judgement, SwitchNamed, TestsDone
from commission.evidence.findings.meeting import PrinterMarks, SignOff, TakenOver
from commission.evidence.findings.reported import SwitchesAsFound
from commission.evidence.findings.series import TrialSeries
from commission.evidence.findings.settings import Counters, SettingsFiles, SettingsPlausibility
from commission.evidence.findings.wiring import PredictedAndMeasured
from commission.judge.wording import counted
from commission.procedure.meeting.identity import Match
from commission.report.document import Block, Pairs, Paragraph, Section, Table
from commission.report.first_sentence import BETWEEN, ENDS
from commission.report.record import RunFacts
from commission.report.unfinished import UNFINISHED
from commission.vocabulary import Outcome, PunchClass, Verdict

MOST_NAMED = 5
ROOM, LESS_ROOM = 900, 420
"""Characters that a finding gets, and where there are many; its first sentence is never cut."""
MANY = 16
MOST_ON_PAGE_1 = 6
"""Open items that the first page of the paper has room for."""
_ITEM_HEAD = ("Class", "Open item", "What to do")
LEFT_OUT = (SignOff, TestsDone, Counters, SettingsFiles)
"""Findings that are routine; they stand in the full report and the JSON."""
EXPECTED_MATCHES = frozenset({Match.FIRST.value, Match.SAME.value})


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
        why = run.why.strip()
        said = " ".join(part for part in (UNFINISHED[run.outcome], why and f"{why.rstrip('.')}.") if part)
        text = f"{said} What was done until then follows; what was not done is not judged."
        yield Paragraph(text, "alarm", "This run was not finished")
    for note in run.corrections:
        person, day = note.entry.person or "Someone not named", note.at[:10]
        text = f"{person} wrote on {day} about entry {note.entry.about}: {note.entry.text}"
        yield Paragraph(text, "caution", "Corrected later")


def _named(what: list[str] | tuple[str, ...]) -> str:
    more = f"; and {len(what) - MOST_NAMED} more" if len(what) > MOST_NAMED else ""
    return "; ".join(what[:MOST_NAMED]) + more


def summary_section(run: RunFacts) -> Section:
    """One row a kind of finding, of those that stand, and how the printer was left."""
    told = [item for item in run.findings if item.entry.finding.sentences and not _nothing_to_say(item.entry.finding)]
    room = LESS_ROOM if len({item.entry.finding.name() for item in told if item.counts}) > MANY else ROOM
    together: dict[str, list[str]] = {}
    for item in told:
        heading = item.entry.finding.heading()
        said = together.setdefault(f"{item.sensor}: {heading}" if item.sensor and run.parts else heading, [])
        said += [_row(item.entry.finding, room)] if item.counts else []
    rows = [(title, " ".join(dict.fromkeys(said))) for title, said in together.items() if said]
    blocks: list[Block] = [Pairs(tuple(rows))] if rows else [Paragraph("Nothing was established in this run.")]
    blocks.append(Paragraph(run.left or "The record does not say how the printer was left: look at it."))
    return Section("summary", "What was found", tuple(blocks))


def _nothing_to_say(finding: Finding) -> bool:
    """Whether a finding is of no concern here: a routine one, or one that found what it ought to."""
    match finding:
        case PrinterMarks():
            return finding.match in EXPECTED_MATCHES and not finding.firmware_changed
        case SettingsPlausibility():
            return not finding.findings
        case SwitchNamed():
            return finding.clear
        case TakenOver():
            return not finding.void
    return isinstance(finding, LEFT_OUT)


def _row(finding: Finding, room: int) -> str:
    """The finding as short as it can be told."""
    brief = ""
    match finding:
        case TrialSeries():
            brief = " ".join(finding.sentences[: 1 + bool(finding.failed_before)])
        case SwitchesAsFound():
            brief = _switches(finding)
        case Judgement():
            brief = _judged(finding)
        case PredictedAndMeasured():
            brief = _predicted(finding)
    return brief or _first(finding, room)


def _first(finding: Finding, room: int) -> str:
    """The first sentence whole, and as many more as there is room for."""
    whole = " ".join(each if each.endswith(ENDS) else f"{each}." for each in finding.sentences)
    first, *more = BETWEEN.split(whole)
    while more and len(first) + len(more[0]) < room:
        first = f"{first} {more.pop(0)}"
    return first


def _switches(finding: SwitchesAsFound) -> str:
    filament = [each for each in finding.switches if each.name.startswith("filament")]
    if not filament:
        return ""
    said = "; ".join(f"{each.name} reads {each.reading.value} ({each.wire_word})" for each in filament)
    return f"{said}. Switches reported in all: {len(finding.switches)}."


def _judged(finding: Judgement) -> str:
    counts = Counter(each.verdict for each in finding.criteria)
    said = []
    for verdict in (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL):
        names = ", ".join(each.name for each in finding.criteria if each.verdict is verdict)
        said += [f"{verdict.value}: {names}"] if names else []
    passed = f"{counts[Verdict.PASS]} of {counted(len(finding.criteria), 'rule')} passed"
    return f"{'; '.join([passed, *said])}." if finding.criteria else ""


def _predicted(finding: PredictedAndMeasured) -> str:
    otherwise = [
        f"{each.state} (predicted {each.predicted}, measured {each.measured or 'nothing'})"
        for each in finding.rows
        if each.agrees is False
    ]
    as_said = sum(each.agrees is True for each in finding.rows)
    said = [
        f"{as_said} of {counted(len(finding.rows), 'state')} read as predicted",
        *(f"NOT as predicted: {each}" for each in otherwise),
    ]
    return f"{'; '.join(said)}." if finding.rows else ""


def worklist_section(run: RunFacts) -> Section:
    """What is left to put right, the heaviest class first."""
    rows = _open_items(run)
    if not rows:
        return Section("worklist", "Worklist", (Paragraph("No open item was recorded."),), page=1)
    blocks: list[Block] = [Table("", _ITEM_HEAD, rows[:MOST_ON_PAGE_1])]
    if len(rows) > MOST_ON_PAGE_1:
        blocks.append(Paragraph(f"{counted(len(rows) - MOST_ON_PAGE_1, 'item')} more on page 3.", "quiet"))
    return Section("worklist", "Worklist", tuple(blocks), page=1)


def more_worklist_section(run: RunFacts) -> Section:
    """The open items that the first page has no room for."""
    rows = _open_items(run)[MOST_ON_PAGE_1:]
    return Section("more-worklist", "Worklist, continued", (Table("", _ITEM_HEAD, rows),) if rows else ())


def _open_items(run: RunFacts) -> tuple[tuple[str, str, str], ...]:
    rows = []
    for grade in PunchClass:
        items = [item for item in run.worklist if item.grade is grade]
        rows += [(f"{grade.value}, {grade.meaning}", item.text, item.cure) for item in items]
    return tuple(dict.fromkeys(rows))


def remaining_reasons(run: RunFacts) -> tuple[str, ...]:
    """What the judgement says beyond its criteria."""
    observed = {each.observed for each in run.criteria}
    said = () if run.judgement is None else run.judgement.sentences
    return tuple(each for each in said if not any(seen and each.endswith(seen) for seen in observed))
