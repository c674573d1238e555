"""The one table at the end: what was expected, what came, and whether it held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scripts.usb_lab_parts.check import Check

HEADINGS = ("scenario", "what", "expected", "got", "held")
WIDEST = 44


@dataclass(frozen=True)
class Played:
    """A scenario that was played.

    Attributes:
        name: of the scenario.
        checks: those that were made.
        took_s: wall time.
        broken_off: why it did not come to its end; empty when it did.
    """

    name: str
    checks: Sequence[Check]
    took_s: float
    broken_off: str = ""

    @property
    def held(self) -> bool:
        """Whether it came to its end, something was checked, and everything held."""
        return bool(self.checks) and not self.broken_off and all(check.held for check in self.checks)


def lines(played: Sequence[Played]) -> list[str]:
    """The table, one line a check; a last line counts the scenarios."""
    rows = [HEADINGS, *(row for each in played for row in _rows(each))]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    table = ["  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    held = sum(each.held for each in played)
    times = ", ".join(f"{each.name} {each.took_s:.0f} s" for each in played)
    return [*table, "", f"Wall time: {times}.", f"{held} of {len(played)} scenarios held."]


def _rows(played: Played) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        (played.name, check.what, _short(check.expected), _short(check.got), "yes" if check.held else "NO")
        for check in played.checks
    ]
    if played.broken_off or not rows:
        rows.append((played.name, "comes to its end", "yes", _short(played.broken_off or "nothing checked"), "NO"))
    return rows


def _short(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    text = " ".join(text.split())
    return text if len(text) <= WIDEST else text[: WIDEST - 3] + "..."
