"""Findings of the first form, brought up to date: their values stood one level down, and pictures among them."""

from collections.abc import Callable, Mapping
from typing import Any

Values = dict[str, Any]
RESUMED = "resume."
"""The first form named these findings after their phase."""
UNDEFINED = "undefined"
"""What the first form had for a conclusion that is none."""


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
    """A conclusion that is not defined was a word of its own."""
    rest = _drawn("picture", "", "picture_description")(facts)
    assessment = rest.get("assessment")
    if not isinstance(assessment, dict) or not isinstance(states := assessment.get("states"), dict):
        return rest
    pairs = {single: _defined(pair) for single, pair in states.items()}
    return {**rest, "assessment": {**assessment, "states": pairs}}


def _defined(pair: object) -> object:
    if not isinstance(pair, dict):
        return pair
    undefined = {"concluded": None}
    return {
        presence: {**state, **undefined} if isinstance(state, dict) and state.get("concluded") == UNDEFINED else state
        for presence, state in pair.items()
    }


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
