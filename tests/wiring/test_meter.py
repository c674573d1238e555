"""The check with a meter before plugging in: what is asked for, and what a reading means."""

import math

import pytest

from commission.vocabulary import Pull, Verdict
from commission.wiring.installation import OpenCollector, PullBy
from commission.wiring.meter import Shows, judge_header_v, judge_ohm, meter_steps
from commission.wiring.situation import Fault
from tests.wiring.cases import GROUND, HIGH, IN, LOW, NO, OUT, SIGNAL, SUPPLY, three_wire, two_wire, wired

TWO_WIRES = wired(two_wire(NO, GROUND), Pull.UP, HIGH)
SHORTING = wired(three_wire(SUPPLY, SIGNAL, GROUND), Pull.UP, HIGH)
MODULE = wired(OpenCollector(IN), Pull.UP, HIGH)


def test_a_contact_to_ground_is_measured_from_signal_to_ground_in_both_positions() -> None:
    """Two wires: signal to ground is near zero with filament in and open with it out; supply to ground is open."""
    found = [(s.one, s.other, s.presence, s.shows) for s in meter_steps(TWO_WIRES)]

    assert [
        (SUPPLY, GROUND, IN, Shows.OPEN),
        (SUPPLY, GROUND, OUT, Shows.OPEN),
        (SIGNAL, GROUND, IN, Shows.JOINED),
        (SIGNAL, GROUND, OUT, Shows.OPEN),
    ] == found


def test_a_contact_to_supply_is_measured_between_its_own_two_wires() -> None:
    """Two wires to supply are measured from signal to supply as well: near zero with filament in, open with it out."""
    steps = meter_steps(wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW))

    assert [Shows.JOINED, Shows.OPEN] == [s.shows for s in steps if s.other is SUPPLY]
    assert {Shows.OPEN} == {s.shows for s in steps if s.other is GROUND}


def test_a_connector_in_another_order_shows_from_supply_to_ground() -> None:
    """With signal and supply exchanged, a contact to ground joins supply and ground with filament in."""
    steps = meter_steps(TWO_WIRES, Fault(exchanged=True))

    assert [Shows.JOINED, Shows.OPEN] == [s.shows for s in steps if s.one is SUPPLY]


def test_three_wires_are_measured_supply_to_ground_and_signal_to_ground() -> None:
    """A sound changeover: supply to ground open in both positions, signal to ground in one."""
    found = [
        (s.one, s.presence, s.shows) for s in meter_steps(wired(three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP, HIGH))
    ]

    assert [
        (SUPPLY, IN, Shows.OPEN),
        (SUPPLY, OUT, Shows.OPEN),
        (SIGNAL, IN, Shows.JOINED),
        (SIGNAL, OUT, Shows.OPEN),
    ] == found


def test_a_supply_joined_to_ground_fails_even_where_the_wiring_predicts_it() -> None:
    """The shorting changeover is found by the meter: near zero from supply to ground never passes."""
    step = next(s for s in meter_steps(SHORTING) if s.one is SUPPLY and s.presence is OUT)
    found = judge_ohm(step, 0.4)

    assert Shows.JOINED is step.shows
    assert Verdict.FAIL is found.verdict
    assert "do not plug this in" in found.sentence


def test_a_short_in_the_cable_of_a_module_shows_on_the_meter() -> None:
    """A module whose signal touches ground in the cable is predicted near zero; a sound one is only not near zero."""
    shorted = meter_steps(MODULE, Fault(bridged=GROUND))

    assert Shows.JOINED is next(s for s in shorted if s.one is SIGNAL).shows
    assert {Shows.NOT_JOINED} == {s.shows for s in meter_steps(MODULE)}


@pytest.mark.parametrize(
    ("presence", "measured_ohm", "verdict"),
    [
        (IN, 0.3, Verdict.PASS),
        (IN, 9.9, Verdict.PASS),
        (IN, 10.0, Verdict.FAIL),
        (IN, math.inf, Verdict.FAIL),
        (OUT, math.inf, Verdict.PASS),
        (OUT, 100_000.0, Verdict.PASS),
        (OUT, 20_000.0, Verdict.FAIL),
        (OUT, 0.3, Verdict.FAIL),
        (OUT, None, Verdict.NOT_JUDGED),
        (OUT, math.nan, Verdict.NOT_JUDGED),
        (OUT, -1.0, Verdict.NOT_JUDGED),
    ],
)
def test_a_reading_is_held_against_its_step(presence, measured_ohm, verdict) -> None:  # type: ignore[no-untyped-def]
    """Near zero is below 10 ohm, open is above 20 kilohm, and what was not measured is not judged."""
    step = next(s for s in meter_steps(TWO_WIRES) if s.one is SIGNAL and s.presence is presence)

    assert verdict is judge_ohm(step, measured_ohm).verdict


def test_a_pull_down_on_the_module_shows_its_resistance() -> None:
    """A pull-down on the module is expected to show, and a third to three times its value passes."""
    installation = wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, pull_by=PullBy.MODULE)
    step = next(s for s in meter_steps(installation) if s.one is SIGNAL and s.presence is OUT)

    assert Shows.RESISTOR is step.shows
    assert Verdict.PASS is judge_ohm(step, 10_000).verdict
    assert Verdict.FAIL is judge_ohm(step, math.inf).verdict


@pytest.mark.parametrize(
    ("measured_v", "verdict", "words"),
    [
        (3.31, Verdict.PASS, "as declared"),
        (None, Verdict.NOT_JUDGED, "not measured"),
        (5.02, Verdict.FAIL, "plug nothing in"),
        (24.1, Verdict.FAIL, "plug nothing in"),
        (0.0, Verdict.FAIL, "declare the wiring anew"),
    ],
)
def test_the_headers_voltage_is_measured_before_plugging(measured_v, verdict, words) -> None:  # type: ignore[no-untyped-def]
    """Within a tenth of the declared voltage passes; more than the input bears says to plug nothing in."""
    found = judge_header_v(TWO_WIRES, measured_v)

    assert verdict is found.verdict
    assert words in found.sentence


@pytest.mark.parametrize(
    ("measured_ohm", "verdict"), [(math.inf, Verdict.PASS), (5000.0, Verdict.PASS), (3.0, Verdict.FAIL)]
)
def test_a_module_is_only_held_not_to_be_joined(measured_ohm: float, verdict: Verdict) -> None:
    """What its parts let through without supply is nobody's to say: anything but near zero fits."""
    step = next(s for s in meter_steps(MODULE) if s.shows is Shows.NOT_JOINED)

    assert verdict is judge_ohm(step, measured_ohm).verdict
