"""Findings in words, with their pictures and tables, drawn from their values."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from commission.evidence.findings.base import Finding
from commission.evidence.findings.gates import Gates
from commission.evidence.findings.loop import Judgement, TestsDone
from commission.evidence.findings.meeting import LeftOut
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.wiring import Wiring
from commission.evidence.found import Established
from commission.evidence.place import number_in_chain
from commission.evidence.stands import Item
from commission.judge.gates import GateState
from commission.report.document import Block, Bullets, Pairs, Paragraph, Section, Table
from commission.report.figures import figures
from commission.report.in_words import cell, in_order, shown, words
from commission.report.record import RunFacts

MOST_ROWS_INSIDE = 30
"""Rows of a table inside the findings; a longer one stands in the appendix."""
MOST_ROWS = 80
"""Rows of one table of values; beyond it the rest is counted."""
ELSEWHERE = Judgement
"""Findings that have a section of their own."""
FOR_COMPUTING = TestsDone
"""Findings whose tables are for whoever computes with them: they stand in the appendix."""
NOTHING = ("", "none")
"""What a cell shows where there is nothing; a column of nothing else is left out."""
FIRST = ("title", "titles", "name", "what", "test", "wire", "item", "line", "rule", "state")
"""Values that name a row of a table, in the order in which they are wanted on the left."""
ROWS_FIRST = ("sound", "unplugged")
AS_DECLARED = "Page 1 has it in words."
DEEPEST = 4
"""How far tables are looked for inside the values of a finding."""


def findings_section(run: RunFacts) -> Section:
    """Every finding in the order in which it was established."""
    told = [item for item in run.findings if not isinstance(item.entry.finding, ELSEWHERE)]
    newest = {item.entry.finding.name(): item for item in told}
    headings = _headings(told)
    parts = tuple(
        _part(item, heading, newest=item is newest[item.entry.finding.name()])
        for item, heading in zip(told, headings, strict=True)
    )
    return Section("findings", "Findings", parts=parts)


def _headings(told: Sequence[Item[Established]]) -> Iterator[str]:
    """The heading of each, no two alike: of several of one kind it says which, of what was left out its name."""
    several = len({item.sensor for item in told if item.sensor}) > 1
    plain = [
        f"{item.sensor}: {_heading(item.entry.finding)}" if several and item.sensor else _heading(item.entry.finding)
        for item in told
    ]
    seen: Counter[str] = Counter()
    for heading in plain:
        seen[heading] += 1
        yield f"{heading} ({seen[heading]} of {plain.count(heading)})" if plain.count(heading) > 1 else heading


def _heading(finding: Finding) -> str:
    return f"Left out: {words(finding.phase)}" if isinstance(finding, LeftOut) else finding.heading()


def wiring_section(run: RunFacts) -> Section:
    """The wiring as it was declared in this run, as a picture."""
    wiring = run.finding(Wiring)
    drawn = () if wiring is None else figures(wiring)
    return Section("wiring", "Wiring as declared", tuple(replace(each, caption=AS_DECLARED) for each in drawn), page=2)


def pictures_section(run: RunFacts) -> Section:
    """The other pictures that tell more than their sentence: the newest of each kind of finding that stands."""
    newest = {item.entry.finding.name(): item.entry.finding for item in run.findings if item.counts}
    told = [finding for finding in newest.values() if not _said_by_its_sentence(finding)]
    drawn = [each for finding in told for each in figures(finding)]
    return Section("pictures", "Pictures", tuple(drawn))


def _said_by_its_sentence(finding: Finding) -> bool:
    """Whether its picture is left to the full report, or stands on page 2."""
    if isinstance(finding, Gates):
        return all(shown.state is GateState.OPEN for shown in finding.gates)
    return isinstance(finding, Wiring | PullProof)


def _part(item: Item[Established], heading: str, *, newest: bool) -> Section:
    finding = item.entry.finding
    said, drawn = finding.sentences, figures(finding)
    blocks: list[Block] = [Bullets(said) if len(said) > 1 else Paragraph(said[0])] if said else []
    blocks += [] if isinstance(finding, FOR_COMPUTING) else list(_tables(values_of(finding)))
    blocks += drawn if newest else []
    if drawn and not newest:
        blocks.append(Paragraph("Established again later in the run; the picture is drawn there."))
    return Section(f"finding-{number_in_chain(item.record.sequence)}", heading, tuple(blocks))


def values_of(finding: Finding) -> dict[str, Any]:
    """The values of a finding in alphabetical order."""
    return in_order(finding.values)


def _tables(values: Mapping[str, Any], depth: int = 0) -> Iterator[Block]:
    """The tables among the values, however deep they lie; a long one is left to the appendix."""
    for key, value in values.items():
        if (rows := rows_of(value)) is not None:
            long = len(rows) > MOST_ROWS_INSIDE
            yield Paragraph(f"{_caption(key)}: {len(rows)} rows, in the appendix.") if long else _table(key, rows)
        elif isinstance(value, Mapping) and depth < DEEPEST:
            yield from _tables(value, depth + 1)


def rows_of(value: object) -> list[Mapping[str, Any]] | None:
    """The rows of a value that is a table: a list of objects, or objects by name that are all of one form."""
    if isinstance(value, list) and value and all(isinstance(each, Mapping) for each in value):
        return value
    if isinstance(value, Mapping) and len(value) > 1:
        known = {name: each for name, each in value.items() if each is not None}  # what does not apply has no row
        forms = {tuple(sorted(each)) if isinstance(each, Mapping) else () for each in known.values()}
        if len(known) > 1 and len(forms) == 1 and forms != {()}:
            return [{"name": words(name), **dict(_level(known[name]))} for name in sorted(known, key=_row_place)]
    return None


def _level(facts: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Objects inside a row as columns of their own."""
    for key, value in facts.items():
        if isinstance(value, Mapping) and value:
            yield from _level(value, f"{before}{words(key)}: ")
        else:
            yield before + key, value


def _caption(key: str) -> str:
    said = words(key)
    return said[:1].upper() + said[1:]


def _table(key: str, rows: Sequence[Mapping[str, Any]]) -> Table:
    names = sorted(dict.fromkeys(name for row in rows for name in row), key=_place)
    told = rows[:MOST_ROWS]
    cells = {name: [cell(name, row[name]) if name in row else "" for row in told] for name in names}
    names = [name for name in names if not all(each in NOTHING for each in cells[name])] or names[:1]
    caption = _caption(key)
    if len(rows) > MOST_ROWS:
        caption += f" (the first {MOST_ROWS} of {len(rows)}; the book keeps all)"
    verdicts = names.index("verdict") if "verdict" in names else None
    if not names:
        return Table(caption, ("",), ())
    return Table(
        caption, tuple(map(_caption, names)), tuple(zip(*(cells[name] for name in names), strict=True)), verdicts
    )


def _place(name: str) -> int:
    """What names the row comes first and a verdict last; the record keeps names in alphabetical order only."""
    return FIRST.index(name) if name in FIRST else len(FIRST) + (name == "verdict")


def _row_place(name: str) -> int:
    """Of rows that have names the sound state comes first, then the one that anybody can try."""
    return ROWS_FIRST.index(name) if name in ROWS_FIRST else len(ROWS_FIRST)


def values_section(run: RunFacts) -> Section:
    """The values behind the findings, for whoever computes with them."""
    parts = []
    headings = _headings(run.findings)
    for item, heading in zip(run.findings, headings, strict=True):
        finding = item.entry.finding
        values = values_of(finding)
        pairs = tuple(_flat(values))[:MOST_ROWS]
        blocks: list[Block] = [Pairs(pairs)] if pairs else []
        most_inside = 0 if isinstance(finding, FOR_COMPUTING) else MOST_ROWS_INSIDE
        blocks += [_table(key, rows) for key, rows in _long(values, most_inside)]
        if blocks:
            parts.append(Section(f"values-{number_in_chain(item.record.sequence)}", heading, tuple(blocks)))
    return Section("values", "Appendix: values behind the findings", parts=tuple(parts), appendix=True)


def _flat(values: Mapping[str, Any], before: str = "", depth: int = 0) -> Iterator[tuple[str, str]]:
    for key, value in values.items():
        if rows_of(value) is not None:
            continue
        if isinstance(value, Mapping) and value and depth < DEEPEST:
            yield from _flat(value, f"{before}{words(key)}: ", depth + 1)
        else:
            yield before + words(key), shown(value)


def _long(values: Mapping[str, Any], most_inside: int, depth: int = 0) -> Iterator[tuple[str, list[Mapping[str, Any]]]]:
    """The tables that are not among the findings."""
    for key, value in values.items():
        rows = rows_of(value)
        if rows is not None and len(rows) > most_inside:
            yield key, rows
        elif rows is None and isinstance(value, Mapping) and depth < DEEPEST:
            yield from _long(value, most_inside, depth + 1)
