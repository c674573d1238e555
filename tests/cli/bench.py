"""Commands as processes of their own, in a workshop folder with its book."""

import sys
import tempfile
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from commission.clock import SystemClock
from commission.evidence.findings.meeting import Consent
from commission.evidence.found import Established
from commission.records.bench import Bench, keep_bench, kept_bench
from commission.records.book import Book
from tests.settings.reports import NEWER
from tests.support.loaded_tool import carried_out
from tests.support.lock_holder import lock_held
from tests.support.made import begun, ended

ANSWERS = """\
format = 1

[[answer]]
request = "{request}"
answer = "{answer}"

[[answer]]
request = "*"
answer = "yes"
"""


@dataclass(frozen=True)
class Said:
    """What a command said, and the code it ended with."""

    code: int
    output: str
    error: str


class Folder:
    """A workshop's folder: book, reports, scripts and captures lie in it, and commands are run in it."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self.book = place / "book.sqlite3"

    def call(self, *words: str) -> Said:
        """One command with that book, and nobody at the keyboard."""
        return self.program("-m", "commission", *words, "--book", str(self.book))

    def program(self, *words: str) -> Said:
        """Any program of Python, as a process in the folder."""
        done = carried_out([sys.executable, *words], cwd=self.place)
        return Said(done.returncode, done.stdout, done.stderr)

    def backup_words(self, tag: str = "bench-3") -> Sequence[str]:
        """A guided run that needs no printer and no person: it takes a saved capture into the book."""
        (self.place / "capture.txt").write_text(NEWER)
        return ("backup", tag, "--from", "capture.txt")

    def script(self, request: str = "*", answer: str = "yes") -> Sequence[str]:
        """Options that have a script answer: one question so, and every other with yes."""
        (self.place / "operator.toml").write_text(ANSWERS.format(request=request, answer=answer))
        return ("--operator", "operator.toml", "--by", "R. Okafor")

    def on_record(self, *purposes_and_verdicts: str, consent: bool = False) -> None:
        """Have completed runs of bench-3 on record, one a text such as `brief check: fail`."""
        if self.book.exists():
            _write(self.book, purposes_and_verdicts, consent=consent)
        else:
            written, bench = _written(purposes_and_verdicts, consent)
            self.book.write_bytes(written)
            keep_bench(self.book, bench)

    def run_under_way(
        self, tag: str = "bench-3", number: str = "bench-3/2031-03-14/7"
    ) -> AbstractContextManager[object]:
        """Another process that is at work on a printer."""
        return lock_held(self.book, tag, number)


def _write(place: Path, purposes_and_verdicts: Sequence[str], *, consent: bool) -> None:
    with Book(place, SystemClock()) as book:
        for count, said in enumerate(purposes_and_verdicts, start=1):
            purpose, _, verdict = said.partition(": ")
            run = f"bench-3/2031-03-14/{count}"
            book.append(run, begun(run, purpose))
            if consent:
                book.append(run, Established(finding=Consent(granted=True, by="R. Okafor")))
            book.append(run, ended(verdict))


@cache
def _written(purposes_and_verdicts: tuple[str, ...], consent: bool) -> tuple[bytes, Bench]:
    """A new book with that in it, and who wrote it; to write one takes as long as most commands."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "book.sqlite3"
        _write(place, purposes_and_verdicts, consent=consent)
        bench = kept_bench(place)
        assert bench is not None
        return place.read_bytes(), bench
