"""The last screen of a run: the five points of its report, in their order, and where the report lies."""

import json
import re
from pathlib import Path

from commission.report.in_short import NAMES
from tests.cli.bench import Folder


def result(screen: str) -> list[str]:
    """The lines under the last heading."""
    return screen.rpartition("Result\n")[2].splitlines()


def test_the_last_screen_says_what_the_report_says(tmp_path: Path) -> None:
    """Verdict, why, what to do now, what is missing, the next check: word for word those of the report's JSON."""
    folder = Folder(tmp_path)
    said = folder.call(*folder.backup_words(), *folder.script(), "--reports", "reports")

    lines = result(said.output)
    (file,) = (tmp_path / "reports").glob("*.json")
    short = json.loads(file.read_text(encoding="utf-8"))["in_short"]
    told = (f"{short['verdict']}.", short["why"], " ".join(short["now"]), short["missing"], short["next_check"])
    assert [f"{name}: {text}" for name, text in zip(NAMES, told, strict=True)] == lines[:5], said.output
    assert [f"Report: {file.with_suffix(end).relative_to(tmp_path)}" for end in (".html", ".md", ".json")] == lines[-3:]


def test_a_report_that_cannot_be_written_leaves_the_points(tmp_path: Path) -> None:
    """The five points are said all the same, and how to draw the report later; the code is that of the run."""
    folder = Folder(tmp_path)
    words = (*folder.backup_words(), *folder.script())
    code = folder.call(*words, "--reports", "reports").code
    (first,) = (tmp_path / "reports").glob("*.html")
    first.with_name(first.name.replace("-1-", "-2-")).write_text("somebody's own file")

    said = folder.call(*words, "--reports", "reports")

    lines = result(said.output)
    assert (code, list(NAMES)) == (said.code, [line.partition(":")[0] for line in lines[:5]])
    assert lines[-2].startswith("No report was written: ")
    assert re.search(r"Draw its report with: commission report bench-3 --run bench-3/\S+ --out FOLDER", lines[-1])
