"""Lets `python -m commission` be the command line."""

import sys

from commission.ctrl_c import STOPPED, stop_on_ctrl_c


def run() -> None:
    """Load the command line and carry out what was typed; Ctrl-C while it loads is a stop like any other."""
    try:
        stop_on_ctrl_c()
        from commission.cli import run as carry_out
    except KeyboardInterrupt:
        sys.exit(STOPPED)
    carry_out()


if __name__ == "__main__":
    run()
