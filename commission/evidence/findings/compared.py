"""Two settings reports side by side, as the findings on settings hold them.

What compares them is loaded when something is compared: lists read these types too, and shall begin soon.
"""

from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

if TYPE_CHECKING:
    from commission.settings.difference import Comparison

Value = float | str | None
Selectors = dict[str, int | float | str]


class ComparedValue(Struct, frozen=True, kw_only=True):
    """One value before and after; see `settings.difference.Item`."""

    command: str
    selectors: Selectors
    occurrence: int
    letter: str | None
    before: Value
    after: Value
    unit: str
    consequence: str
    restore: str
    digits_hidden: str = ""


class Bounds(Struct, frozen=True, kw_only=True):
    """A plausible range; None for an open end."""

    low: float | None
    high: float | None
    unit: str


class DoubtedValue(Struct, frozen=True, kw_only=True):
    """A value of either report that looks wrong."""

    command: str
    selectors: Selectors
    occurrence: int
    letter: str | None
    before: Value
    after: Value
    unit: str
    consequence: str
    kind: str
    side: str
    value: Value
    plausible: Bounds | None
    line: str


class Compared(Struct, frozen=True, kw_only=True):
    """Two settings reports by value, as `comparison.schema.json` publishes it."""

    same: tuple[ComparedValue, ...] = ()
    changed: tuple[ComparedValue, ...] = ()
    only_before: tuple[ComparedValue, ...] = ()
    only_after: tuple[ComparedValue, ...] = ()
    meaning_changed: tuple[ComparedValue, ...] = ()
    findings: tuple[DoubtedValue, ...] = ()

    @classmethod
    def of(cls, comparison: "Comparison") -> "Compared":
        """The comparison, for the record: the very values that are published."""
        from commission.settings.comparison_json import as_json

        return msgspec.convert(as_json(comparison), cls)
