"""What follows from a difference, said to a person in a sentence."""

from commission.settings.entry import Entry
from commission.settings.meaning import RestoreClass


def changed_meaning(before: Entry, after: Entry) -> str:
    """Why two numbers in one place do not mean the same; empty when they do."""
    renamed = before.written != after.written and not (before.stand_in or after.stand_in)
    if renamed and (before.note or after.note):
        return before.note or after.note
    if before.index_base != after.index_base:
        return (
            f"The points are counted from {before.index_base} before and from {after.index_base} after: "
            "put back as written, the mesh would be shifted."
        )
    return changed_band(before, after)


def changed_band(before: Entry, after: Entry) -> str:
    """Why two numbers can hardly be in the same unit; empty when they can."""
    if before.meaning is None or before.value is None or after.value is None:
        return ""
    earlier, later = before.meaning.band(before.value), before.meaning.band(after.value)
    if earlier and later and earlier != later:
        return (
            f"{before.text} looks like {earlier.name}, {after.text} like {later.name}: the number does not carry over."
        )
    return ""


def unchanged(before: Entry, after: Entry, hidden: str, *, same_units: bool) -> str:
    """What to know of two equal values; mostly nothing."""
    said = [before.note or after.note] if before.note or after.note else []
    if hidden:
        said.append(f"Equal as far as both are printed; the last digits ({hidden}) are shown on one side only.")
    if not same_units:
        said.append("Equal after conversion of the unit.")
    return " ".join(said)


def changed(before: Entry, after: Entry) -> str:
    """What a changed value does to the machine."""
    if before.number is None or after.number is None:
        return "The line reads differently; what it means is not known here."
    if before.value is None or after.value is None:
        unusable = after.text if after.value is None else before.text
        return f"{unusable} is no usable number: nothing can be said of the change."
    if before.meaning is None:
        return "What this letter means is not known here."
    effect = before.meaning.more if after.value > before.value else before.meaning.less
    ratio = after.value / before.value - 1 if before.value > 0 and after.value > 0 else None
    share = f" ({100 * ratio:+.1f} %)" if ratio is not None and not before.meaning.whole else ""
    said = effect or "It differs from what was recorded."
    return f"{said[:-1]}{share}." if share else said


def one_sided(entry: Entry, *, gone: bool) -> str:
    """What it means that only one report shows a value."""
    known = entry.command_meaning
    if not gone:
        return "The earlier report does not show it: how it was is not known."
    if known is None:
        return "The later report does not show it; its meaning is not known here, so the record keeps it as text."
    if known.restore is RestoreClass.REFUSE:
        return "The later report does not show it; the record keeps it, to be entered by hand."
    return "The later report does not show it: this build may not have it, and it cannot be put back and proven."


def of_units(what: str, before: str, after: str, *, stated_by: int) -> str:
    """What the units of the two reports mean for comparing."""
    if before != after:
        return f"The {what} are reported in another unit: they are converted to compare, and none of them is put back."
    if stated_by == 2:
        return ""
    return f"Stated in one report only; the other is taken to use the same unit for {what}, as every build begins."
