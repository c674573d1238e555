"""Two settings reports side by side, compared by value.

Same, changed, only before, only after, or with a changed meaning: every value of either report lands in exactly one of
these. What is not understood is compared too, as text.
"""

from collections.abc import Iterator

from commission.settings import consequence
from commission.settings.difference import Comparison, Difference, Item
from commission.settings.entries import entries_of
from commission.settings.meaning import RestoreClass
from commission.settings.pairing import Pair, replacement_between
from commission.settings.plausibility import findings_among
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode


def compare(before: Snapshot, after: Snapshot, table: SettingsTable | None = None) -> Comparison:
    """Lay the later report beside the earlier one.

    Args:
        before: the earlier report; also the record against which jumps are found.
        after: the later report.
        table: what the commands mean; the standard one when left out.
    """
    table = table or standard_table()
    earlier = entries_of(before, table)
    alike = (before.lines, before.units) == (after.lines, after.units)  # nothing else is read of a report
    later = earlier if alike else entries_of(after, table)
    replaced = replacement_between(earlier, later, table)
    items = list(_unit_items(before.units, after.units, table))
    for key in {**earlier, **later}:
        pair = Pair(earlier.get(key), later.get(key), before.units, after.units)
        items.append(pair.item(replaced))
    notices = [f"Before: {notice}" for notice in before.notices] + [f"After: {notice}" for notice in after.notices]
    findings = findings_among(earlier, {}, (before.units, before.units), side="before", table=table)
    findings += findings_among(later, earlier, (after.units, before.units), side="after", table=table)
    return Comparison(tuple(items), findings, tuple(notices))


def _unit_items(before: UnitMode, after: UnitMode, table: SettingsTable) -> Iterator[Item]:
    """The lines that state the units, as one item each; none for what neither report states."""
    stating = table.report_units
    lengths = (before.length.value, after.length.value)
    temperatures = (before.temperature.value, after.temperature.value)
    stated = before.length_stated + after.length_stated
    if stated:
        yield _unit_item(stating.millimetres, lengths, "lengths", stated)
    stated = before.temperature_stated + after.temperature_stated
    if stated:
        yield _unit_item(stating.temperature, temperatures, "temperatures", stated)


def _unit_item(command: str, units: tuple[str, str], what: str, stated: int) -> Item:
    before, after = units
    return Item(
        difference=Difference.SAME if before == after else Difference.CHANGED,
        command=command,
        selectors={},
        occurrence=1,
        letter=None,
        before=before,
        after=after,
        before_text=before,
        after_text=after,
        unit="",
        consequence=consequence.of_units(what, before, after, stated_by=stated),
        restore=RestoreClass.REFUSE,
    )
