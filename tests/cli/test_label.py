"""`commission label`: a sticker that says no more than the record, in words and as a code."""

import re
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from commission.report.label import Label
from commission.report.label_svg import HEIGHT_MM, POINT_MM, WIDTH_MM, label_svg
from tests.cli.bench import Folder
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

NUMBER = "bench-3/2031-03-14/1"
DOTS_PER_INCH = 300
"""What a usual label printer has."""


def label(number: str = NUMBER, tag: str = "bench-3") -> Label:
    """A label of a printer that passed."""
    return Label(tag, "CONDITIONAL PASS", "2031-03-14", "brief check by 2031-04-14", number)


@pytest.mark.parametrize(
    ("runs", "verdict", "next_check"),
    [
        (("install: pass",), "PASS", r"(brief|full) check by \d{4}-\d\d-\d\d"),
        (("install: conditional pass",), "CONDITIONAL PASS", r"brief check by \d{4}-\d\d-\d\d"),
        (("install: fail",), "FAIL: do not rely on it", "full check at once"),
        (("install: pass", "brief check: not judged"), "NOT JUDGED: no pass", "full check at once"),
        (("install: pass", "function: fail"), "PASS", "full check at once"),
    ],
)
def test_the_text_says_how_the_printer_stands(
    runs: tuple[str, ...], verdict: str, next_check: str, tmp_path: Path
) -> None:
    """Verdict and date of the newest test with hands on; what stands against the printer makes a check due at once."""
    folder = Folder(tmp_path)
    folder.on_record(*runs)
    hands_on = max(place for place, run in enumerate(runs, 1) if not run.startswith("function"))

    said = folder.call("label", "bench-3")

    day = datetime.now(UTC).astimezone().date()
    days = {(day - timedelta(days=back)).isoformat() for back in (0, 1)}
    lines = said.output.splitlines()
    assert (0, ["bench-3", lines[1], lines[2], f"Report: bench-3/2031-03-14/{hands_on}"]) == (said.code, lines)
    assert lines[1] in {f"{verdict}  {each}" for each in days}
    assert re.fullmatch(f"Next: {next_check}", lines[2])


def test_a_printer_without_a_test_gets_no_label(tmp_path: Path) -> None:
    """A backup tests nothing: the refusal says so, and no file is written."""
    folder = Folder(tmp_path)
    folder.on_record("backup: pass")

    said = folder.call("label", "bench-3", "--svg", "label.svg")

    assert 2 == said.code
    assert "No completed installation or check of bench-3 is on record" in " ".join(said.error.split())
    assert not (tmp_path / "label.svg").exists()


@pytest.mark.parametrize("number", [NUMBER, f"{'a-long-name-' * 5}/2031-03-14/12", "größe 3/2031-03-14/1"])
def test_the_printed_code_is_read_back(number: str, tmp_path: Path) -> None:
    """Printed by a browser at 300 dots an inch and read by a decoder that shares no code with us (zxing-cpp)."""
    printed = on_paper(label_svg(label(number)), tmp_path)

    (code,) = zxingcpp.read_barcodes(printed)
    assert (number, "QR") == (code.text, str(code.format).replace(" ", "")[:2])


def test_a_damaged_code_is_not_read_as_another(tmp_path: Path) -> None:
    """The comparison above fails where the code is spoilt: half of it painted over reads as nothing."""
    printed = on_paper(label_svg(label()), tmp_path).copy()
    printed[:, : printed.shape[1] // 5] = 255

    assert [] == zxingcpp.read_barcodes(printed)


@pytest.mark.parametrize("tag", ["bench-3", "w" * 60, "a <b> & c"])
def test_size_and_letters_are_stated_in_millimetres(tag: str) -> None:
    """62 x 29 mm, higher for long names; no text below 8 pt; every line ends on the label at the widest usual letter.

    A capital W is at most one em wide, and a bold sans-serif text 0.64 em on average (from memory, common practice).
    """
    drawn = label_svg(label(f"{tag}/2031-03-14/1", tag))

    found = re.search(r'width="(\d+)mm" height="([\d.]+)mm"', drawn)
    assert found
    width_mm, height_mm = map(float, found.groups())
    assert (WIDTH_MM, True) == (width_mm, height_mm >= HEIGHT_MM)
    texts = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"[^>]*>([^<]*)</text>', drawn)
    assert texts
    for x_mm, y_mm, size_mm, text in texts:
        assert float(size_mm) >= 8 * POINT_MM - 0.001
        assert float(y_mm) < height_mm
        plain = text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
        assert float(x_mm) + 0.64 * float(size_mm) * len(plain) <= WIDTH_MM


def on_paper(svg: str, folder: Path) -> np.ndarray:
    """The label as a printer puts it on paper: grey values from 0 to 255, row by row."""
    chromium, pdftoppm = needs_program("chromium"), needs_program("pdftoppm")
    page = folder / "label.html"
    style = "@page { size: 70mm 60mm; margin: 0 } body { margin: 0 }"
    page.write_text(f"<!doctype html><meta charset=utf-8><style>{style}</style>{svg}", encoding="utf-8")
    options = ("--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer")
    places = (f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={folder / 'label.pdf'}", page.as_uri())
    subprocess.run([chromium, *options, *places], capture_output=True, timeout=PATIENCE_S, check=True)
    words = [
        pdftoppm,
        "-r",
        str(DOTS_PER_INCH),
        "-gray",
        "-singlefile",
        str(folder / "label.pdf"),
        str(folder / "label"),
    ]
    subprocess.run(words, capture_output=True, timeout=PATIENCE_S, check=True)
    _, size, _, pixels = (folder / "label.pgm").read_bytes().split(b"\n", 3)
    width, height = map(int, size.split())
    return np.frombuffer(pixels, dtype=np.uint8).reshape(height, width)
