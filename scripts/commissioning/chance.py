"""Where every chance of the campaign comes from."""

import random


def chance_of(*seed: object) -> random.Random:
    """A generator that draws the same for the same seed, on every machine."""
    # repeatable on purpose; nothing secret depends on it
    return random.Random(" ".join(map(str, seed)))  # noqa: S311
