"""Lets `python -m commission` be the command line."""

import gc
import sys

from commission.ctrl_c import STOPPED, stop_on_ctrl_c

TO_COLLECT = 50_000
"""New objects after which the garbage collector looks at them: what a command loads is no garbage, and looking took a
tenth of the time to load it."""


def run() -> None:
    """Load the command line and carry out what was typed; Ctrl-C while it loads is a stop like any other."""
    gc.set_threshold(TO_COLLECT)
    try:
        stop_on_ctrl_c()
        from commission.cli import run as carry_out
    except KeyboardInterrupt:
        sys.exit(STOPPED)
    carry_out()


if __name__ == "__main__":
    run()
