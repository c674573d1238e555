"""Lets `python -m commission` be the command line."""

from commission.cli import run

run()
