"""A subcommand with an error in it, for the tests of what becomes of errors that nobody foresaw."""

import click


@click.command()
def broken() -> None:
    """Fails as no real command is meant to: by an exception that nothing translates."""
    raise ZeroDivisionError("an error made on purpose")
