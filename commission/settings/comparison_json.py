"""A comparison as JSON, exactly as `comparison.schema.json` beside this file publishes it."""

import json
import math
from importlib import resources
from typing import Any

from commission.settings.difference import Comparison, Difference, Item
from commission.settings.entry import selectors_of
from commission.settings.plausibility import Finding


def schema() -> dict[str, Any]:
    """The published JSON Schema (draft 2020-12)."""
    text = (resources.files("commission.settings") / "comparison.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def as_json(comparison: Comparison) -> dict[str, Any]:
    """The comparison as plain data, ready for `json.dumps`."""
    listed: dict[str, Any] = {
        difference.value: [_item(item) for item in comparison.of(difference)] for difference in Difference
    }
    return {**listed, "findings": [_finding(finding) for finding in comparison.findings]}


def _item(item: Item) -> dict[str, Any]:
    return {
        "command": item.command,
        "selectors": dict(item.selectors),
        "occurrence": item.occurrence,
        "letter": item.letter,
        "before": item.before,
        "after": item.after,
        "unit": item.unit,
        "consequence": item.consequence,
        "restore": item.restore.value,
        "digits_hidden": item.digits_hidden,
    }


def _finding(finding: Finding) -> dict[str, Any]:
    entry, recorded, plausible = finding.entry, finding.recorded, finding.plausible
    meaning = entry.meaning
    here = _number(entry.number.text if entry.number else None)
    there = _number(recorded.number.text if recorded and recorded.number else None)
    return {
        "command": entry.command,
        "selectors": dict(selectors_of(entry.line)),
        "occurrence": entry.line.occurrence,
        "letter": entry.letter,
        "before": here if finding.side == "before" else there,
        "after": here if finding.side == "after" else None,
        "unit": finding.unit,
        "consequence": finding.sentence,
        "kind": finding.suspicion.value,
        "side": finding.side,
        "value": here,
        "plausible": {"low": plausible.low, "high": plausible.high, "unit": meaning.unit if meaning else ""}
        if plausible
        else None,
        "line": entry.line.line,
    }


def _number(text: str | None) -> float | str | None:
    """The number, or its digits when JSON has no such number."""
    if text is None:
        return None
    value = float(text)
    return value if math.isfinite(value) else text
