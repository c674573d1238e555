"""A run's data as a document: what is said, in which order."""

from commission.report.closing import evidence_section, signature_section, verdict_section, worklist_section
from commission.report.course import changes_section, done_section
from commission.report.document import Bullets, Document, Section, section
from commission.report.facts import RunFacts
from commission.report.measured import (
    as_found_section,
    criteria_section,
    findings_section,
    timeline_section,
    trials_section,
    watches_section,
)
from commission.report.opening import head, notices, summary_section
from commission.report.raw import raw_section
from commission.report.wording import VERDICT_LINES, title_of


def build(facts: RunFacts) -> Document:
    """The report of a run as a document; a run with fewer phases makes a shorter one."""
    start, end = facts.start, facts.end
    sections = (
        summary_section(facts),
        _listed("cautions", "Cautions", start.cautions),
        _listed("plan", "Plan and decision rule", start.plan_sentences),
        done_section(facts),
        as_found_section(facts),
        changes_section(facts),
        trials_section(facts),
        watches_section(facts),
        timeline_section(facts),
        findings_section(facts),
        criteria_section(facts),
        verdict_section(facts),
        _listed("limits", "What this check cannot show", start.blind_spots),
        worklist_section(facts),
        signature_section(facts),
        evidence_section(facts),
        raw_section(facts.traffic),
    )
    return Document(
        title=title_of(start.purpose),
        tag=start.tag,
        number=start.number,
        verdict=end.verdict,
        verdict_line=VERDICT_LINES[end.verdict],
        outcome=end.outcome.value,
        head=head(facts),
        notices=tuple(notices(facts)),
        sections=tuple(each for each in sections if each is not None),
        closing=f"End of report {start.number}",
    )


def _listed(key: str, heading: str, sentences: tuple[str, ...]) -> Section | None:
    return section(key, heading, [Bullets(sentences) if sentences else None])
