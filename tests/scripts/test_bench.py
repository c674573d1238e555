"""The benchmarks still run, and their table has the form that it says; no time is judged."""

import importlib
import json
from pathlib import Path

import pytest

from scripts.bench import PARTS, main
from scripts.benchmarks._figures import TINY, Figure, quantile
from scripts.benchmarks.exchange import shown_after


def test_every_part_gives_figures() -> None:
    """What the table of parts names is a module with its function, and a line of help."""
    for name, said in PARTS.items():
        assert callable(importlib.import_module(f"scripts.benchmarks.{name}").figures)
        assert said


def test_the_table_is_written_as_it_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A tiny size of the parts that need no printer: every figure has its baseline, and the load stands under them."""
    file = tmp_path / "figures.json"
    parts = ("start", "writing", "record", "pace")

    code = main([*(word for part in parts for word in ("--only", part)), "--json", str(file)], TINY)

    data = json.loads(file.read_text())
    assert (0, {}) == (code, data["failed"])
    assert {"format", "quick", "load", "figures", "failed"} == set(data)
    assert list(parts) == list(dict.fromkeys(each["part"] for each in data["figures"]))
    for each in data["figures"]:
        assert each["value"] > 0
        assert each["ratio"] == pytest.approx(each["value"] / each["against"])
    printed = capsys.readouterr().out.splitlines()
    assert len(data["figures"]) + 1 == len(printed)
    assert printed[-1].startswith("Load of the machine: ")


def test_a_paced_wire_is_measured_too(tmp_path: Path) -> None:
    """Every change of the board's switch is found again in the answers."""
    file = tmp_path / "figures.json"

    assert 0 == main(["--only", "exchange", "--json", str(file)], TINY)
    assert 2 == len(json.loads(file.read_text())["figures"])


def test_a_change_that_no_answer_shows_is_an_error() -> None:
    """It would be the slowest of all; leaving it out would make the others look better."""
    seen = [(1.0, "open"), (1.1, "open"), (1.2, "TRIGGERED"), (1.3, "open")]

    assert [pytest.approx(0.05), pytest.approx(0.02)] == shown_after([1.15, 1.28], seen)
    with pytest.raises(SystemExit, match="changed 3 times, and the answers show 2"):
        shown_after([1.15, 1.16, 1.28], seen)


def test_a_figure_is_a_multiple_of_its_baseline() -> None:
    """A baseline of nothing has no multiple, and no quantile is made of nothing; nearest rank by its definition."""
    assert 2.5 == Figure("start", 5.0, "ms", "bare", 2.0).ratio
    assert str(Figure("start", 5.0, "ms", "bare", 0.0).ratio) == "nan"
    assert [50, 99, 100] == [quantile(range(1, 101), share) for share in (0.5, 0.99, 1.0)]
    assert "nan" == str(quantile([], 0.5))
