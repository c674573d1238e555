"""Records the longest runs of each kind, in one book.

A sound unit is soaked, installed with every phase and 22 cycles, given a function test by itself and a full check; a
unit with 51 settings of its owner's is backed up, gets another build, and has them restored.
`python -m tests.report.record_longest` carries all out on simulated printers, in simulated time, and keeps the book
packed in `recorded/`. It takes some minutes; nothing but `test_paper.py` reads it.
"""

import lzma
import sqlite3
import subprocess
import tempfile
from contextlib import closing
from pathlib import Path

import commission
from commission.cli.exit_codes import NOT_A_PASS, PASSED
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.stepped_time import stepped

RECORDED = Path(__file__).with_name("recorded")
DEMONSTRATION = Path(commission.__file__).parent / "cli" / "demo_operator.toml"
SITE = ("--site", "workshop, second bench")
REACH = ("--trip-to-gear", "60", *SITE)
COMMANDS = (
    ("soak", "bench-3", "--for", "6m"),
    ("install", "bench-3", "--seed", "21", "--cycles", "22", *SITE),
    ("function", "bench-3", "--mode", "warm", "--material", "PLA", "--temperature", "200", *REACH),
    ("check", "bench-3", "--full", "--seed", "21", *SITE),
)
BACKED_UP, RESTORED = ("backup", "bench-4", *SITE), ("restore", "bench-4", *SITE)
OTHER_BUILD = "new-layout"


def recorded(folder: Path) -> Path:
    """The book with all runs, all of it in one file.

    Raises:
        RuntimeError: a run neither passed nor showed only less than a pass takes.
    """
    hands = (RECORDED / "longest.toml").read_text() + DEMONSTRATION.read_text().replace("format = 1", "", 1)
    script = folder / "operator.toml"
    script.write_text(hands)
    with running_printer("sound", "--tcp", "0", "--unpaced", "--stepped") as printer:
        printer.do("insert")
        for words in COMMANDS:
            _carry_out(printer, folder, words)
    script.write_text((RECORDED / "restored.toml").read_text())
    with running_printer("tuned", "--tcp", "0", "--unpaced", "--stepped") as printer:
        _carry_out(printer, folder, BACKED_UP)
        printer.do("reflash", OTHER_BUILD)
        _carry_out(printer, folder, RESTORED)
    book = folder / "book.sqlite3"
    with closing(sqlite3.connect(book)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return book


def _carry_out(printer: FakeProcess, folder: Path, words: tuple[str, ...]) -> None:
    files = ("--book", "book.sqlite3", "--reports", ".", "--bench", "workshop-1")
    hands = ("--operator", "operator.toml", "--set", f"control={printer.control}", "--by", "R. Okafor")
    command = stepped(printer.control, *words, "--port", printer.link, *files, *hands)
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=1800)
    if done.returncode not in (PASSED, NOT_A_PASS):
        raise RuntimeError(f"{words[0]} ended with {done.returncode}:\n{done.stdout[-2000:]}{done.stderr}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        packed = lzma.compress(recorded(Path(place)).read_bytes(), preset=9 | lzma.PRESET_EXTREME)
    (RECORDED / "longest.sqlite3.xz").write_bytes(packed)
