"""What is refused in plain words, and what is said short of refusing."""

from dataclasses import replace

import pytest

from commission.vocabulary import Pull
from commission.wiring.assessment import assess
from commission.wiring.installation import Installation, OpenCollector, PullBy, PushPull
from commission.wiring.parts import SensorKind
from commission.wiring.single_faults import Single
from tests.wiring.cases import GROUND, HIGH, IN, LOW, NO, SIGNAL, SUPPLY, levels, three_wire, two_wire, wired

PUSH_PULL_5_V = wired(PushPull(HIGH), Pull.NONE, LOW, logic_v=3.3, supply_v=5.0)

OVER_VOLTAGE = [
    PUSH_PULL_5_V,
    wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, supply_v=5.0),
    wired(three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP, HIGH, supply_v=5.0),
    wired(OpenCollector(IN), Pull.UP, HIGH, pull_by=PullBy.MODULE, supply_v=5.0),
    wired(OpenCollector(IN), Pull.UP, HIGH, pull_by=PullBy.MODULE, supply_v=5.0, kind=SensorKind.HALL),
]


@pytest.mark.parametrize("installation", OVER_VOLTAGE, ids=lambda case: repr(case.sensor))
def test_five_volts_into_logic_of_3_3_is_refused(installation: Installation) -> None:
    """5 V at an input of 3.3 V logic is a hazard, by whichever way it gets there, and the wiring is not usable."""
    found = assess(installation)

    assert any("5.0 V would stand at an input of 3.3 V logic" in hazard for hazard in found.hazards)
    assert (False, None, None) == (found.usable, found.polarity, found.fail_safe)


def test_the_same_module_at_the_logic_voltage_is_not_refused() -> None:
    """Fed with 3.3 V the push-pull module is no hazard."""
    assert () == assess(replace(PUSH_PULL_5_V, supply_v=3.3)).hazards


def test_a_tolerant_input_bears_five_volts_with_its_own_pull_off() -> None:
    """A tolerant input takes 5 V without a pull of its own, and the finding names the conditions."""
    found = assess(wired(PushPull(HIGH), Pull.NONE, LOW, supply_v=5.0, input_class="32-bit-tolerant"))

    assert () == found.hazards
    assert any("with its own pull off" in finding and "4 V" in finding for finding in found.findings)


def test_a_tolerant_input_with_its_own_pull_on_is_refused() -> None:
    """The datasheet allows more than VDD + 0.3 V on a tolerant pin only with the internal pull disabled."""
    found = assess(wired(PushPull(HIGH), Pull.UP, LOW, supply_v=5.0, input_class="32-bit-tolerant"))

    assert any("own pull switched off" in hazard for hazard in found.hazards)


@pytest.mark.parametrize("input_class", ["8-bit", "32-bit-tolerant", "32-bit"])
def test_twelve_volts_are_refused_at_every_input(input_class: str) -> None:
    """A contact that leads 12 V to the signal is refused whatever the class of input."""
    logic_v = 5.0 if input_class == "8-bit" else 3.3
    found = assess(wired(two_wire(NO, SUPPLY), Pull.NONE, LOW, logic_v=logic_v, supply_v=12.0, input_class=input_class))

    assert any("12.0 V would stand" in hazard for hazard in found.hazards)


def test_a_module_is_not_fed_with_more_than_it_stands() -> None:
    """An open-collector module on a header of 24 V is refused although its signal is pulled to the logic voltage."""
    found = assess(wired(OpenCollector(IN), Pull.UP, HIGH, supply_v=24.0))

    assert any("stands 5.5 V at most" in hazard for hazard in found.hazards)


def test_a_contact_to_ground_needs_no_supply_and_says_to_leave_it_empty() -> None:
    """With 24 V at the header's supply terminal a contact to ground is safe, with the warning to leave it empty."""
    found = assess(wired(two_wire(NO, GROUND), Pull.UP, HIGH, supply_v=24.0))

    assert () == found.hazards
    assert found.fail_safe is True
    assert any("leave it empty" in finding for finding in found.findings)


def test_a_module_with_too_little_supply_is_told_of() -> None:
    """A magnetic sensor on 2.5 V gets a finding: it may not work at all."""
    found = assess(wired(OpenCollector(IN), Pull.UP, HIGH, supply_v=2.5, kind=SensorKind.HALL))

    assert any("may not work at all" in finding for finding in found.findings)


def test_a_short_that_only_a_fault_makes_is_a_finding_and_no_hazard() -> None:
    """Signal shorted to supply under a closed contact shorts the supply: told, but no reason not to connect."""
    found = assess(wired(two_wire(NO, GROUND), Pull.UP, HIGH))

    assert () == found.hazards
    assert any("filament in makes a dead short of the supply" in finding for finding in found.findings)


def test_a_pull_on_the_module_goes_away_with_the_plug() -> None:
    """With the pull on the module, unplugged floats: fail-safe is unknown, and the advice is to fit it at the board."""
    found = assess(wired(two_wire(NO, GROUND), Pull.UP, HIGH, pull_by=PullBy.MODULE))

    assert ("floats", "floats") == levels(found, Single.UNPLUGGED)
    assert (True, None) == (found.usable, found.fail_safe)
    assert any("needs a supply wire of its own" in finding for finding in found.findings)
    assert found.recommendation.startswith("Fit a pull-up at the board")


def test_a_board_pull_that_the_input_does_not_have_is_told_of() -> None:
    """An 8-bit input has no pull-down of its own, so what holds with one holds only with a real resistor."""
    found = assess(wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, logic_v=5.0))

    assert found.fail_safe is True
    assert any("has no pull-down of its own" in finding for finding in found.findings)


def test_inverted_and_unplugged_reads_out_means_change_the_contact() -> None:
    """Inverted with unplugged reading out: change the contact; inverting the logic would lose the fail-safe."""
    found = assess(wired(OpenCollector(IN.other), Pull.UP, HIGH))

    assert ("inverted", True) == (found.polarity and found.polarity.value, found.fail_safe)
    assert found.recommendation.startswith("Change the contact")


def test_no_level_is_told_of_a_state_that_shorts_the_supply() -> None:
    """Where filament in shorts the supply there is no level to spare: only the other state has a margin."""
    shorting = wired(three_wire(SUPPLY, GROUND, SIGNAL), Pull.DOWN, LOW)
    found = assess(shorting)

    sound = found.states[Single.SOUND]
    assert sound is not None
    assert (True, False) == (sound.filament_in.supply_short, sound.filament_out.supply_short)
    assert [IN.other] == [margin.presence for margin in found.margins]
