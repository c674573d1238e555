"""What became of each value between two reports: the records that a comparison is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from commission.settings.entry import Selector
from commission.settings.meaning import RestoreClass
from commission.settings.plausibility import Finding


class Difference(Enum):
    """What became of a value between two reports."""

    SAME = "same"
    CHANGED = "changed"
    ONLY_BEFORE = "only_before"
    ONLY_AFTER = "only_after"
    MEANING_CHANGED = "meaning_changed"


@dataclass(frozen=True)
class Item:
    """One value, before and after.

    Attributes:
        difference: what became of it.
        command: the command word.
        selectors: which one is meant, as printed before, or after where it is new.
        occurrence: the occurrence of the line it stands in.
        letter: the word's letter; None for a line compared as text.
        before: the number, or the text; None when it was not there.
        after: likewise.
        before_text: the digits as printed, or the text; empty when it was not there. Where the reports are written
            in different units, a number that was converted.
        after_text: likewise.
        unit: of both numbers.
        consequence: what follows from it, one or two sentences.
        restore: whether a value of this command may be put back.
        of: what the value is, in a few words; empty when unknown.
        digits_hidden: the digits of the finer number that the coarser one does not show.
    """

    difference: Difference
    command: str
    selectors: Mapping[str, Selector]
    occurrence: int
    letter: str | None
    before: float | str | None
    after: float | str | None
    before_text: str
    after_text: str
    unit: str
    consequence: str
    restore: RestoreClass
    digits_hidden: str = ""
    of: str = ""


@dataclass(frozen=True)
class Comparison:
    """Everything that two reports say, side by side.

    Attributes:
        items: every value, in the order of the earlier report; what is new follows.
        findings: values of either report that look wrong.
        notices: what a reader should know of how the reports were taken.
    """

    items: tuple[Item, ...]
    findings: tuple[Finding, ...] = ()
    notices: tuple[str, ...] = ()

    def of(self, difference: Difference) -> tuple[Item, ...]:
        """The items with this difference."""
        return tuple(item for item in self.items if item.difference is difference)

    @property
    def differs(self) -> bool:
        """Whether any value differs, or any looks wrong."""
        return bool(self.findings) or any(item.difference is not Difference.SAME for item in self.items)
