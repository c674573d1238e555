"""Tries mutants in a copy of the tree: by the tests that run its line, or by all of its room where none is known to."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from types import TracebackType

from scripts.mutation.measuring import KEPT, ROOM
from scripts.mutation.mutants import Mutant, mutated, run_lines
from scripts.mutation.reached import NET, Reached

COPIED = ("commission", "fake_printer", "scripts", "tests", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md")
NO_TESTS, PASSED, FAILED, BROKEN_OFF, NOT_BEGUN = 5, 0, 1, 2, 4
HERE = Path(__file__).resolve().parents[2]
"""Where the plugin lies; the copy comes before it."""
PLUGIN = "scripts.mutation.measuring"
CONFTEST = "ImportError while loading conftest"
HANGS_S = 180.0
"""No single test of a room takes a fifth of that: one that does is in a loop that the mutant made endless."""
"""Exit codes of pytest; a module that cannot be imported breaks it off."""


class Outcome(Enum):
    """What became of a mutant."""

    FOUND = "found"
    SURVIVED = "survived"
    EQUIVALENT = "equivalent"
    NOT_TRIED = "not tried"


@dataclass(frozen=True)
class Tried:
    """A mutant with what became of it.

    Attributes:
        by: the test that found it, why it is equivalent, or why it was not tried to the end.
        seconds: how long its tests took.
    """

    mutant: Mutant
    outcome: Outcome
    by: str = ""
    seconds: float = 0.0


class TestsAlreadyFail(Exception):
    """The tests of a room fail without any mutation, so they show nothing."""


class Copy:
    """A copy of the tree in a temporary folder; the tree itself is never written to.

    Args:
        root: the tree.
        folder: an empty folder for the copy.
        most_s: how long the tests of one mutant may take; what takes longer shows nothing on a busy machine.
        hangs_s: how long one test may take; one that takes longer has found a loop without an end.
    """

    def __init__(self, root: Path, folder: Path, most_s: float, hangs_s: float = HANGS_S) -> None:
        self._root = folder / "tree"
        self._root.mkdir()
        folder.chmod(0o755)  # a process that a test starts as another user would load the tree itself instead
        self._most_s = most_s
        self._hangs_s = hangs_s
        self._changed_s = int(time.time())
        self._reached: dict[str, Reached] = {}
        for name in COPIED:
            if (root / name).is_dir():
                shutil.copytree(root / name, self._root / name, ignore=shutil.ignore_patterns("__pycache__"))
            elif (root / name).exists():
                shutil.copy2(root / name, self._root / name)

    def __enter__(self) -> Copy:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        shutil.rmtree(self._root, ignore_errors=True)

    def check(self, rooms: Sequence[str]) -> None:
        """See that the tests of these rooms pass as the code is, and which of them run which lines.

        Raises:
            TestsAlreadyFail: they do not.
        """
        kept = self._root.parent / "reached.json"
        for room in rooms:
            measure = {ROOM: room, KEPT: str(kept)}
            code, said = self._tests(self._words(self._files(room)), 10 * self._most_s, ["-p", PLUGIN], measure)
            if code != PASSED:
                raise TestsAlreadyFail(f"The tests of {room} fail without any mutation: {said[-2000:]}")
            self._reached[room] = Reached(json.loads(kept.read_text(encoding="utf-8")))

    def reaching(self, mutant: Mutant) -> list[str] | None:
        """The tests that can notice it: all that run its line, those of their own process first.

        None where any test of the room could: nothing was measured, or the line is run outside of all tests too.
        """
        reached = self._reached.get(Path(mutant.path).parts[1])
        lines = run_lines((self._root / mutant.path).read_text(encoding="utf-8"), mutant.number)
        return None if reached is None or lines is None else reached.by(mutant.path, lines)

    def try_out(self, mutant: Mutant, tests: Sequence[Path] | Sequence[str]) -> Tried:
        """Mutate, run these tests, and put it right again."""
        path = self._root / mutant.path
        text = path.read_text(encoding="utf-8")
        began_s = time.monotonic()
        self._write(path, mutated(text, mutant.number))
        try:
            outcome, by = self._found(self._words(tests))
        finally:
            self._write(path, text)
        return Tried(mutant, outcome, by, round(time.monotonic() - began_s, 1))

    def near(self, mutant: Mutant) -> list[Path]:
        """The net of its room, the test file called after the module, then the others of its room that name it."""
        parts = Path(mutant.path).with_suffix("").parts
        whole, last = ".".join(parts), parts[-1]
        names = re.compile(rf"\b{re.escape(whole)}\b|from {re.escape('.'.join(parts[:-1]))} import [^\n]*\b{last}\b")
        named = f"test_{last}"
        files, first = self._files(parts[1]), (NET, named)
        near = [file for file in files if file.stem in first or names.search(file.read_text("utf-8"))]
        return sorted(near, key=lambda file: (file.stem not in first, file.stem != NET))

    def rest(self, mutant: Mutant) -> list[Path]:
        """The other test files of its room."""
        near = self.near(mutant)
        return [file for file in self._files(Path(mutant.path).parts[1]) if file not in near]

    def _write(self, path: Path, text: str) -> None:
        """Write it with a time of its own: byte code is known again by time and size, and both could be as before."""
        path.write_text(text, encoding="utf-8")
        self._changed_s += 10
        os.utime(path, (self._changed_s, self._changed_s))

    def _words(self, tests: Sequence[Path] | Sequence[str]) -> list[str]:
        return [each if isinstance(each, str) else str(each.relative_to(self._root)) for each in tests]

    def _found(self, tests: Sequence[str]) -> tuple[Outcome, str]:
        if not tests:
            return Outcome.SURVIVED, ""
        try:
            code, said = self._tests(tests, self._most_s)
        except subprocess.TimeoutExpired:
            return Outcome.NOT_TRIED, "its tests did not end in time"
        if code in (FAILED, BROKEN_OFF):
            failed = re.search(r"^(?:FAILED|ERROR) (\S+)", said, re.MULTILINE)
            if failed:
                return Outcome.FOUND, failed[1]
            return Outcome.FOUND, "a test does not end" if "Timeout" in said else "the module cannot be imported"
        if code == NOT_BEGUN and CONFTEST in said:
            return Outcome.FOUND, "the tests cannot be loaded"
        if code not in (PASSED, NO_TESTS):
            raise RuntimeError(f"pytest ended with {code}: {said[-2000:]}")
        return Outcome.SURVIVED, ""

    def _files(self, room: str) -> list[Path]:
        return sorted((self._root / "tests" / room).rglob("test_*.py"))

    def _tests(
        self, tests: Sequence[str], most_s: float, more: Sequence[str] = (), measure: Mapping[str, str] | None = None
    ) -> tuple[int, str]:
        """Run these tests, or test files, until the first fails; pytest's exit code and what it said."""
        words = self._root.parent / "words"
        words.write_text("\n".join(tests), encoding="utf-8")
        options = ["-x", "-q", "-p", "no:cacheprovider", "--tb=no", *more]
        process = subprocess.Popen(
            [sys.executable, "-m", "pytest", *options, f"@{words}"],
            cwd=self._root,
            env={
                **os.environ,
                **(measure or {}),
                "PYTHONPATH": os.pathsep.join([str(self._root), str(HERE)]),
                "PYTEST_TIMEOUT": str(self._hangs_s),
            },
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        try:
            said, _ = process.communicate(timeout=most_s)
        except BaseException:
            os.killpg(process.pid, signal.SIGKILL)
            process.communicate()
            raise
        return process.returncode, said
