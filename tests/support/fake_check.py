"""Stands for the command that checks one printer: what it does is written in its port's name.

`fake_check.py check ... --port socket://WHAT:1 -- TAG`, where WHAT is `code-N` (says something, ends with N), `stuck`
(never ends by itself, and notes in the file `told-to-end` that it was told to), `deaf` (not even then), or `meet` (ends
with 0 once as many checks as the file `together` says are under way at the same time).
"""

import signal
import sys
import time
from pathlib import Path
from types import FrameType


def main() -> None:
    """Do what the port says."""
    port = sys.argv[sys.argv.index("--port") + 1]
    what, tag = port.removeprefix("socket://").partition(":")[0], sys.argv[-1]
    if what.startswith("code-"):
        sys.stderr.write(f"commission: something on {tag}\x1b[2J\n")
        sys.exit(int(what.removeprefix("code-")))
    if what == "meet":
        _meet(tag, int(Path("together").read_text()))
        return
    signal.signal(signal.SIGTERM, signal.SIG_IGN if what == "deaf" else _told)
    time.sleep(600)


def _told(_number: int, _frame: FrameType | None) -> None:
    Path("told-to-end").write_text("yes")
    sys.exit(130)


def _meet(tag: str, together: int) -> None:
    Path(f"here-{tag}").write_text("yes")
    while len(list(Path().glob("here-*"))) < together:
        time.sleep(0.02)


if __name__ == "__main__":
    main()
