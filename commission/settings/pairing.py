"""One value of each report, laid side by side."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from commission.settings import consequence
from commission.settings.difference import Difference, Item
from commission.settings.entry import Entry, Key, Selector, selectors_of
from commission.settings.meaning import Dimension, RestoreClass
from commission.settings.printed import agree, agree_across_units, hidden_digits
from commission.settings.table import ReplacedSide, Replacement, SettingsTable
from commission.settings.unit_mode import UnitMode

Replaced = Callable[[Entry], str]


@dataclass(frozen=True)
class Pair:
    """One value of each report, or of one of them; one is always there."""

    before: Entry | None
    after: Entry | None
    units_before: UnitMode
    units_after: UnitMode

    @property
    def present(self) -> Entry:
        """One that is there."""
        entry = self.before or self.after
        assert entry is not None  # noqa: S101 - a key comes from one of the two reports
        return entry

    @property
    def dimension(self) -> Dimension:
        """How its unit follows the choice of units."""
        meaning = self.present.meaning
        return meaning.dimension if meaning else Dimension.NONE

    @property
    def same_units(self) -> bool:
        """Whether both reports print it in the same unit."""
        return self.units_before.agrees(self.units_after, self.dimension)

    @property
    def unit(self) -> str:
        """The unit in which both are shown."""
        meaning = self.present.meaning
        if meaning is None:
            return ""
        if self.before and self.after and not self.same_units:
            return meaning.unit
        return (self.units_before if self.before else self.units_after).name(meaning.unit, self.dimension)

    def item(self, replaced: Replaced) -> Item:
        """What became of it, with what follows."""
        difference, said = self._judged(replaced)
        present = self.present
        both = self.before is not None and self.after is not None
        return Item(
            difference=difference,
            command=present.command,
            selectors=selectors_of(present.line) | _axis(present),
            occurrence=present.line.occurrence,
            letter=present.letter,
            before=self._shown(self.before, both=both),
            after=self._shown(self.after, both=both),
            before_text=self._text(self.before, both=both),
            after_text=self._text(self.after, both=both),
            unit=self.unit,
            consequence=said,
            restore=present.command_meaning.restore if present.command_meaning else RestoreClass.REFUSE,
            digits_hidden=self._hidden(),
            of=present.meaning.of if present.meaning else "",
        )

    def _judged(self, replaced: Replaced) -> tuple[Difference, str]:
        before, after = self.before, self.after
        if before is None or after is None:
            reason = replaced(self.present)
            if reason:
                return Difference.MEANING_CHANGED, reason
            missing = Difference.ONLY_AFTER if before is None else Difference.ONLY_BEFORE
            return missing, consequence.one_sided(self.present, gone=after is None)
        meaning_changed = consequence.changed_meaning(before, after)
        if meaning_changed:
            return Difference.MEANING_CHANGED, meaning_changed
        if self._same(before, after):
            return Difference.SAME, consequence.unchanged(before, after, self._hidden(), same_units=self.same_units)
        return Difference.CHANGED, consequence.changed(before, after)

    def _same(self, before: Entry, after: Entry) -> bool:
        if before.base is None or after.base is None:
            return before.text == after.text
        return (agree if self.same_units else agree_across_units)(before.base, after.base)

    def _hidden(self) -> str:
        if not (self.before and self.after and self.before.number and self.after.number and self.same_units):
            return ""
        same = self._same(self.before, self.after)
        return hidden_digits(self.before.number, self.after.number) if same else ""

    def _text(self, entry: Entry | None, *, both: bool) -> str:
        """The digits as printed, or converted where the two sides are printed in different units."""
        if entry is None:
            return ""
        converted = both and not self.same_units and entry.base is not None and entry.base != entry.number
        return f"{entry.value:.6g}" if converted and entry.value is not None else entry.text

    def _shown(self, entry: Entry | None, *, both: bool) -> float | str | None:
        """The number in the unit of the item, or the text."""
        if entry is None:
            return None
        number = entry.base if both and not self.same_units else entry.number
        return float(number.value) if number is not None and entry.value is not None else entry.text


def _axis(entry: Entry) -> dict[str, Selector]:
    return {"axis": entry.selectors["axis"]} if "axis" in entry.selectors else {}


def replacement_between(before: Mapping[Key, Entry], after: Mapping[Key, Entry], table: SettingsTable) -> Replaced:
    """A question to ask of a one-sided value: why does it not carry over into what the other report says instead?

    The answer is a sentence; empty when the other report says nothing instead.
    """
    reports = (before.values(), after.values())
    there = [{(entry.command, entry.letter) for entry in report} for report in reports]
    foreign_there = [{entry.command for entry in report if entry.foreign} for report in reports]
    native_there = [{entry.command for entry in report if not entry.foreign} for report in reports]
    crossed = (foreign_there[0] & native_there[1]) | (foreign_there[1] & native_there[0])

    def used(side: ReplacedSide, report: set[tuple[str, str | None]]) -> bool:
        return all((side.command, mark) in report for mark in side.marks)

    def swaps(pair: Replacement) -> bool:
        one = [used(pair.one, report) for report in there]
        other = [used(pair.other, report) for report in there]
        return one[0] != one[1] and other[0] != other[1] and one[0] != other[0]

    active = [pair for pair in table.replaced if swaps(pair)]

    def ask(entry: Entry) -> str:
        if entry.command in crossed and entry.command_meaning is not None:
            return entry.command_meaning.reason
        pair = table.replacement(entry.command, entry.letter) if entry.letter else None
        return pair.note if pair is not None and pair in active else ""

    return ask
