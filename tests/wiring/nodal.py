"""Nodal analysis with NumPy, apart from the product's own: the voltage at the pin of a bench described in words.

Kirchhoff's current law, G v = i, solved by `numpy.linalg.solve`. It knows resistors, sources and one ideal diode.
"""

from itertools import product

import numpy as np

WIRE, CONTACT, OUTPUT, MODULE = 0.1, 0.1, 50.0, 300.0
OWN_PULL, BOARD_PULL = (4700.0, 10_000.0), (30_000.0, 50_000.0)
DROP_V = 1.0

Connection = tuple[str, str, float]


def solved(connections: list[Connection], sources: dict[str, float]) -> dict[str, float]:
    """The voltage of every node with a path to a source."""
    known = set(sources)
    while more := {b for a, b, _ in connections if a in known} | {a for a, b, _ in connections if b in known}:
        if more <= known:
            break
        known |= more
    free = sorted(known - set(sources))
    matrix, right = np.zeros((len(free), len(free))), np.zeros(len(free))
    for a, b, ohm in connections:
        for here, there in ((a, b), (b, a)):
            if here not in free:
                continue
            row = free.index(here)
            matrix[row, row] += 1 / ohm
            if there in free:
                matrix[row, free.index(there)] -= 1 / ohm
            else:
                right[row] += sources[there] / ohm
    found = np.linalg.solve(matrix, right) if free else np.zeros(0)
    return {**sources, **dict(zip(free, map(float, found), strict=True))}


def pin_volts(
    *,
    output: str,
    joined: bool,
    supply_v: float,
    logic_v: float = 3.3,
    board_pull: str = "up",
    own_pull: bool = False,
    lost: str = "",
    touching: str = "",
) -> tuple[float, float]:
    """Least and greatest voltage at the pin over the tolerances of the pulls, in volts.

    Args:
        output: `contact` or `transistor`, from signal to ground at the sensor, which has all three wires.
        joined: whether it is closed, or would conduct if it were powered.
        supply_v: at the header.
        logic_v: of the board's pull-up.
        board_pull: up, down or none.
        own_pull: whether the module has a pull-up to its supply.
        lost: the wire that is broken, if any.
        touching: what the signal touches at the header, if anything.
    """
    sources = {"supply": supply_v, "ground": 0.0, "logic": logic_v}
    fixed = [(row, f"far {row}", WIRE) for row in ("signal", "supply", "ground") if row != lost]
    if touching:
        fixed.append(("signal", touching, WIRE))
    conducts = joined and (output == "contact" or lost not in {"supply", "ground"})
    if conducts:
        fixed.append(("far signal", "far ground", CONTACT if output == "contact" else OUTPUT))
    found = []
    for board_ohm, own_ohm in product(BOARD_PULL, OWN_PULL):
        connections = list(fixed)
        if board_pull != "none":
            connections.append(("signal", "logic" if board_pull == "up" else "ground", board_ohm))
        if own_pull:
            connections.append(("far signal", "far supply", own_ohm))
        found.append(_with_the_diode(connections, sources, output, lost))
    return min(found), max(found)


def _with_the_diode(connections: list[Connection], sources: dict[str, float], output: str, lost: str) -> float:
    """The module's own current path, supply to its lost ground and on to the signal, where that is a way uphill."""
    pin_v = solved(connections, sources).get("signal", 0.0)  # a floating pin is what any way uphill lifts
    if lost != "ground":
        return pin_v
    lifted = {**sources, "lifted": sources["supply"] - DROP_V}
    through = [*connections, ("lifted", "far ground", MODULE)]
    if output == "transistor":
        through.append(("far ground", "far signal", OUTPUT))
    return max(pin_v, solved(through, lifted).get("signal", 0.0))
