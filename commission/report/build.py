"""From the facts of a run to the document: what a reader needs first comes first."""

from collections.abc import Iterator
from dataclasses import replace

from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.meeting import SignOff
from commission.report.document import Block, Bullets, Console, Document, Pairs, Paragraph, Section, Signature, Table
from commission.report.findings import findings_section, pictures_section, values_section, wiring_section
from commission.report.fitted import fitted_section
from commission.report.folds import console_lines
from commission.report.history import notes_section, nuisance_section, trends_in_short, trends_section
from commission.report.in_short import COVERS, NAMES, in_short
from commission.report.predicted import predicted_section
from commission.report.record import RunFacts
from commission.report.several import sections_of_parts, sensors_section
from commission.report.soak import soak_section
from commission.report.summary import (
    alarms,
    more_worklist_section,
    remaining_reasons,
    summary_section,
    worklist_section,
)
from commission.report.timeline import timeline_in_short, timeline_section
from commission.report.trials import trials_section
from commission.report.trials_in_short import trials_in_short, watches_in_short
from commission.report.wire import wire_lines
from commission.report.work import work_in_short, work_section
from commission.vocabulary import Verdict

TITLES = {
    "install": "Commissioning test report",
    **dict.fromkeys(("brief check", "full check", "condition check"), "Periodic test report"),
    "function": "Function test report",
    "diagnose": "Fault-finding report",
    "soak": "Soak test report",
    "borrow": "Report on a borrowed socket, no commissioning",
    "motion": "Test report on a sensor of movement",
    "backup": "Settings report",
    "restore": "Settings report",
}
PURPOSES = {
    "install": "new installation",
    "function": "function test",
    "diagnose": "fault finding",
    "soak": "soak: does the reading change by itself?",
    "borrow": "borrowed socket: what must the first build say?",
    "motion": "sensor of movement: does it count what moves?",
    "backup": "record of the settings",
    "restore": "settings put back",
}
"""What a run was for, where its word in the record is a command's."""
SUBJECT = "filament-presence sensor"
PLAN = "The plan and its decision rules, fixed before anything was measured"

MEANINGS = {
    Verdict.PASS: "Everything the plan asks for was shown.",
    Verdict.CONDITIONAL: "Nothing failed, but less was shown than a pass takes.",
    Verdict.FAIL: "At least one rule of the plan is broken. Do not rely on the sensor as it is.",
    Verdict.NOT_JUDGED: "Too little was shown for a judgement. This is no pass.",
}
JUDGED = {
    Verdict.FAIL: "Failed",
    Verdict.CONDITIONAL: "Less than a pass",
    Verdict.PASS: "Judged and passed",
    Verdict.NOT_JUDGED: "Not judged, which is no pass",
}
CERTIFIES_NOTHING = (
    "This is a test report, not a calibration certificate. It tells what was done and seen at the time, "
    "on the printer named above."
)
WHAT_A_DIGEST_IS = (
    "The digest (SHA-256) on page 1 is that of the run's newest entry in the record book and depends on every entry "
    "before it: a book that was altered or cut short no longer leads to it."
)

AT_THE_END = (Paragraph(WHAT_A_DIGEST_IS, "quiet"), Paragraph(CERTIFIES_NOTHING, "quiet"))
VERDICT = NAMES[0]


def _meaning(run: RunFacts) -> str:
    """The verdict in words; of anything but a whole installation exactly what it covers and what not."""
    if run.verdict is Verdict.PASS:
        return _judged(run) or COVERS.get(run.started.purpose, MEANINGS[run.verdict])
    return " ".join(filter(None, (MEANINGS[run.verdict], _judged(run))))


def _judged(run: RunFacts) -> str:
    """What a periodic check judged, by verdict, and what it did not; empty for any other run."""
    criteria = () if run.finding(CheckJudged) is None else run.criteria
    said: list[str] = []
    for verdict, heading in JUDGED.items():
        names = [each.name for each in criteria if each.verdict is verdict]
        said += [f"{heading}: {', '.join(names)}."] if names else []
    return " ".join(said)


def build(run: RunFacts, *, full: bool = False) -> Document:
    """The report of a run.

    Args:
        run: what the book holds of it.
        full: with every trial, step and finding of its own, the values behind the findings and the raw exchanges.
    """
    points = tuple(row for row in in_short(run).rows if row[0] != VERDICT)
    return Document(
        title=f"{TITLES.get(run.started.purpose, 'Test report')}: {SUBJECT}",
        number=run.number,
        tag=run.tag,
        day=_when(run),
        verdict=run.verdict.value,
        outcome=run.outcome.value,
        meaning=_meaning(run),
        alarms=tuple(alarms(run)),
        sections=tuple(each for each in _sections(run, full=full) if each.blocks or each.parts),
        digest=run.head.digest,
        entries=run.head.sequence,
        points=points,
    )


def _sections(run: RunFacts, *, full: bool) -> Iterator[Section]:
    """Page 1, page 2, and what follows them; in full the evidence behind it all at the end."""
    yield from (*_page_1(run), *_page_2(run))
    yield from (more_worklist_section(run), _acceptance(run), summary_section(run), soak_section(run))
    yield from (sections_of_parts(run, OF_EACH_SENSOR) if run.parts else (draw(run) for draw in _OF_ONE_SENSOR))
    yield from (predicted_section(run), trends_in_short(run), notes_section(run), work_in_short(run))
    yield _list("plan", PLAN, run.started.plan_sentences)
    yield _list("blind-spots", "What this check cannot show", run.started.blind_spots)
    yield _list("cautions", "Cautions", run.started.cautions)
    yield Section("particulars", "Particulars", (_particulars(run), *AT_THE_END))
    if full:
        yield from map(_behind, (findings_section(run), trials_section(run), timeline_section(run)))
        yield from map(_behind, (trends_section(run), work_section(run)))
        yield values_section(run)
        yield Section("exchanges", "Appendix: raw exchanges", _exchanges(run), appendix=True)


def _page_1(run: RunFacts) -> Iterator[Section]:
    yield sensors_section(run) if run.parts else fitted_section(run)
    yield from (worklist_section(run), _signing(run))


def _page_2(run: RunFacts) -> Iterator[Section]:
    """What was measured; of several sensors each has its own behind the findings."""
    if run.parts:
        yield nuisance_section(run)
    else:
        yield from (trials_in_short(run), timeline_in_short(run), nuisance_section(run), wiring_section(run))


_OF_ONE_SENSOR = (pictures_section, watches_in_short)
OF_EACH_SENSOR = (
    *(fitted_section, trials_in_short, timeline_in_short, nuisance_section, wiring_section),
    *(pictures_section, watches_in_short, trends_in_short),
)
"""What the report says of each of several sensors."""


def _behind(section: Section) -> Section:
    """A section of the appendix; the short form has one of the same name."""
    anchor, heading = f"full-{section.anchor}", f"Appendix: {section.heading[:1].lower()}{section.heading[1:]} in full"
    return replace(section, anchor=anchor, heading=heading, appendix=True)


def _when(run: RunFacts) -> str:
    return f"{run.began:%Y-%m-%d} ({_zone(run)})"


def _zone(run: RunFacts) -> str:
    offset = run.began.strftime("%z")
    return "UTC" if offset == "+0000" else f"UTC{offset[:3]}:{offset[3:5]}"


def _particulars(run: RunFacts) -> Pairs:
    started = run.started
    rows = [
        ("Purpose", PURPOSES.get(started.purpose, started.purpose)),
        ("Operator", started.operator),
        ("Began", f"{run.began:%Y-%m-%d %H:%M:%S} {_zone(run)}"),
        ("Newest entry", f"{run.finished:%Y-%m-%d %H:%M:%S} {_zone(run)}"),
        ("Clock's zone", started.timezone),
        ("Tool", f"commission {started.tool_version or 'of an unknown version'}"),
    ]
    if started.follows:
        rows.append(("Follows run", started.follows))
    return Pairs(tuple((name, value or "not recorded") for name, value in rows), sheet=True)


def _list(anchor: str, heading: str, lines: tuple[str, ...]) -> Section:
    return Section(anchor, heading, (Bullets(lines),) if lines else ())


def _acceptance(run: RunFacts) -> Section:
    rows = tuple((each.name, each.rule, each.observed, each.verdict.value) for each in run.criteria)
    verdict = Paragraph(f"Verdict on the run: {run.verdict.value}. {_meaning(run)}")
    if not rows:
        said = Paragraph("No rule of a loop check or a periodic check was judged in this run.")
        return Section("acceptance", "Acceptance", (said, verdict))
    head = ("Criterion", "Rule", "Observed", "Verdict")
    table = Table("Each rule, what was observed, and the verdict on it", head, rows, verdicts=3)
    return Section("acceptance", "Acceptance", (table, *map(Paragraph, remaining_reasons(run)), verdict))


def _signing(run: RunFacts) -> Section:
    sign_off = run.finding(SignOff)
    said = "not asked for" if sign_off is None else "given on the screen" if sign_off.agreed else "refused"
    remark = "" if sign_off is None or not sign_off.remark else f" Remark: {sign_off.remark}"
    blocks: tuple[Block, ...] = (
        Paragraph(f"Operator's statement that the prompts were followed and the findings read: {said}.{remark}"),
        Signature((("Carried out by", run.started.operator), ("Accepted for the owner by", ""))),
        Paragraph(f"Evidence: entries 1 to {run.head.sequence} of the record book; SHA-256 of the last:", "quiet"),
        Paragraph(run.head.digest, "digest"),
    )
    return Section("signature", "Signatures", blocks, page=1)


def _exchanges(run: RunFacts) -> tuple[Block, ...]:
    lines = wire_lines(run.records)
    if not lines:
        return (Paragraph("No byte went over the wire."),)
    sent = sum(line.size for line in lines if line.sent)
    received = sum(line.size for line in lines if not line.sent)
    said = f"{sent} bytes sent, {received} bytes received. A byte that does not print is shown as \\xNN."
    return (Paragraph(said, "quiet"), Console(console_lines(lines)))
