"""Older forms of entries, brought up to date on reading; what is stored never changes.

Form 1 is the bare facts of an entry, with its kind beside them and a finding's values one level down. Form 2 has
readings one by one; form 3 has them in short (`steady`), and is used where that is shorter. The types are made for
form 2. A new form adds its function here.
"""

from collections.abc import Callable, Mapping
from typing import Any

from commission.evidence.entry import FORMAT, PLAIN
from commission.evidence.old_findings import finding_of_form_1
from commission.evidence.steady import expanded

Values = dict[str, Any]


class TooNew(ValueError):
    """The entry was written by a newer version of the tool."""


def upgraded(kind: str, values: object) -> Values:
    """The values of an entry in the present form.

    Raises:
        TooNew: its form is newer than this program.
        ValueError: it is of no form at all.
    """
    if not isinstance(values, dict):
        raise TypeError("it holds no JSON object")
    form = _form(values)
    if form > FORMAT:
        raise TooNew(f"it was written in form {form}; this version of the tool knows {FORMAT}")
    return UPGRADES[form](kind, values) if form in UPGRADES else values


def _form(values: Values) -> int:
    """Form 1 has no number, and its values stand alone; one that has lost its number is of no form."""
    form = values.get("format") if "entry" in values else 1
    if not isinstance(form, int) or isinstance(form, bool) or form < 1:
        raise ValueError(f"it is of no known form ({form!r})")
    return form


def _from_1(kind: str, values: Values) -> Values:
    change = _OF_FORM_1.get(kind)
    entry = dict(values) if change is None else change(values)
    return {"format": PLAIN, "entry": {"kind": kind, **entry}}


def _run_started(values: Values) -> Values:
    """A job without trials had an empty plan."""
    return {**values, "plan": values.get("plan") or None}


def _run_ended(values: Values) -> Values:
    rest = {key: value for key, value in values.items() if key != "make_safe"}
    return {**rest, "way_out": _way_out(values.get("make_safe") or {})}


def _way_out(values: object) -> object:
    return {"sentence": "", **values} if isinstance(values, dict) else values


def _note(values: Values) -> Values:
    rest = {key: value for key, value in values.items() if key != "tag"}
    return {**rest, "tag_of_printer": values.get("tag")}


def _phase_ended(values: Values) -> Values:
    return {"name": values.get("name"), "kept": values.get("facts") or {}}


_OF_FORM_1: Mapping[str, Callable[[Values], Values]] = {
    "run_started": _run_started,
    "run_resumed": _run_started,
    "run_ended": _run_ended,
    "made_safe": lambda values: {"way_out": _way_out(values)},
    "note": _note,
    "phase_ended": _phase_ended,
    "finding": lambda values: {"finding": finding_of_form_1(values)},
}


def _from_3(_kind: str, values: Values) -> Values:
    entry = values["entry"]
    if not isinstance(entry, dict):
        raise TypeError("it holds no JSON object")
    return {**values, "entry": expanded(entry)}


UPGRADES: Mapping[int, Callable[[str, Values], Values]] = {1: _from_1, 3: _from_3}
"""Of each form the way to what the types are made for; form 2 is that already."""
