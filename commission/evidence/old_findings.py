"""Findings of the first form, brought up to date: their values stood one level down, and pictures among them."""

from collections.abc import Callable, Mapping
from typing import Any

Values = dict[str, Any]
RESUMED = "resume."
"""The first form named these findings after their phase."""
UNDEFINED = "undefined"


def finding_of_form_1(values: Values) -> Values:
    """The finding in the second form.

    Raises:
        ValueError: it has no name, or its values are no object.
    """
    name, facts = values.get("name"), values.get("facts", {})
    if not isinstance(name, str) or not isinstance(facts, dict):
        raise TypeError("it has no name, or no values")
    if name.startswith(RESUMED):
        name = "taken_over"
    change = _CHANGED.get(name)
    known = dict(facts) if change is None else change(facts)
    return {**known, "name": name, "sentences": values.get("sentences", [])}


def _drawn(*keys: str) -> Callable[[Values], Values]:
    """Move the pictures of these keys (svg, text, description) into one place."""

    def change(facts: Values) -> Values:
        rest = {key: value for key, value in facts.items() if key not in keys}
        names = ("svg", "text", "description")
        drawn = {name: facts[key] for name, key in zip(names, keys, strict=False) if key in facts}
        return {**rest, "drawn_before": drawn} if drawn else rest

    return change


def _wiring(facts: Values) -> Values:
    """A conclusion that nothing decides had a word of its own; pictures stood beside the values."""
    states = _within(facts, "assessment", "states")
    for pair in states.values():
        for state in pair.values() if isinstance(pair, dict) else ():
            if isinstance(state, dict) and state.get("concluded") == UNDEFINED:
                state["concluded"] = None
    return _drawn("picture", "", "picture_description")(facts)


def _within(values: Values, *names: str) -> Values:
    """The object that lies so deep; empty where there is none."""
    for name in names:
        inner = values.get(name)
        values = inner if isinstance(inner, dict) else {}
    return values


def _mechanical(facts: Values) -> Values:
    """A drag that was measured had a line without a reason."""
    lines = [{"reason": "", **line} for line in facts.get("lines", ()) if isinstance(line, dict)]
    return {**facts, "lines": lines}


_CHANGED: Mapping[str, Callable[[Values], Values]] = {
    "gates": _drawn("picture_svg", "picture_text"),
    "reserve": _drawn("picture_svg", "picture_text"),
    "wiring": _wiring,
    "diagnosis": _drawn("picture"),
    "mechanical_check": _mechanical,
}
