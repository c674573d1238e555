"""A fake campaign in which everything holds."""

from scripts.campaigns._shape import Result


def run(*, quick: bool, seed: int) -> Result:
    """Two cases when quick, else twenty."""
    tried = 2 if quick else 20
    return Result("holds", tried, tried, 0, seed, ("a line of its own table",))
