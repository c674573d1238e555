"""A fake campaign in which one of three cases does not hold."""

from scripts.campaigns._shape import Result


def run(*, quick: bool, seed: int) -> Result:
    """Always the same."""
    return Result("breaks", 3, 2, 1, seed, ("a line of its own table", "BROKEN: case 2: the lamp stayed dark"))
