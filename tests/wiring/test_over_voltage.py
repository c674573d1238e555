"""More volts than a pin bears: against hand calculations and a nodal analysis that shares no code with the product."""

from itertools import product

import pytest

from commission.procedure.wiring.pictures import table_lines
from commission.vocabulary import Pull
from commission.wiring.assessment import assess
from commission.wiring.declaration import assumptions, declared_installation, next_question
from commission.wiring.installation import DryContact, Installation, OpenCollector, WiringError
from commission.wiring.parts import SensorKind
from commission.wiring.single_faults import Single
from tests.wiring.cases import GROUND, HIGH, IN, LOW, NO, OUT, SUPPLY, two_wire, wired
from tests.wiring.nodal import pin_volts

GATE = {"sensor": "open-collector", "conducts-when": "in", "pull": "up", "absent": "high", "logic": "3.3"}
SWITCH_3 = {"sensor": "switch", "wires": "3", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


def volts(installation: Installation, single: Single, presence: object = OUT) -> tuple[float, float]:
    """Least and greatest voltage of a state, in volts."""
    pair = assess(installation).states[single]
    assert pair is not None
    found = pair.filament_in.volts if presence is IN else pair.filament_out.volts

    return min(found), max(found)


def gate(own_pull: str, **others: str) -> Installation:
    """A light gate fed with 5 V at an input of 3.3 V logic."""
    return declared_installation({**GATE, "supply": "5", "own-pull": own_pull, **others})


def test_a_modules_own_pull_up_puts_its_supply_on_the_pin() -> None:
    """4.7 kilohm to 5 V against 50 kilohm to 3.3 V: (5/4.7 + 3.3/50) / (1/4.7 + 1/50) = 4.85 V; 10 and 30: 4.58 V."""
    assert (4.575, 4.854) == pytest.approx(volts(gate("yes"), Single.SOUND), abs=0.001)


def test_a_module_that_lost_its_ground_lifts_the_pin() -> None:
    """The current of the light leaves through the signal: 5 V less 1 V of the light, about 4 V, own pull or not."""
    for own_pull in ("no", "yes"):
        assert volts(gate(own_pull), Single.GROUND_BROKEN)[1] >= 3.99
    assert (3.99, 4.0) == pytest.approx(volts(gate("no"), Single.GROUND_BROKEN), abs=0.01)


@pytest.mark.parametrize("own_pull", [False, True])
@pytest.mark.parametrize(("supply_v", "logic_v"), [(5.0, 3.3), (3.3, 3.3)])
@pytest.mark.parametrize("pull", list(Pull))
@pytest.mark.parametrize("output", ["contact", "transistor"])
def test_every_state_has_the_voltage_of_an_independent_solver(
    output: str, pull: Pull, supply_v: float, logic_v: float, own_pull: bool
) -> None:
    """Sound, each wire lost and each short, in and out: NumPy's solution of the same bench is the same."""
    sensor = OpenCollector(IN) if output == "transistor" else DryContact(NO, GROUND)
    answers = {**(GATE if output == "transistor" else SWITCH_3), "pull": pull.value}
    answers |= {"logic": f"{logic_v:g}", "supply": f"{supply_v:g}", "own-pull": "yes" if own_pull else "no"}
    installation = declared_installation(answers)
    assert sensor == installation.sensor
    states = {
        Single.SOUND: {},
        Single.SIGNAL_BROKEN: {"lost": "signal"},
        Single.GROUND_BROKEN: {"lost": "ground"},
        Single.SUPPLY_BROKEN: {"lost": "supply"},
        Single.SIGNAL_TO_GROUND: {"touching": "ground"},
        Single.SIGNAL_TO_SUPPLY: {"touching": "supply"},
    }
    found, compared = assess(installation), 0
    for (single, what), presence in product(states.items(), (IN, OUT)):
        pair = found.states[single]
        assert pair is not None
        state = pair.of(presence)
        if state.supply_short or not state.volts:
            continue
        wanted = pin_volts(
            output=output,
            joined=presence is IN,
            supply_v=supply_v,
            logic_v=logic_v,
            board_pull=pull.value,
            own_pull=own_pull,
            **what,
        )
        assert wanted == pytest.approx((min(state.volts), max(state.volts)), abs=1e-6), (single, presence)
        compared += 1
    assert compared >= 4


@pytest.mark.parametrize(("own_pull", "said"), [("yes", "4.9 V would stand"), ("no", "with the ground wire broken")])
def test_five_volts_at_a_module_are_a_hazard_for_a_pin_of_3_3(own_pull: str, said: str) -> None:
    """A light gate fed with 5 V is not to be connected to an input that bears 3.6 V, whatever its own pull-up."""
    found = assess(gate(own_pull))

    assert any(said in hazard for hazard in found.hazards)
    assert not found.recommendation.startswith("Keep")
    assert (False, None) == (found.usable, found.fail_safe)


def test_a_small_board_with_a_switch_is_a_module_too() -> None:
    """A contact on a board with three wires may carry a pull-up and a light: fed with 5 V it is refused."""
    found = assess(declared_installation({**SWITCH_3, "supply": "5", "own-pull": "yes"}))

    assert any("Do not connect" in hazard for hazard in found.hazards)


def test_the_modules_own_pull_up_is_asked_for_where_it_matters() -> None:
    """The question comes after the header's voltage, and only where that is more than the input bears."""
    rest = {"pull-by": "board"}
    high, alike = (next_question({**GATE, **rest, "supply": supply}) for supply in ("5", "3.3"))

    assert high is not None
    assert ("own-pull", None) == (high.name, alike)
    assert next_question({**GATE, **rest, "supply": "5", "pull-by": "module"}) is None


def test_an_own_pull_up_that_was_not_declared_is_taken_for_there() -> None:
    """Nobody said: the careful answer is taken, and told."""
    for answers in ({**GATE, "supply": "5"}, {**GATE, "supply": "5", "own-pull": "unknown"}):
        assert declared_installation(answers).own_pull_up
        assert any("pull-up of its own" in told for told in assumptions(answers))
    assert not declared_installation({**GATE, "supply": "3.3"}).own_pull_up


def test_a_short_to_24_volts_is_damage_in_its_own_row() -> None:
    """Signal to supply with 24 V at the header: damage stands in the row, and nothing reads anything any more."""
    found = assess(wired(two_wire(NO, GROUND), Pull.UP, HIGH, supply_v=24.0))
    pair = found.states[Single.SIGNAL_TO_SUPPLY]
    assert pair is not None
    row = next(line for line in table_lines(found) if line.startswith("signal shorted to supply"))

    assert 24.0 == pytest.approx(pair.filament_out.damage_v, abs=0.01)
    assert pair.filament_out.concluded is None
    assert "24 V on the input: damage" in row
    assert any("24 V" in finding and "damage" in finding for finding in found.findings)
    assert all(len(line) <= 80 for line in table_lines(found))


def test_a_level_above_what_the_pin_bears_has_nothing_to_spare() -> None:
    """A contact that leads 24 V to the signal is damage and not a high with volts to spare."""
    found = assess(wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, supply_v=24.0))
    said = " ".join(margin.sentence for margin in found.margins)

    assert "24.00 V at the input, which bears 3.60 V: damage" in said
    assert "21.86" not in said


@pytest.mark.parametrize(
    ("input_class", "logic_v", "pull", "bears_v"),
    [
        ("8-bit", 5.0, Pull.UP, 5.5),  # ATmega640/1280/2560 family datasheet: VIH max VCC + 0.5 V
        ("8-bit", 3.3, Pull.UP, 3.8),
        ("32-bit", 3.3, Pull.NONE, 3.6),  # STM32F103x8/xB datasheet: VDD + 0.3 V
        ("32-bit-tolerant", 3.3, Pull.NONE, 5.5),  # STM32F405/407 datasheet, table 44: FT up to 5.5 V
        ("32-bit-tolerant", 3.3, Pull.UP, 3.6),  # same family: only with the internal pull off
    ],
)
def test_a_pin_bears_what_its_datasheet_says(input_class: str, logic_v: float, pull: Pull, bears_v: float) -> None:
    """VCC + 0.5 V for the 8-bit class at any logic voltage, VDD + 0.3 V else, 5.5 V where it is tolerant."""
    made = wired(two_wire(NO, GROUND), pull, HIGH, logic_v=logic_v, input_class=input_class)

    assert bears_v == pytest.approx(made.bears_v)


def test_an_8_bit_input_at_3_3_volts_is_not_tolerant() -> None:
    """5 V at an 8-bit input run at 3.3 V are more than the 3.8 V it stands."""
    fed = wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, logic_v=3.3, supply_v=5.0, input_class="8-bit")

    assert any("5.0 V would stand" in hazard for hazard in assess(fed).hazards)


@pytest.mark.parametrize("supply_v", [0.1, 1.0, 60.1, float("nan"), float("inf")])
def test_what_no_header_gives_is_refused(supply_v: float) -> None:
    """A supply of a tenth of a volt is a slip of the meter or of the keys."""
    with pytest.raises(WiringError, match="no supply"):
        wired(two_wire(NO, GROUND), Pull.UP, HIGH, supply_v=supply_v)


def test_hands_at_a_wire_come_with_their_power_state() -> None:
    """Whatever asks for a hand at a plug or a probe at the header says what must be off, and what must not slip."""
    module = assess(declared_installation({"sensor": "push-pull", "output-when-in": "low", "pull": "up"}))
    pulled = next(text for text in module.findings if "that wire off" in text)
    measured = next(text for text in assumptions(SWITCH_3) if "Measure it" in text)

    assert "mains and USB both out" in pulled
    assert "nothing slips" in measured
    assert (
        SensorKind.PUSH_PULL
        is declared_installation({"sensor": "push-pull", "output-when-in": "low", "pull": "up"}).kind
    )
