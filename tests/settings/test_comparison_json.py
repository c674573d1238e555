"""The comparison as JSON: what the published schema says, and nothing JSON cannot hold."""

import json

import pytest
from jsonschema import Draft202012Validator

from commission.settings.comparison import compare
from commission.settings.comparison_json import as_json, schema
from tests.settings.reports import GENERATIONS, NEWER, OLDEST, compared, report, snapshot

LISTS = ["same", "changed", "only_before", "only_after", "meaning_changed", "findings"]


def test_the_schema_is_a_schema() -> None:
    """The published schema is valid under the draft it names."""
    Draft202012Validator.check_schema(schema())
    # The address of the draft, as its own meta-schema gives it.
    assert "https://json-schema.org/draft/2020-12/schema" == schema()["$schema"]


@pytest.mark.parametrize("before", GENERATIONS.values(), ids=GENERATIONS)
@pytest.mark.parametrize("after", GENERATIONS.values(), ids=GENERATIONS)
def test_every_comparison_follows_the_schema(before: str, after: str) -> None:
    """Any two forms of report give JSON that the schema accepts, after a round through text."""
    data = json.loads(json.dumps(as_json(compare(snapshot(before), snapshot(after))), allow_nan=False))

    assert LISTS == list(data)
    Draft202012Validator(schema()).validate(data)


def test_an_item_whole() -> None:
    """A changed value carries everything a reader needs."""
    data = as_json(compared("M92 T1 E93.00", "M92 T1 E102.30"))

    assert [
        {
            "command": "M92",
            "selectors": {"T": 1},
            "occurrence": 1,
            "letter": "E",
            "before": 93.0,
            "after": 102.3,
            "unit": "steps/mm",
            "consequence": "More filament is fed for the same job: over-extrusion by the same ratio (+10.0 %).",
            "restore": "safe",
            "digits_hidden": "",
        }
    ] == data["changed"]


def test_a_finding_whole() -> None:
    """A finding carries the value, the range and the line."""
    data = as_json(compare(report("M92 X80.00"), report("M92 X200.00")))

    assert [
        {
            "command": "M92",
            "selectors": {},
            "occurrence": 1,
            "letter": "X",
            "before": 80.0,
            "after": 200.0,
            "unit": "steps/mm",
            "consequence": "M92 X (X axis) was 80.00, is 200.00: a factor of 2.5 against the last record.",
            "kind": "jump",
            "side": "after",
            "value": 200.0,
            "plausible": {"low": 20.0, "high": 500.0, "unit": "steps/mm"},
            "line": "echo:  M92 X200.00",
        }
    ] == data["findings"]


def test_what_is_no_number_is_text() -> None:
    """A value that is no number stands as its text, since JSON has no such number."""
    data = as_json(compare(report("M92 X80.00"), report("M92 Xnan")))

    assert ("nan", "nan") == (data["changed"][0]["after"], data["findings"][0]["value"])
    Draft202012Validator(schema()).validate(json.loads(json.dumps(data, allow_nan=False)))


def test_absent_is_null() -> None:
    """A value that one report lacks is null there."""
    data = as_json(compare(snapshot(OLDEST), snapshot(NEWER)))

    assert {None} == {item["before"] for item in data["only_after"]}
