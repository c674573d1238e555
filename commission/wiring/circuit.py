"""A handful of resistors between a few nodes: what voltage stands where, and what an ohmmeter would show.

Everything the wiring room says about levels, shorts and meter readings comes out of this one calculation (Kirchhoff's
current law at every node that is not held by a source), so that no table of cases has to be kept true by hand.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum


class Node(Enum):
    """The points of the circuit: the board's header, its logic rail, and the sensor's own terminals."""

    PIN = "pin"
    BOARD_SUPPLY = "board supply"
    BOARD_GROUND = "board ground"
    LOGIC_RAIL = "logic rail"
    SENSOR_SIGNAL = "sensor signal"
    SENSOR_SUPPLY = "sensor supply"
    SENSOR_GROUND = "sensor ground"
    MODULE_LIGHT = "module, behind its light"
    FOREIGN = "another circuit"


@dataclass(frozen=True)
class Resistor:
    """A connection between two nodes, in ohm; never zero."""

    one: Node
    other: Node
    ohm: float

    def __post_init__(self) -> None:
        if not self.ohm > 0:
            raise ValueError(f"A connection needs a resistance above zero, not {self.ohm}.")


def voltages_v(resistors: Sequence[Resistor], held_v: Mapping[Node, float]) -> dict[Node, float]:
    """The voltage at every node that has a path to a held one; a node that is missing from the answer floats.

    Args:
        resistors: the connections.
        held_v: the nodes held by a source, in volts.
    """
    free = sorted(_reached(resistors, held_v) - set(held_v), key=lambda node: node.value)
    place = {node: index for index, node in enumerate(free)}
    rows = [[0.0] * (len(free) + 1) for _ in free]
    for resistor in resistors:
        for here, there in ((resistor.one, resistor.other), (resistor.other, resistor.one)):
            if here not in place:
                continue
            row, conductance = rows[place[here]], 1 / resistor.ohm
            row[place[here]] += conductance
            if there in place:
                row[place[there]] -= conductance
            else:
                row[-1] += conductance * held_v[there]
    return dict(held_v) | dict(zip(free, _solved(rows), strict=True))


def current_a(resistors: Sequence[Resistor], held_v: Mapping[Node, float], source: Node) -> float:
    """The current, in ampere, that the source at this node delivers."""
    volts = voltages_v(resistors, held_v)
    ends = [(r, r.other if r.one is source else r.one) for r in resistors if source in {r.one, r.other}]
    return sum((volts[source] - volts[far]) / resistor.ohm for resistor, far in ends)


def resistance_ohm(resistors: Sequence[Resistor], one: Node, other: Node) -> float:
    """What an ohmmeter shows between two nodes of the unpowered circuit; infinite when nothing joins them."""
    current = current_a(resistors, {one: 1.0, other: 0.0}, one)
    return 1 / current if current > 0 else math.inf


def _reached(resistors: Sequence[Resistor], start: Iterable[Node]) -> set[Node]:
    reached = set(start)
    grown = True
    while grown:
        grown = False
        for resistor in resistors:
            if (resistor.one in reached) != (resistor.other in reached):
                reached |= {resistor.one, resistor.other}
                grown = True
    return reached


def _solved(rows: list[list[float]]) -> list[float]:
    """Gaussian elimination with pivoting; every free node has a path to a source, so a solution exists."""
    size = len(rows)
    for column in range(size):
        pivot = max(range(column, size), key=lambda index: abs(rows[index][column]))
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for index in range(size):
            if index != column:
                factor = rows[index][column] / rows[column][column]
                rows[index] = [a - factor * b for a, b in zip(rows[index], rows[column], strict=True)]
    return [row[-1] / row[index] for index, row in enumerate(rows)]
