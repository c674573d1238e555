"""The campaign's circuit against an independent solver, and against sums that fit on the back of an envelope."""

from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest

from scripts.commissioning.circuit import Clip, Form, Link, Path, Rail, Wiring, paths, pin_volts, reads_in

PIN, SIGNAL, GROUND, SUPPLY = range(4)
AT_SENSOR = {Rail.GROUND: GROUND, Rail.SUPPLY: SUPPLY}
WIRE_OHM, CONTACT_OHM, TRANSISTOR_OHM, SHORT_OHM = 0.1, 0.5, 50.0, 0.5
PROBE_A = 1e-9


def wirings() -> Iterator[Wiring]:
    """Every form, contact, side, pull and logic, with every conductor broken and every touch in the cable."""
    broken = ("", "signal", "ground", "supply")
    for form, closes, to, pull, absent, wire, touch in product(
        Form, (True, False), Rail, (*Rail, None), (True, False), broken, (*Rail, None)
    ):
        module_ohm = 10e3 if form is Form.COLLECTOR else 0.0
        conductors = frozenset({wire} if wire else ())
        yield Wiring(form, closes, to, pull, 35e3, module_ohm, absent, 3.3, conductors, touch)


class Nodes:
    """A resistor network of four nodes between two rails, solved by nodal analysis.

    Source: Kirchhoff's current law written as a conductance matrix; numpy solves it.
    """

    def __init__(self, supply_v: float) -> None:
        self._supply_v = supply_v
        self._siemens = np.eye(4) * 1e-12  # so that a node which nothing joins stands somewhere
        self._ampere = np.zeros(4)

    def join(self, node: int, other: int, ohms: float) -> None:
        """A resistor between two nodes."""
        for here, there in ((node, other), (other, node)):
            self._siemens[here, here] += 1 / ohms
            self._siemens[here, there] -= 1 / ohms

    def tie(self, node: int, rail: Rail, ohms: float) -> None:
        """A resistor between a node and a rail."""
        self._siemens[node, node] += 1 / ohms
        self._ampere[node] += (self._supply_v if rail is Rail.SUPPLY else 0.0) / ohms

    def reads_high(self) -> bool | None:
        """The level at the pin: None between the thresholds, or where a small current moves it as by 2 MΩ or more."""
        volts = np.linalg.solve(self._siemens, self._ampere)
        moved = np.linalg.solve(self._siemens, self._ampere + np.array([PROBE_A, 0, 0, 0]))
        share = volts[PIN] / self._supply_v
        loose = (moved[PIN] - volts[PIN]) / PROBE_A > 2e6
        return None if loose or 0.3 < share < 0.7 else bool(share >= 0.7)


def solved(wiring: Wiring, *, pressed: bool, link: Link, clip: Clip | None) -> bool | None:
    """What the firmware reads, by nodal analysis of board, cable and sensor."""
    nodes = Nodes(wiring.supply_v)
    if wiring.pull is not None:
        nodes.tie(PIN, wiring.pull, wiring.pull_ohm)
    if clip is not None:
        nodes.tie(PIN, clip.to, clip.ohms)
    if link is not Link.OFF_AT_BOARD:
        _cable(nodes, wiring)
    if link is Link.ON:
        _sensor(nodes, wiring, closed=pressed == wiring.closes_when_in)
    high = nodes.reads_high()
    return None if high is None else high is not wiring.absent_high


def _cable(nodes: Nodes, wiring: Wiring) -> None:
    if wiring.shorted_to is not None:  # on the board's side of a break
        nodes.tie(PIN, wiring.shorted_to, SHORT_OHM)
    if "signal" not in wiring.broken:
        nodes.join(PIN, SIGNAL, WIRE_OHM)
    for rail, node in AT_SENSOR.items():
        if rail not in wiring.broken:
            nodes.tie(node, rail, WIRE_OHM)


def _sensor(nodes: Nodes, wiring: Wiring, *, closed: bool) -> None:
    if wiring.form is Form.COLLECTOR:
        if wiring.module_pull_ohm:
            nodes.join(SIGNAL, SUPPLY, wiring.module_pull_ohm)
        if closed and "supply" not in wiring.broken:  # a transistor does nothing without its supply
            nodes.join(SIGNAL, GROUND, TRANSISTOR_OHM)
    elif closed:
        nodes.join(SIGNAL, AT_SENSOR[wiring.to], CONTACT_OHM)
    elif wiring.form is Form.CHANGEOVER:
        nodes.join(SIGNAL, AT_SENSOR[wiring.to.other], CONTACT_OHM)


@pytest.mark.parametrize("link", Link)
@pytest.mark.parametrize("clip", [None, Clip(220e3), Clip(1e3), Clip(220e3, Rail.SUPPLY)], ids=str)
def test_every_wiring_reads_as_solved(link: Link, clip: Clip | None) -> None:
    """Every wiring, whole or with one wire broken or touching, reads what the independent solver says."""
    cases = [(wiring, pressed) for wiring in wirings() for pressed in (True, False)]
    differing = [
        (wiring, pressed)
        for wiring, pressed in cases
        if solved(wiring, pressed=pressed, link=link, clip=clip)
        is not reads_in(wiring, pressed=pressed, link=link, clip=clip)
    ]

    assert 1728 == len(cases)
    assert [] == differing


def test_a_sound_unit_reads_by_hand() -> None:
    """A contact to ground with pull-up is low (in) when closed, high (out) when open and when unplugged."""
    sound = Wiring()
    closed_v = 3.3 * 0.5 / (35e3 + 0.5)

    assert pytest.approx(closed_v) == pin_volts(paths(sound, pressed=True))
    assert pytest.approx(3.3) == pin_volts(paths(sound, pressed=False))
    assert (True, False) == (reads_in(sound, pressed=True), reads_in(sound, pressed=False))
    assert reads_in(sound, pressed=True, link=Link.OFF_AT_BOARD) is False


def test_a_sound_pull_bears_the_proof() -> None:
    """With 220 kΩ to ground a pull of 50 kΩ leaves 3.3 V x 220 / 270 = 2.69 V, above 0.7 x 3.3 V = 2.31 V: out."""
    weak = Wiring(pull_ohm=50e3)
    found = paths(weak, pressed=False, link=Link.OFF_AT_BOARD, clip=Clip(220e3))

    assert 3.3 * 220 / 270 == pytest.approx(pin_volts(found))
    assert reads_in(weak, pressed=False, link=Link.OFF_AT_BOARD, clip=Clip(220e3)) is False


def test_an_unheld_input_fails_the_proof() -> None:
    """Without a pull nothing is known unplugged; with 220 kΩ to ground it stands at 0 V and reads in."""
    bare = Wiring(pull=None)

    assert reads_in(bare, pressed=False, link=Link.OFF_AT_BOARD) is None
    assert reads_in(bare, pressed=False, link=Link.OFF_AT_BOARD, clip=Clip(220e3)) is True


def test_one_kilohm_changes_every_pull() -> None:
    """1 kΩ to ground pulls the strongest pull-up down to 3.3 V x 1 / 21 = 0.16 V: a clip that was fitted shows."""
    strong = Wiring(pull_ohm=20e3)

    assert reads_in(strong, pressed=False, link=Link.OFF_AT_BOARD, clip=Clip(1e3)) is True


def test_two_equal_resistors_read_nothing() -> None:
    """Halfway between the rails is neither level: 3.3 V x 35 / 70 = 1.65 V."""
    assert 1.65 == pytest.approx(pin_volts([Path(3.3, 35e3), Path(0.0, 35e3)]))
    assert reads_in(Wiring(), pressed=False, clip=Clip(35e3)) is None
