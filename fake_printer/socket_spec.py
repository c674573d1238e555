"""An input of the board beside the one of the runout logic, and the switch that belongs into it."""

from dataclasses import dataclass
from typing import Literal

from fake_printer.checks import require

LevelName = Literal["high", "low"]
RUNOUT, SECOND_SENSOR = "runout", "second_sensor"
"""The inputs that are no socket of somebody else's."""


@dataclass(frozen=True)
class SocketSpec:
    """A socket that the present firmware reads, for a switch at the end of an axis for example.

    Attributes:
        name: what the switch report calls it, and the hands.
        pull: the resistor that is really there.
        triggered_level: the level at which the report says that the switch is hit.
        own: the switch that belongs into it: none, one that closes to ground when it is hit, or one that opens then.
        flips_per_s, sticks_per_power_up: as of the runout input, while nothing holds it.
        number, port: what a pin report calls it.
        reported: whether the switch report of the present firmware has it.
    """

    name: str = "x_max"
    pull: Literal["up", "down", "none"] = "up"
    triggered_level: LevelName = "high"
    own: Literal["none", "closes", "opens"] = "opens"
    flips_per_s: float = 1.0
    sticks_per_power_up: float = 0.0
    number: int = 2
    port: str = "E4"
    reported: bool = True

    def __post_init__(self) -> None:
        require(self.name.replace("_", "").isalnum(), "name is one word of letters, digits and _")
        require(0 < self.flips_per_s <= 200, "flips_per_s must be above 0, at most 200")
        require(0 <= self.sticks_per_power_up <= 1, "sticks_per_power_up is a probability, 0 to 1")
        require(self.number >= 0, "number must not be negative")
