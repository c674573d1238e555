"""A fake campaign that ends in an exception."""

from scripts.campaigns._shape import Result


def run(*, quick: bool, seed: int) -> Result:
    """Raise it."""
    raise RuntimeError("no such bench")
