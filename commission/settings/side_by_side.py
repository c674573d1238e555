"""A comparison for the eye: two columns within 80 characters, readable without colour."""

import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby

from commission.settings.difference import Comparison, Difference, Item
from commission.settings.meaning import RestoreClass
from commission.settings.plausibility import Finding

WIDTH = 80
NAME, COLUMN = 34, 16

TITLES = {
    Difference.CHANGED: "Changed",
    Difference.MEANING_CHANGED: "Same place, other meaning",
    Difference.ONLY_BEFORE: "Only in the report before",
    Difference.ONLY_AFTER: "Only in the report after",
    Difference.SAME: "Same",
}

MARKS = {RestoreClass.SAFE: " ", RestoreClass.REVIEW: "?", RestoreClass.REFUSE: "x"}
LEGEND = "Before a value: ? is asked about when putting back, x is never put back."


def side_by_side(comparison: Comparison, *, everything: bool = False) -> list[str]:
    """The comparison as lines of text.

    Args:
        comparison: what to show.
        everything: show the values that are the same as well, not only how many there are.
    """
    lines = [line for notice in comparison.notices for line in _wrapped(f"Note. {notice}", "")]
    lines += [""] if lines else []
    shown = [difference for difference in TITLES if everything or difference is not Difference.SAME]
    for difference in shown:
        lines += _section(TITLES[difference], comparison.of(difference))
    lines += _findings(comparison.findings)
    if any(item.restore is not RestoreClass.SAFE for item in comparison.items if item.difference in shown):
        lines += [LEGEND, ""]
    hidden = [item for item in comparison.of(Difference.SAME) if item.digits_hidden]
    if hidden and not everything:
        names = ", ".join(_name(item) for item in hidden)
        lines += [*_wrapped(f"Same as far as printed, with digits on one side only: {names}.", ""), ""]
    return [*lines, *_wrapped(summary(comparison), "")]


def summary(comparison: Comparison) -> str:
    """The counts, in a sentence."""
    counts = {difference: len(comparison.of(difference)) for difference in Difference}
    parts = [f"{counts[Difference.SAME]} the same", f"{counts[Difference.CHANGED]} changed"]
    parts += [f"{counts[Difference.ONLY_BEFORE]} only before", f"{counts[Difference.ONLY_AFTER]} only after"]
    parts += [f"{counts[Difference.MEANING_CHANGED]} with another meaning"]
    wrong = len(comparison.findings)
    looks = f"{wrong} value{'s look' if wrong != 1 else ' looks'} wrong" if wrong else "No value looks wrong"
    return f"Values: {', '.join(parts)}. {looks}."


def _section(title: str, items: Sequence[Item]) -> Iterator[str]:
    if not items:
        return
    yield f"{title:<{NAME}}{'before':>{COLUMN}}{'after':>{COLUMN}}"
    yield "-" * (NAME + 2 * COLUMN)
    for said, group in groupby(items, key=lambda item: item.consequence):
        for item in group:
            yield from _row(item)
        if said:
            yield from _wrapped(said, "      ")
    yield ""


def _row(item: Item) -> Iterator[str]:
    name = f"{MARKS[item.restore]} {_name(item)}"
    before, after = item.before_text or "-", item.after_text or "-"
    if max(len(before), len(after)) < COLUMN and len(name) < NAME:
        named = _clipped(f"{name}  {item.of}" if item.of else name, NAME - 1)
        yield f"{named:<{NAME}}{before:>{COLUMN}}{after:>{COLUMN}}  {item.unit}".rstrip()
    else:
        yield from _wrapped(name, "")
        yield from _wrapped(f"before  {before}", "    ")
        yield from _wrapped(f"after   {after}  {item.unit}".rstrip(), "    ")


def _name(item: Item) -> str:
    which = [f"{letter}{value}" if len(letter) == 1 else str(value) for letter, value in item.selectors.items()]
    return " ".join([item.command, *which, *([item.letter] if item.letter else [])])


def _clipped(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 2].rstrip()}.."


def _findings(findings: Sequence[Finding]) -> Iterator[str]:
    if not findings:
        return
    yield "Looks wrong"
    yield "-" * (NAME + 2 * COLUMN)
    for (side, line), group in groupby(findings, key=lambda finding: (finding.side, finding.entry.line.line)):
        yield from _wrapped(f"{side}: {line.strip()}", "  ")
        for finding in group:
            yield from _wrapped(finding.sentence, "      ")
    yield ""


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH - 1,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_on_hyphens=False,
    ) or [""]
