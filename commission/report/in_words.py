"""Names and values of the record as a person reads them."""

from collections.abc import Mapping, Sequence
from typing import Any

UNDEFINED = "undefined"
"""What a pin is concluded to read at which nothing decides the level."""
LONGEST = 600
"""Characters of one value; the rest is counted."""
_UNITS = {"_mm3_s": "mm³/s", "_mm_s": "mm/s", "_mm": "mm", "_ms": "ms", "_s": "s", "_v": "V", "_ohm": "Ω", "_ma": "mA"}


def in_order(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values of JSON types with all names in alphabetical order, however deep they lie."""
    return {name: _in_order(values[name]) for name in sorted(values)}


def _in_order(value: object) -> object:
    match value:
        case Mapping():
            return in_order(value)
        case list():
            return [_in_order(each) for each in value]
    return value


def words(key: str) -> str:
    """A value's name in words: a unit behind the name goes into brackets."""
    for ending, unit in _UNITS.items():
        if key.endswith(ending) and len(key) > len(ending):
            return f"{key.removesuffix(ending).replace('_', ' ')} ({unit})"
    return key.replace("_", " ")


def shown(value: object) -> str:
    """A JSON value as a person reads it, of bounded length."""
    said = _shown(value)
    return said if len(said) <= LONGEST else f"{said[:LONGEST]}… and {len(said) - LONGEST} more characters"


def cell(name: str, value: object) -> str:
    """A value in a column of this name: a weight is a share of one and reads as percent, a conclusion may be none."""
    if name.endswith("concluded") and value is None:
        return UNDEFINED
    if name == "weight" and isinstance(value, float) and 0 <= value <= 1:
        return _percent(value)
    return shown(value)


def _percent(share: float) -> str:
    """A weight is never called nothing or all."""
    if 0 < share < 0.001:
        return "under 0.1 %"
    return "more than 99 %" if share > 0.99 else f"{100 * share:.1f} %"


def _shown(value: object) -> str:  # noqa: PLR0911 - one case a JSON type
    match value:
        case None:
            return "not known"
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:.6g}"
        case Mapping():
            return "; ".join(f"{words(str(key))}: {_shown(each)}" for key, each in value.items()) or "none"
        case str():
            return value or "none"
        case Sequence():
            return _listed([_shown(each) for each in value]) or "none"
    return str(value)


def _listed(items: Sequence[str]) -> str:
    """Sentences one after the other; anything else with commas, or semicolons where an item holds a comma."""
    if items and all(each.endswith(".") for each in items):
        return " ".join(items)
    return ("; " if any("," in each for each in items) else ", ").join(items)
