"""The last screen of a run: the five points of its report, in their order, and where the report lies."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

from commission.report.in_short import NAMES
from tests.cli.bench import Folder


def result(screen: str) -> list[str]:
    """The lines under the last heading."""
    return screen.rpartition("Result\n")[2].splitlines()


def test_the_last_screen_says_what_the_report_says(tmp_path: Path) -> None:
    """Verdict, why, what to do now, what is missing, the next check: word for word those of the report's JSON.

    The commands it names would open the usual book: where the run is in another, it says what to add.
    """
    folder = Folder(tmp_path)
    said = folder.call(*folder.backup_words(), *folder.script(), "--reports", "reports")

    lines = result(said.output)
    (file,) = (tmp_path / "reports").glob("*.json")
    short = json.loads(file.read_text(encoding="utf-8"))["in_short"]
    told = (f"{short['verdict']}.", short["why"], " ".join(short["now"]), short["missing"], short["next_check"])
    assert [f"{name}: {text}" for name, text in zip(NAMES, told, strict=True)] == lines[:5], said.output
    reports = [f"Report: {file.with_suffix(end).relative_to(tmp_path)}" for end in (".html", ".md", ".json")]
    book = f"Record book: {folder.book}. Add --book {folder.book} to each command above."
    assert [*reports, book] == lines[-4:]


def test_the_usual_book_is_not_named(tmp_path: Path) -> None:
    """Where the commands open the book of the run by themselves, there is nothing to add to them."""
    folder = Folder(tmp_path)
    around = {**os.environ, "COMMISSION_BOOK": str(folder.book)}
    words = (sys.executable, "-m", "commission", *folder.backup_words(), *folder.script(), "--reports", "reports")
    said = subprocess.run(words, cwd=tmp_path, env=around, capture_output=True, text=True, timeout=120, check=False)

    assert result(said.stdout)[-1].startswith("Report: "), said.stdout


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
    assert lines[-3].startswith("No report was written: ")
    assert re.search(r"Draw its report with: commission report bench-3 --run bench-3/\S+ --out FOLDER", lines[-2])
