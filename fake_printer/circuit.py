"""Which terminals touch, and what that makes of the input.

The wiring is a handful of nodes (the board's three terminals, the sensor's three) and links between them. A pull
resistor of tens of kilohms loses against any link, so it never has to be weighed: it decides only where nothing else
touches the signal.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

Link = tuple[str, str]


@dataclass(frozen=True)
class Circuit:
    """What the board sees of its wiring.

    Attributes:
        held: the level the signal is held at by the wiring; None where only a pull could hold it.
        supply_shorted: supply and ground touch.
        sensor_supplied: the sensor has both supply and ground.
    """

    held: str | None
    supply_shorted: bool
    sensor_supplied: bool


def solve(links: Iterable[Link]) -> Circuit:
    """What these links make of the signal and the supply.

    Nodes are named `board.signal`, `board.ground`, `board.supply` and the same for `sensor`.
    A signal that touches both rails is reported low: the rails are then shorted and nothing is judged by level.
    """
    return _solved(tuple(links))


@lru_cache(maxsize=1024)
def _solved(links: tuple[Link, ...]) -> Circuit:
    """A unit has few states of its wiring, and is asked for them at each of its steps."""
    groups = _groups(links)
    to_ground = _touch(groups, "board.signal", "board.ground")
    to_supply = _touch(groups, "board.signal", "board.supply")
    return Circuit(
        held="low" if to_ground else "high" if to_supply else None,
        supply_shorted=_touch(groups, "board.supply", "board.ground"),
        sensor_supplied=_touch(groups, "board.supply", "sensor.supply")
        and _touch(groups, "board.ground", "sensor.ground"),
    )


def _groups(links: Iterable[Link]) -> list[set[str]]:
    groups: list[set[str]] = []
    for link in links:
        joined = set(link)
        apart = []
        for group in groups:
            if group & joined:
                joined |= group
            else:
                apart.append(group)
        groups = [*apart, joined]
    return groups


def _touch(groups: list[set[str]], one: str, other: str) -> bool:
    return any(one in group and other in group for group in groups)
