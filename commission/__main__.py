"""Lets `python -m commission` be the command line."""

import sys


def run() -> None:
    """Load the command line and carry out what was typed; Ctrl-C while it loads is a stop like any other."""
    try:
        from commission.cli import run as carry_out
    except KeyboardInterrupt:
        sys.exit(130)  # the table of exit codes is not there yet
    carry_out()


if __name__ == "__main__":
    run()
