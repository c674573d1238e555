"""The resistor network, against closed formulas of circuit theory."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.wiring.circuit import Node, Resistor, current_a, resistance_ohm, voltages_v

A, B, C, D = Node.BOARD_SUPPLY, Node.BOARD_GROUND, Node.PIN, Node.SENSOR_SIGNAL
OHM = st.floats(0.05, 1e6)


@given(top=OHM, bottom=OHM, volts=st.floats(0.1, 60))
@settings(deadline=None, max_examples=60)
def test_two_resistors_divide_the_voltage(top: float, bottom: float, volts: float) -> None:
    """The middle of two resistors stands at V x R2 / (R1 + R2)."""
    found = voltages_v([Resistor(A, C, top), Resistor(C, B, bottom)], {A: volts, B: 0.0})

    assert volts * bottom / (top + bottom) == pytest.approx(found[C], rel=1e-6)


@given(one=OHM, two=OHM, three=OHM)
@settings(deadline=None, max_examples=60)
def test_resistance_follows_series_and_parallel(one: float, two: float, three: float) -> None:
    """Two in parallel and one in series show R1R2/(R1+R2) + R3 on the meter."""
    network = [Resistor(A, C, one), Resistor(A, C, two), Resistor(C, B, three)]

    assert one * two / (one + two) + three == pytest.approx(resistance_ohm(network, A, B), rel=1e-5)


def test_a_balanced_bridge_carries_no_current_in_its_middle() -> None:
    """In a balanced bridge both midpoints stand at the same voltage, whatever joins them."""
    bridge = [Resistor(A, C, 100), Resistor(C, B, 200), Resistor(A, D, 50), Resistor(D, B, 100), Resistor(C, D, 7)]

    found = voltages_v(bridge, {A: 9.0, B: 0.0})

    assert 6.0 == pytest.approx(found[C])
    assert 6.0 == pytest.approx(found[D])
    assert 9 / 300 + 9 / 150 == pytest.approx(current_a(bridge, {A: 9.0, B: 0.0}, A))


def test_a_node_without_a_path_to_a_source_floats() -> None:
    """Two nodes joined to each other only are missing from the answer."""
    found = voltages_v([Resistor(C, D, 10)], {A: 5.0, B: 0.0})

    assert {A: 5.0, B: 0.0} == found


def test_an_open_circuit_shows_infinite_on_the_meter() -> None:
    """Nothing between the probes is infinitely many ohm."""
    assert math.inf == resistance_ohm([Resistor(C, D, 10)], A, B)


@pytest.mark.parametrize("ohm", [0.0, -1.0, math.nan])
def test_a_connection_without_resistance_is_refused(ohm: float) -> None:
    """A connection of zero ohm or less is refused with the value."""
    with pytest.raises(ValueError, match="above zero"):
        Resistor(A, B, ohm)
