"""What lies beyond the one run: the notes people made on the printer, and what its checks measured over time."""

from commission.command_lines import VERIFY
from commission.drawing.trend import Trend, as_svg, as_text
from commission.judge.nuisance import length, not_shown_yet, rate
from commission.records.notes import MEANINGS
from commission.records.purposes import HANDS_ON as TESTED
from commission.report.document import Block, Figure, Paragraph, Section, Table
from commission.report.record import RunFacts

MOST_CHECKS = 6


def notes_section(run: RunFacts) -> Section:
    """Every note on the printer that was there when the run ended; corrections stand at the top of the report."""
    noted = [(record.at[:10], record.entry) for record in run.notes]
    rows = tuple((day, MEANINGS.get(n.what, n.what), n.text, n.person or "not named") for day, n in noted)
    head = ("Day", "Kind", "Note", "By")
    table = Table("Notes made on this printer until the end of this run", head, rows)
    return Section("notes", "Notes on this printer", (table,) if rows else ())


def nuisance_section(run: RunFacts) -> Section:
    """How rarely the reading changes by itself: each condition for itself, since the last recorded change."""
    if not run.bounds and run.started.purpose not in TESTED:
        return Section("nuisance", "", ())
    rows = tuple(
        (each.around.value, length(each.seconds), str(each.changes), f"{rate(each.per_hour)} an hour")
        for each in run.bounds
    )
    head = ("Condition", "Watched", "Unwanted changes", "At most, at 95 % confidence")
    caption = "Since the last recorded change of wiring or firmware, each condition for itself"
    open_yet = not_shown_yet(run.bounds, run.tag, run.sensor)
    blocks: list[Block] = [Table(caption, head, rows)] if rows else []
    return Section(
        "nuisance",
        "How rarely the reading changes by itself",
        (*blocks, *([Paragraph(open_yet)] if open_yet else [])),
        page=2,
    )


def trends_section(run: RunFacts) -> Section:
    """A picture of each value that was measured in two checks or more."""
    drawn: list[Block] = [_figure(trend) for trend in run.trends if trend.is_drawn]
    return Section("trends", "Over the checks of this printer", (*drawn, *_no_trend(run)))


def trends_in_short(run: RunFacts) -> Section:
    """The same as one table: the newest values of each, oldest first."""
    rows = tuple(_row(trend) for trend in run.trends if trend.is_drawn)
    head = ("Value", "Limit", f"By check, the last {MOST_CHECKS}")
    blocks: list[Block] = [Table("Measured over the checks of this printer", head, rows)] if rows else []
    return Section("trends", "Over the checks of this printer", (*blocks, *_no_trend(run)))


def _row(trend: Trend) -> tuple[str, str, str]:
    last = list(zip(trend.labels, trend.values, strict=True))[-MOST_CHECKS:]
    said = "; ".join(f"{label}: {'not measured' if value is None else f'{value:g}'}" for label, value in last)
    return f"{trend.title} ({trend.unit})" if trend.unit else trend.title, _limit(trend), said


def _limit(trend: Trend) -> str:
    return "none" if trend.limit is None else f"{trend.limit:g}"


def _no_trend(run: RunFacts) -> list[Block]:
    said = f"Not drawn: {run.no_trend}. `{VERIFY}` says which are altered."
    return [Paragraph(said)] if run.no_trend else []


def _figure(trend: Trend) -> Figure:
    return Figure(trend.description, as_svg(trend), "\n".join(as_text(trend)))
