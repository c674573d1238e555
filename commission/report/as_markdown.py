"""The document as Markdown that shows every text literally: nothing of it is taken for markup."""

import re
from collections.abc import Iterable, Iterator

from commission.files.kinds import TEXT_MARK
from commission.report.document import (
    Block,
    Bullets,
    Console,
    ConsoleLine,
    Document,
    Figure,
    Pairs,
    Paragraph,
    Section,
    Signature,
    Table,
)

_SPECIAL = re.compile(r"[\\`*_\[\]<>|~&#$@]|://|(?<=www)\.|^[-+=]|(?<=^\d)[.)](?= )|(?<=^\d\d)[.)](?= )")
"""What Markdown could take for markup, in running text as in a cell: marks, links by themselves, starts of lists."""
_ENTITIES = {"<": "&lt;", ">": "&gt;", "&": "&amp;", "://": ":\\//"}
_MARKS = {"sent": ">", "received": " ", "note": "#"}


def escaped(text: str) -> str:
    """Text as Markdown shows it literally, in a paragraph as in a cell of a table."""
    return _SPECIAL.sub(lambda found: _ENTITIES.get(found[0], f"\\{found[0]}"), text.replace("\n", " "))


def markdown(document: Document) -> str:
    """The whole report."""
    lines = [
        TEXT_MARK,
        "",
        f"# {escaped(document.title)}",
        "",
        f"**{escaped(document.tag)}**, {escaped(document.day)}, number {escaped(document.number)}",
        "",
        *(line for alarm in document.alarms for line in _block(alarm)),
        f"## Verdict: {escaped(document.verdict)}",
        "",
        f"{escaped(document.meaning)} Outcome of the run: {escaped(document.outcome)}.",
        "",
        *_grid(("", ""), document.points),
    ]
    for section in (*document.on_page(1), *document.on_page(2)):
        lines += _section(section, 2)
    following = document.on_page(0)
    lines += ["## Contents", "", *(f"- {escaped(section.heading)}" for section in following), ""] if following else []
    for section in following:
        lines += _section(section, 2)
    evidence = f"Entries of the record book: {document.entries}. Digest of the evidence: `{document.digest}`"
    lines += ["---", "", f"End of report {escaped(document.number)}. {evidence}"]
    return "\n".join(lines) + "\n"


def _section(section: Section, level: int) -> Iterator[str]:
    yield from (f"{'#' * level} {escaped(section.heading)}", "")
    for block in section.blocks:
        yield from _block(block)
    for part in section.parts:
        yield from _section(part, level + 1)


def _block(block: Block) -> Iterable[str]:  # noqa: PLR0911 - one case a block
    match block:
        case Paragraph():
            return _paragraph(block)
        case Bullets():
            marks = (f"{index}." if block.numbered else "-" for index in range(1, len(block.items) + 1))
            return (*(f"{mark} {escaped(item)}" for mark, item in zip(marks, block.items, strict=True)), "")
        case Pairs():
            return _grid(("", ""), block.rows)
        case Table():
            return (*_caption(block.caption), *_grid(block.head, block.rows))
        case Figure():
            return (*_caption(block.caption), *(_fence(block.text.splitlines()) if block.text else ()))
        case Console():
            return _fence(list(map(_console, block.lines)))
        case Signature():
            rows = tuple((what, f"{name} {'.' * 30} date {'.' * 12}".strip()) for what, name in block.rows)
            return _grid(("For", "Name, signature, date"), rows)


def _caption(text: str) -> tuple[str, ...]:
    return (f"*{escaped(text)}*", "") if text else ()


def _console(line: ConsoleLine) -> str:
    return f"-- {line.text}" if line.direction == "step" else f"{line.at} {_MARKS[line.direction]} {line.text}"


def _paragraph(block: Paragraph) -> tuple[str, ...]:
    if block.tone in ("alarm", "caution"):
        return (f"> **{escaped(block.heading or block.tone.capitalize())}.** {escaped(block.text)}", "")
    if block.tone == "digest":
        return (f"`{block.text}`", "")
    return (f"*{escaped(block.text)}*" if block.tone == "quiet" else escaped(block.text), "")


def _grid(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    rule = "|" + " --- |" * len(head)
    return (_row(head), rule, *map(_row, rows), "")


def _row(cells: Iterable[str]) -> str:
    return "|" + "".join(f" {escaped(cell)} |" for cell in cells)


def _fence(lines: list[str]) -> tuple[str, ...]:
    """A code block whose fence is longer than any run of backticks inside it."""
    longest = max((len(run) for line in lines for run in re.findall("`+", line)), default=0)
    fence = "`" * max(3, longest + 1)
    return (f"{fence}text", *lines, fence, "")
