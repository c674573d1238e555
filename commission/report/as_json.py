"""The report as JSON, as `report.schema.json` beside this file describes it; made for programs that read reports."""

from collections.abc import Iterator, Sequence
from typing import Any

from commission.drawing.trend import Trend
from commission.evidence.entry import AnyRecord, Entry, Record
from commission.evidence.findings.meeting import PrinterIdentity
from commission.evidence.found import Established
from commission.evidence.measured import Trial, Watch
from commission.evidence.runs import Note, PhaseAbandoned, PhaseEnded, PhaseStarted
from commission.evidence.stands import Item
from commission.evidence.talk import Punched
from commission.judge.nuisance import RateBound
from commission.judge.polarity import majority
from commission.report.folds import console_lines
from commission.report.in_short import in_short
from commission.report.json_form import FORMAT_VERSION, ReportForm, text_of, values_of
from commission.report.json_parts import (
    BoundForm,
    CheckValue,
    Correction,
    Evidence,
    FindingForm,
    ItemForm,
    NoteForm,
    Phase,
    SensorForm,
    ShortForm,
    Step,
    Traffic,
    TrendForm,
    TrialForm,
    WatchForm,
    WireForm,
)
from commission.report.record import RunFacts
from commission.report.several import path_of, verdict_on
from commission.report.trials import changes_of, readings_of, watched_s
from commission.report.wire import WireLine, wire_lines
from commission.report.work import steps

DIGITS = 4


def json_text(run: RunFacts) -> str:
    """The report as text, the same for the same entries."""
    return text_of(as_json(run))


def as_json(run: RunFacts) -> dict[str, Any]:
    """The report as values of JSON types."""
    return values_of(form_of(run))


def form_of(run: RunFacts) -> ReportForm:
    """The report."""
    started, stands, lines = run.started, run.stands, wire_lines(run.records)
    return ReportForm(
        format="commission-report",
        format_version=FORMAT_VERSION,
        number=run.number,
        tag=run.tag,
        purpose=started.purpose,
        site=started.site,
        operator=started.operator,
        bench=next((record.about.bench for record in run.records if record.about.bench), ""),
        port=started.port,
        tool_version=started.tool_version,
        timezone=started.timezone,
        follows=started.follows,
        began=run.began.isoformat(timespec="milliseconds"),
        newest_entry=run.finished.isoformat(timespec="milliseconds"),
        outcome=run.outcome,
        verdict=run.verdict,
        rules=0 if run.ended is None else run.ended.rules,
        why=run.why,
        make_safe=run.left,
        evidence=_evidence(run),
        identity=run.finding(PrinterIdentity),
        plan=started.plan,
        plan_sentences=started.plan_sentences,
        cautions=started.cautions,
        blind_spots=started.blind_spots,
        phases=tuple(_phases(run)),
        trials=tuple(map(_trial, stands.of(Trial))),
        watches=tuple(map(_watch, stands.of(Watch))),
        findings=tuple(map(_finding, run.findings)),
        acceptance=run.criteria,
        sensors=tuple(_sensor(run, part) for part in run.parts),
        bounds=tuple(map(_bound, run.bounds)),
        worklist=tuple(map(_item, run.worklist)),
        corrections=tuple(map(_correction, run.corrections)),
        notes=tuple(map(_note, run.notes)),
        trends=tuple(_trend(trend) for trend in run.trends if trend.is_drawn),
        no_trend=run.no_trend,
        traffic=_traffic(lines),
        in_short=_in_short(run),
        steps=tuple(Step(phase=phase, at=at, what=what) for phase, at, what in steps(run)),
        exchanges=tuple(WireForm(at=e.at, direction=e.direction, text=e.text) for e in console_lines(lines)),
    )


def _sensor(run: RunFacts, part: RunFacts) -> SensorForm:
    verdict, path = verdict_on(run, part), path_of(part)
    return SensorForm(sensor=part.sensor, path=path, verdict=verdict, acceptance=part.criteria)


def _bound(bound: RateBound) -> BoundForm:
    return BoundForm(
        around=bound.around,
        watched_s=bound.seconds,
        changes=bound.changes,
        at_most_per_hour=bound.per_hour,
        confidence=bound.confidence,
    )


def _evidence(run: RunFacts) -> Evidence:
    faults = tuple(fault.what for fault in run.faults)
    return Evidence(entry=run.head.sequence, digest=run.head.digest, faults=faults, unread=run.unread)


def _phases(run: RunFacts) -> Iterator[Phase]:
    begins = run.of(PhaseStarted)
    ends: list[Record[PhaseEnded] | Record[PhaseAbandoned]] = [*run.of(PhaseEnded), *run.of(PhaseAbandoned)]
    for index, began in enumerate(begins):
        until = begins[index + 1].sequence if index + 1 < len(begins) else run.head.place + 1
        inside = [each for each in ends if began.sequence < each.sequence < until]
        inside = [each for each in inside if each.entry.name == began.entry.name]
        end = min(inside, key=lambda each: each.sequence, default=None)
        done = end is not None and isinstance(end.entry, PhaseEnded)
        yield Phase(
            name=began.entry.name,
            title=began.entry.title,
            state="broken off" if end is None else "done" if done else "abandoned",
            began=_at(began),
            ended=None if end is None else _at(end),
        )


def _trial(item: Item[Trial]) -> TrialForm:
    trial = item.entry
    return TrialForm(
        at=_at(item.record),
        counts=item.counts,
        why_not=_why_not(item),
        sensor=item.sensor,
        number=trial.number,
        cycle=trial.cycle,
        instruction=trial.instruction,
        presence=trial.presence,
        switch=trial.switch,
        countdown_s=trial.countdown_s,
        dwell_s=trial.dwell_s,
        before=trial.before,
        dwell=trial.dwell,
        majority=majority(readings_of(trial.dwell)),
        unwanted_changes=changes_of(item),
        unread=trial.unread,
        void_reason=trial.void_reason,
        set_aside="" if trial.spoken is None else trial.spoken.value,
        void_before=trial.void_before,
        remark=trial.remark,
    )


def _watch(item: Item[Watch]) -> WatchForm:
    watch = item.entry
    return WatchForm(
        at=_at(item.record),
        counts=item.counts,
        why_not=_why_not(item),
        sensor=item.sensor,
        key=watch.key,
        title=watch.title,
        presence=watch.presence,
        readings=watch.readings,
        taken_s=watch.taken_s,
        largest_gap_s=watch.largest_gap_s,
        watched_s=round(watched_s(watch), DIGITS),
        unwanted_changes=changes_of(item),
        unread=watch.unread,
        slowed=watch.slowed,
    )


def _finding(item: Item[Established]) -> FindingForm:
    return FindingForm(
        at=_at(item.record),
        counts=item.counts,
        why_not=_why_not(item),
        sensor=item.sensor,
        finding=item.entry.finding,
    )


def _why_not(item: Item[Entry]) -> str:
    return "" if item.why is None else item.why.value


def _item(item: Punched) -> ItemForm:
    return ItemForm(grade=item.grade, text=item.text, cure=item.cure)


def _correction(record: Record[Note]) -> Correction:
    note = record.entry
    return Correction(at=_at(record), entry=note.about, person=note.person, text=note.text)


def _note(record: Record[Note]) -> NoteForm:
    note = record.entry
    return NoteForm(at=_at(record), kind=note.what, person=note.person, text=note.text, wiring=note.wiring)


def _trend(trend: Trend) -> TrendForm:
    """The numbers behind a picture."""
    values = zip(trend.labels, trend.values, strict=True)
    checks = tuple(CheckValue(check=label, value=value) for label, value in values)
    return TrendForm(title=trend.title, unit=trend.unit, limit=trend.limit, checks=checks)


def _in_short(run: RunFacts) -> ShortForm:
    said = in_short(run)
    return ShortForm(verdict=run.verdict, why=said.why, now=said.now, missing=said.missing, next_check=said.next_check)


def _traffic(lines: Sequence[WireLine]) -> Traffic:
    sent = sum(line.size for line in lines if line.sent)
    return Traffic(sent_bytes=sent, received_bytes=sum(line.size for line in lines) - sent)


def _at(record: AnyRecord) -> str:
    return record.moment.isoformat(timespec="milliseconds")
