"""Draw page 1 of a report as a small picture, as the README shows it.

    python3 scripts/page_picture.py REPORT.html [--out FILE]

Needs the programs chromium, which prints the report, and pdftoppm, which draws the page: 16 greys, 90 dots an inch.
The README's picture is that of the demonstration: `python3 scripts/demo.py`, then this with the report it names.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PICTURE = ROOT / "pictures" / "page-1.png"
PROGRAMS = ("chromium", "pdftoppm")
LIMIT_S = 120


def main(arguments: Sequence[str]) -> int:
    """Draw it; the exit code is returned."""
    parser = argparse.ArgumentParser(description="Draw page 1 of a report as a picture.")
    parser.add_argument("report", type=Path, help="the report, as HTML")
    parser.add_argument("--out", type=Path, default=PICTURE, metavar="FILE", help="where the picture is written")
    asked = parser.parse_args(arguments)
    missing = [name for name in PROGRAMS if shutil.which(name) is None]
    if missing:
        parser.error(f"not installed: {', '.join(missing)}")
    if not asked.report.is_file():
        parser.error(f"there is no report {asked.report}")
    asked.out.parent.mkdir(parents=True, exist_ok=True)
    draw(asked.report, asked.out)
    print(f"Written: {asked.out}")
    return 0


def draw(report: Path, out: Path) -> None:
    """Print the report on A4 and draw the first page of it."""
    with tempfile.TemporaryDirectory() as place:
        paper = Path(place) / "report.pdf"
        options = ("--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer")
        places = (f"--user-data-dir={place}/profile", f"--print-to-pdf={paper}", report.resolve().as_uri())
        _run("chromium", *options, *places)
        _run("pdftoppm", "-f", "1", "-singlefile", "-r", "90", "-gray", "-png", str(paper), str(out.with_suffix("")))


def _run(*words: str) -> None:
    subprocess.run(words, capture_output=True, timeout=LIMIT_S, check=True)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
