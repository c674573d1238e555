"""Another process that is at work on a printer: it holds the printer's lock and says which run it is.

with lock_held(book, "bench-3", "bench-3/2031-03-14/1") as process:
    ...the run is under way...
    process.kill()
"""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_HOLDER = """
import sys
from pathlib import Path
from commission.records.run_lock import RunLock
with RunLock(Path(sys.argv[1]), sys.argv[2]) as lock:
    lock.carry(sys.argv[3])
    print("held", flush=True)
    sys.stdin.readline()
"""


@contextmanager
def lock_held(book: Path, tag: str, number: str) -> "Iterator[subprocess.Popen[str]]":
    """The process, from when it has the lock until the block ends."""
    command = [sys.executable, "-c", _HOLDER, str(book), tag, number]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            if process.stdout is None or process.stdout.readline() != "held\n":
                raise AssertionError("the process did not get the lock")
            yield process
        finally:
            process.kill()
