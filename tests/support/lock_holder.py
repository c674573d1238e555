"""Another process that is at work on a printer: it holds the printer's lock and says which run it is.

with lock_held(book, "bench-3", "bench-3/2031-03-14/1") as process:
    ...the run is under way...
    process.kill()
"""

import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.records.run_lock import RunLock
from tests.support import loaded_tool
from tests.support.forked import CAN_FORK, Forked, piped

_ERRORS = 2
"""Where our own go."""


@contextmanager
def lock_held(book: Path, tag: str, number: str) -> "Iterator[Forked | subprocess.Popen[str]]":
    """The process, from when it has the lock until the block ends."""
    process = _begun([str(book), tag, number])
    try:
        if process.stdout is None or process.stdout.readline() != "held\n":
            raise AssertionError("the process did not get the lock")
        yield process
    finally:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                pipe.close()


def _begun(words: Sequence[str]) -> "Forked | subprocess.Popen[str]":
    line = [sys.executable, __file__, *words]
    if CAN_FORK:
        return piped(loaded_tool.__name__, line, _ERRORS)
    return subprocess.Popen(line, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


def _hold(book: str, tag: str, number: str) -> None:
    """Hold the lock until the input ends."""
    with RunLock(Path(book), tag) as lock:
        lock.carry(number)
        print("held", flush=True)  # noqa: T201
        sys.stdin.readline()


if __name__ == "__main__":
    _hold(*sys.argv[1:])
