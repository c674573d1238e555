"""What every campaign hands back."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Result:
    """What came of one campaign.

    Attributes:
        name: of the campaign.
        tried: how many things had to hold.
        held: how many of them did.
        broken: how many did not; with `held` it adds up to `tried`.
        seed: the same seed gives the same result.
        lines: what to print, table and reasons.
    """

    name: str
    tried: int
    held: int
    broken: int
    seed: int
    lines: tuple[str, ...]
