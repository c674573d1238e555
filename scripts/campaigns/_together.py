"""Processes that wait for one signal and then go at once, and the programs they run."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
LONGEST_S = 180.0
"""No process is waited for longer."""
READY = 'print("ready", flush=True); sys.stdin.readline()\n'
COMMAND = (
    "import sys\nfrom commission.cli import main\nimport commission.cli.backup, commission.cli.running\n"
    + READY
    + "main(sys.argv[1:])\n"
)
NUMBERS = (
    "import sys\nfrom datetime import date\nfrom pathlib import Path\nfrom commission.clock import SystemClock\n"
    "from commission.evidence.runs import RunStarted\nfrom commission.records.book import Book\n"
    "def begin(number):\n    return RunStarted(number=number, tag='bench-3', purpose='campaign')\n"
    + READY
    + "with Book(Path(sys.argv[1]), SystemClock()) as book:\n"
    "    for _ in range(int(sys.argv[2])):\n"
    '        print(book.start_run("bench-3", date(2031, 3, 14), begin).run)\n'
)
WRITER = (
    "import sys\nfrom pathlib import Path\nfrom commission.clock import SystemClock\n"
    "from commission.evidence.talk import Told\nfrom commission.records.book import Book\n"
    + READY
    + "with Book(Path(sys.argv[1]), SystemClock()) as book:\n"
    "    for number in range(int(sys.argv[2])):\n"
    '        print(book.append("r1", Told(heading=str(number)), raw=b"raw" * 300).digest)\n'
)
READER = (
    "import json, sys\nfrom pathlib import Path\nfrom commission.clock import SystemClock\n"
    "from commission.records.book import Book\nfrom commission.records.chain import check_chain\n"
    + READY
    + "looks = []\n"
    "while not Path(sys.argv[2]).exists():\n"
    "    with Book(Path(sys.argv[1]), SystemClock()) as book:\n"
    "        seen = list(book.rows())\n"
    "        looks.append([len(seen), len(check_chain(seen))])\n"
    "print(json.dumps(looks))\n"
)
HOLDER = (
    "import sys\nfrom pathlib import Path\nfrom commission.records.run_lock import RunLock\n"
    "with RunLock(Path(sys.argv[1]), 'bench-3') as lock:\n"
    "    lock.carry('bench-3/2031-03-14/1')\n    " + READY
)


class Together:
    """Processes that go at one signal; they end with the block."""

    def __init__(self, code: str, folder: Path, arguments: Sequence[Sequence[str]]) -> None:
        self._processes = [
            subprocess.Popen(
                [sys.executable, "-c", code, *words],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                cwd=folder,
                env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"},
            )
            for words in arguments
        ]

    def __enter__(self) -> Together:
        for process in self._processes:
            if process.stdout is None or process.stdout.readline() != "ready\n":
                raise RuntimeError(f"A process did not begin: {process.communicate(timeout=LONGEST_S)[1]}")
        return self

    def __exit__(self, *_: object) -> None:
        for process in self._processes:
            process.kill()
            process.communicate()

    def go(self) -> None:
        """Give the signal."""
        for process in self._processes:
            if process.stdin is not None:
                process.stdin.write("go\n")
                process.stdin.flush()

    def wait(self) -> list[tuple[int, str, str]]:
        """Code, output and complaints of each, in order."""
        said = [process.communicate(timeout=LONGEST_S) for process in self._processes]
        return [(p.returncode, out, error) for p, (out, error) in zip(self._processes, said, strict=True)]

    def kill(self) -> None:
        """End them without giving them a chance to tidy up."""
        for process in self._processes:
            process.kill()
            process.wait(LONGEST_S)
