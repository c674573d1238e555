"""Lets `python -m commission` be the command line."""

from commission.cli import main

main(prog_name="commission")
