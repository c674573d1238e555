"""The tables of a campaign, for print and as JSON."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from scripts.commissioning.bounds import lower, upper
from scripts.commissioning.campaign import BROKEN_OFF, CRASHED, VERDICTS, Order
from scripts.commissioning.figures import CONFIDENCE, Figure, Row

COLUMNS = (*VERDICTS, BROKEN_OFF, CRASHED)
HEADS = ("pass", "cond.", "not j.", "fail", "broken", "crash")
REASONS_SHOWN = 2


def lines(order: Order, rows: Sequence[Row], figures: Sequence[Figure]) -> list[str]:
    """The whole report."""
    asked = f"{sum(row.runs for row in rows)} commissionings of {len(rows)} kinds, seed {order.seed}"
    slips = "" if order.slips is None else f", slips of {order.slips:.1%} for every person"
    said = f"Bounds are exact (Clopper-Pearson), one-sided at {CONFIDENCE:.0%} each way."
    return [f"{asked}{slips}. {said}", "", *table(rows), "", *(figure.line for figure in figures), *_crashes(rows)]


def table(rows: Sequence[Row]) -> list[str]:
    """Kind of unit by verdict, with the bounds on the share that passes and the commonest failed criteria."""
    heads = "".join(f"{head:>7}" for head in HEADS)
    found = [f"{'kind of unit and person':60}{'n':>6}{heads}   {'passes':18} {'wrong pol.':>10}  truth; fails in"]
    for row in rows:
        counts = "".join(f"{row.count(verdict):7}" for verdict in COLUMNS)
        found.append(f"{row.kind:60}{row.runs:6}{counts}   {_share(row):18} {row.wrong_polarity:10}  {_remarks(row)}")
    return found


def _share(row: Row) -> str:
    passed = row.count("pass")
    return f"{lower(passed, row.runs, CONFIDENCE):.2%} to {upper(passed, row.runs, CONFIDENCE):.2%}"


def _remarks(row: Row) -> str:
    common = sorted(row.reasons, key=lambda reason: -row.reasons[reason])[:REASONS_SHOWN]
    reasons = ", ".join(f"{reason} {row.reasons[reason]}" for reason in common)
    examples = f"; as numbers {', '.join(map(str, row.examples))}" if row.examples else ""
    return "; ".join(part for part in (row.truth, reasons) if part) + examples


def _crashes(rows: Sequence[Row]) -> list[str]:
    return [f"crashed: {row.kind}, {said}" for row in rows for said in row.crashes]


def as_json(order: Order, rows: Sequence[Row], figures: Sequence[Figure]) -> dict[str, Any]:
    """The same as values."""
    return {
        "seed": order.seed,
        "runs": order.runs,
        "slips": order.slips,
        "numbers": None if order.numbers is None else list(order.numbers),
        "kinds": [asdict(row) | {"claim": row.claim.name} for row in rows],
        "figures": [asdict(figure) for figure in figures],
    }
