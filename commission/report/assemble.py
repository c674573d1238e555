"""From the facts of a run to the document: what a reader needs first comes first."""

from commission.report.blocks import Block, Bullets, Console, Document, Pairs, Paragraph, Section, Signature, Table
from commission.report.findings import figures_section, findings_section, sentences_of, title_of
from commission.report.record import RunFacts, mapping, texts
from commission.report.timeline import timeline_section
from commission.report.trials import trials_section
from commission.report.wire import console_lines, wire_lines
from commission.report.work import work_section
from commission.vocabulary import Outcome, PunchClass, Verdict

TITLE = "Commissioning test report: filament-presence sensor"

MEANINGS = {
    Verdict.PASS: "Everything the plan asks for was shown.",
    Verdict.CONDITIONAL: "Nothing failed, but less was shown than a pass takes.",
    Verdict.FAIL: "At least one rule of the plan is broken. The sensor is not to be relied on as it is.",
    Verdict.NOT_JUDGED: "Too little was shown for a judgement. This is no pass.",
}
OUTCOMES = {
    Outcome.STOPPED: "The operator stopped this run before its end.",
    Outcome.LINK_LOST: "The link to the printer was lost before the end of this run.",
    Outcome.INTERRUPTED: "The printer interrupted this run before its end.",
    Outcome.BROKEN_OFF: "This run has no end in the record: the program was broken off, or is still running.",
}


def build(run: RunFacts) -> Document:
    """The whole report of a run."""
    sections = [
        _summary(run),
        _punch(run),
        _cautions(run),
        _plan(run),
        work_section(run),
        trials_section(run),
        timeline_section(run),
        findings_section(run),
        _criteria(run),
        _blind_spots(run),
        _signing(run),
        figures_section(run),
        Section("exchanges", "Appendix: raw exchanges", _exchanges(run), appendix=True),
    ]
    return Document(
        title=TITLE,
        number=run.number,
        tag=run.tag,
        day=_when(run),
        verdict=run.verdict.value,
        outcome=run.outcome.value,
        meaning=MEANINGS[run.verdict],
        alarms=_alarms(run),
        header=_header(run),
        sections=tuple(section for section in sections if section.blocks or section.parts),
        digest=run.head.digest,
    )


def _alarms(run: RunFacts) -> tuple[Paragraph, ...]:
    said = []
    if run.faults:
        places = "; ".join(fault.what for fault in run.faults[:5])
        more = f"; and {len(run.faults) - 5} more" if len(run.faults) > 5 else ""
        said.append(
            Paragraph(
                f"The record book does not check out: {places}{more}. What is printed below may not be what was "
                "written at the time.",
                "alarm",
                "The evidence was altered",
            )
        )
    if run.outcome is not Outcome.COMPLETE:
        why = str(run.ended.get("why", ""))
        text = " ".join(part for part in (OUTCOMES[run.outcome], why and f"{why.rstrip('.')}.") if part)
        said.append(
            Paragraph(f"{text} The report holds what was done until then.", "alarm", "This run is not finished")
        )
    return tuple(said)


def _when(run: RunFacts) -> str:
    zone = run.began.strftime("%z")
    offset = f"UTC{zone[:3]}:{zone[3:5]}" if zone else "zone not recorded"
    name = str(run.started.get("timezone", ""))
    return f"{run.began:%Y-%m-%d} ({name}, {offset})" if name and name != "UTC" else f"{run.began:%Y-%m-%d} ({offset})"


def _header(run: RunFacts) -> Pairs:
    started, identity = run.started, run.finding("identity")
    firmware = identity.get("firmware_name") if identity.get("announced") else "not announced"
    rows = [
        ("Report number", run.number),
        ("Printer", run.tag),
        ("Site", started.get("site") or "not given"),
        ("Machine, as announced", identity.get("machine") or "not announced"),
        ("Firmware, as announced", firmware or "not asked"),
        ("Port", started.get("port")),
        ("Purpose", started.get("purpose")),
        ("Operator", started.get("operator")),
        ("Began", f"{run.began:%Y-%m-%d %H:%M:%S %z}".strip()),
        ("Newest entry", f"{run.finished:%Y-%m-%d %H:%M:%S %z}".strip()),
        ("Tool", f"commission {started.get('tool_version', '')}".strip()),
    ]
    if started.get("follows"):
        rows.append(("Follows run", started["follows"]))
    return Pairs(tuple((name, str(value or "not recorded")) for name, value in rows))


def _summary(run: RunFacts) -> Section:
    rows = [(title_of(event), sentences_of(event)[0]) for event in run.of("finding") if sentences_of(event)]
    blocks: list[Block] = [Pairs(tuple(rows))] if rows else [Paragraph("Nothing was established in this run.")]
    safe = mapping(run.ended.get("make_safe")).get("sentence")
    blocks.append(Paragraph(str(safe or "The record does not say how the printer was left: look at it.")))
    return Section("summary", "Summary", tuple(blocks))


def _punch(run: RunFacts) -> Section:
    rows = []
    for grade in PunchClass:
        items = [event.facts for event in run.of("punch") if event.facts["grade"] == grade.value]
        rows += [(f"{grade.value}, {grade.meaning}", str(item["text"]), str(item["cure"])) for item in items]
    if not rows:
        return Section("worklist", "Worklist", (Paragraph("No open item was recorded."),))
    return Section(
        "worklist", "Worklist", (Table("Open items by class", ("Class", "Item", "What to do"), tuple(rows)),)
    )


def _cautions(run: RunFacts) -> Section:
    lines = texts(run.started.get("cautions"))
    return Section("cautions", "Cautions", (Bullets(lines),) if lines else ())


def _plan(run: RunFacts) -> Section:
    lines = texts(run.started.get("plan_sentences"))
    blocks: tuple[Block, ...] = (Paragraph("Fixed before anything was measured:", "quiet"), Bullets(lines))
    return Section("plan", "The plan and its decision rules", blocks if lines else ())


def _criteria(run: RunFacts) -> Section:
    criteria = [mapping(each) for each in run.finding("acceptance").get("criteria", ())]
    rows = tuple(tuple(str(each.get(key, "")) for key in ("name", "rule", "observed", "verdict")) for each in criteria)
    if not rows:
        return Section("acceptance", "Acceptance", (Paragraph("The plan's criteria were not judged in this run."),))
    head = ("Criterion", "Rule", "Observed", "Verdict")
    verdict = f"Verdict on the run: {run.verdict.value}. {MEANINGS[run.verdict]}"
    table = Table("Each rule of the plan, what was observed, and the verdict on it", head, rows, verdicts=3)
    return Section("acceptance", "Acceptance", (table, Paragraph(verdict)))


def _blind_spots(run: RunFacts) -> Section:
    lines = texts(run.started.get("blind_spots"))
    return Section("blind-spots", "What this check cannot show", (Bullets(lines),) if lines else ())


def _signing(run: RunFacts) -> Section:
    sign_off = run.finding("sign_off")
    said = "not signed off" if not sign_off else "confirmed on screen" if sign_off.get("agreed") else "not confirmed"
    head = run.head
    blocks: list[Block] = [
        Paragraph(f"The operator's statement: {said}."),
        Signature((("Carried out by", str(run.started.get("operator", ""))), ("Accepted for the owner by", ""))),
        Pairs(
            (("Evidence", f"entries of run {run.number}, the newest of them {head.sequence}"), ("Digest", head.digest))
        ),
        Paragraph(
            "The digest (SHA-256) is that of the run's newest entry in the record book. It depends on every entry "
            "before it, so a book that was altered or cut short no longer leads to it.",
            "quiet",
        ),
        Paragraph(
            "A commissioning test report, not a calibration certificate. It tells what was done and seen at the time "
            "on the printer named above.",
            "quiet",
        ),
    ]
    if sign_off.get("remark"):
        blocks.insert(1, Paragraph(f"Remark: {sign_off['remark']}"))
    return Section("signature", "Signature", tuple(blocks))


def _exchanges(run: RunFacts) -> tuple[Block, ...]:
    lines = wire_lines(run.events)
    if not lines:
        return (Paragraph("No byte went over the wire."),)
    sent = sum(line.size for line in lines if line.sent)
    received = sum(line.size for line in lines if not line.sent)
    said = f"{sent} bytes sent, {received} bytes received. Bytes that do not print are shown as \\xNN."
    return (Paragraph(said, "quiet"), Console(console_lines(lines)))
