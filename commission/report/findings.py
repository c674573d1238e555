"""Findings in words, with their pictures and tables; one that is not known here is drawn all the same."""

from collections.abc import Mapping, Sequence
from typing import Any

from commission.report.blocks import Block, Bullets, Figure, Pairs, Paragraph, Section, Table
from commission.report.record import Event, RunFacts, mapping, texts

MOST_ROWS = 80
"""Rows of one table of facts; beyond it the rest is counted."""
ELSEWHERE = frozenset({"criteria"})
"""Facts that have a place of their own in the report."""

_Cells = tuple[str, ...]


def title_of(finding: Event) -> str:
    """The finding's name as a heading, as in `Fail safe`."""
    return str(finding.facts.get("name", "finding")).replace("_", " ").strip().capitalize() or "Finding"


def sentences_of(finding: Event) -> tuple[str, ...]:
    """The finding in words."""
    return texts(finding.facts.get("sentences"))


def findings_section(run: RunFacts) -> Section:
    """Every finding in the order in which it was established."""
    return Section("findings", "Findings", parts=tuple(_part(finding) for finding in run.of("finding")))


def _part(finding: Event) -> Section:
    said = sentences_of(finding)
    blocks: list[Block] = [Bullets(said) if len(said) > 1 else Paragraph(said[0])] if said else []
    facts = mapping(finding.facts.get("facts"))
    blocks += _pictures(facts, title_of(finding))
    blocks += _tables(facts)
    return Section(_anchor(finding), title_of(finding), tuple(blocks))


def _pictures(facts: Mapping[str, Any], title: str) -> list[Block]:
    if not any(isinstance(facts.get(key), str) for key in ("svg", "text")):
        return [block for key, each in facts.items() for block in _nested(key, each)]
    caption = str(facts.get("caption") or title)
    return [Figure(caption, str(facts.get("svg") or ""), str(facts.get("text") or ""))]


def _nested(key: str, value: object) -> list[Block]:
    inner = mapping(value)
    return _pictures(inner, words(key)) if "svg" in inner else []


def _tables(facts: Mapping[str, Any]) -> list[Block]:
    return [_table(key, value) for key, value in facts.items() if key not in ELSEWHERE and _is_table(value)]


def _is_table(value: object) -> bool:
    return isinstance(value, Sequence) and bool(value) and all(isinstance(each, Mapping) for each in value)


def _table(key: str, rows: Sequence[Mapping[str, Any]]) -> Table:
    head = tuple(dict.fromkeys(name for row in rows for name in row))
    cells = [tuple(shown(row.get(name)) for name in head) for row in rows[:MOST_ROWS]]
    caption = words(key)
    if len(rows) > MOST_ROWS:
        caption += f" (the first {MOST_ROWS} of {len(rows)}; the book keeps all)"
    return Table(caption, tuple(map(words, head)) or ("",), tuple(cells))


def figures_section(run: RunFacts) -> Section:
    """The values behind the findings, for whoever computes with them."""
    parts = []
    for finding in run.of("finding"):
        rows = tuple(_flat(mapping(finding.facts.get("facts"))))
        if rows:
            parts.append(Section(f"{_anchor(finding)}-figures", title_of(finding), (Pairs(rows),)))
    return Section("figures", "Appendix: values behind the findings", parts=tuple(parts), appendix=True)


def _flat(facts: Mapping[str, Any], before: str = "") -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for key, value in facts.items():
        if key in ELSEWHERE or key in ("svg", "text") or _is_table(value):
            continue
        if isinstance(value, Mapping):
            rows += _flat(value, f"{before}{words(key)}: ")
        else:
            rows.append((before + words(key), shown(value)))
    return rows


def words(key: str) -> str:
    """A fact's name in words: a unit behind the name goes into brackets."""
    for ending, unit in (
        ("_mm3_s", "mm³/s"),
        ("_mm_s", "mm/s"),
        ("_mm", "mm"),
        ("_ms", "ms"),
        ("_s", "s"),
        ("_v", "V"),
    ):
        if key.endswith(ending) and len(key) > len(ending):
            return f"{key.removesuffix(ending).replace('_', ' ')} ({unit})"
    return key.replace("_", " ")


def shown(value: object) -> str:  # noqa: PLR0911 - one case a JSON type
    """A JSON value as a person reads it."""
    match value:
        case None:
            return "not known"
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:.6g}"
        case Mapping():
            return "; ".join(f"{words(str(key))}: {shown(each)}" for key, each in value.items()) or "none"
        case str():
            return value or "none"
        case Sequence():
            return ", ".join(map(shown, value)) or "none"
    return str(value)


def _anchor(finding: Event) -> str:
    return f"finding-{finding.sequence}"
