"""Level arithmetic against the datasheets' guaranteed levels; each expected value names its source."""

import pytest

from commission.vocabulary import Pull
from commission.wiring.assessment import assess
from commission.wiring.installation import OpenCollector, PullBy, PushPull
from commission.wiring.levels import margins, wetting
from commission.wiring.parts import parts
from tests.wiring.cases import GROUND, HIGH, IN, LOW, NC, NO, SIGNAL, SUPPLY, three_wire, two_wire, wired

DATASHEET_LEVELS = [
    # ATmega640/1280/2560 family datasheet, DC characteristics, 2.4 to 5.5 V: VIL 0.3 VCC, VIH 0.6 VCC
    ("8-bit", 5.0, 1.50, 3.00),
    ("8-bit", 3.3, 0.99, 1.98),
    # STM32F103x8/xB datasheet, Doc ID 13587 rev 15, table 35, limits tested in production: 0.35 and 0.65 VDD
    ("32-bit", 3.3, 1.155, 2.145),
    # same table, standard I/O: 0.28(VDD-2)+0.8 and 0.41(VDD-2)+1.3
    ("32-bit-standard", 3.3, 1.164, 1.833),
    ("32-bit-standard", 3.0, 1.080, 1.710),
    ("32-bit-standard", 3.6, 1.248, 1.956),
    # same table, FT I/O: 0.32(VDD-2)+0.75 and 0.42(VDD-2)+1
    ("32-bit-tolerant", 3.3, 1.166, 1.546),
    ("32-bit-tolerant", 3.0, 1.070, 1.420),
    ("32-bit-tolerant", 3.6, 1.262, 1.672),
    # STM32F405/407 datasheet, Doc ID 022152 rev 2, table 44, CMOS: 0.3 and 0.7 VDD
    ("32-bit-f4", 3.3, 0.99, 2.31),
]


@pytest.mark.parametrize(("name", "logic_v", "vil_v", "vih_v"), DATASHEET_LEVELS)
def test_guaranteed_levels_are_those_of_the_datasheet(name: str, logic_v: float, vil_v: float, vih_v: float) -> None:
    """VIL and VIH at a logic voltage are what the datasheet's formula gives, to its three decimals."""
    chosen = parts().inputs[name]

    assert vil_v == pytest.approx(chosen.vil.at_v(logic_v), abs=5e-4)
    assert vih_v == pytest.approx(chosen.vih.at_v(logic_v), abs=5e-4)


@pytest.mark.parametrize(
    ("name", "pull_ohm"),
    [
        ("8-bit", (20_000, 50_000)),  # ATmega644A datasheet, page 396, same family; for the 2560 from memory
        ("32-bit", (30_000, 50_000)),  # STM32F103x8/xB datasheet, table 35
        ("32-bit-f4", (30_000, 50_000)),  # STM32F405/407 datasheet, table 44
    ],
)
def test_internal_pull_ups_are_those_of_the_datasheet(name: str, pull_ohm: tuple[float, float]) -> None:
    """The least and greatest internal pull-up are the datasheet's."""
    assert pull_ohm == parts().inputs[name].pull_up_ohm


@pytest.mark.parametrize(
    ("logic_v", "least_ua", "greatest_ua"),
    [(5.0, 100, 250), (3.3, 66, 110)],  # recomputed from the datasheets' pulls: V / R at both ends
)
def test_an_internal_pull_up_alone_does_not_wet_a_contact(logic_v: float, least_ua: float, greatest_ua: float) -> None:
    """The current through the closed contact stays below the 1 mA at 5 V of a micro-load switch (its datasheet)."""
    found = wetting(wired(two_wire(NO, GROUND), Pull.UP, HIGH, logic_v=logic_v))

    assert found is not None
    assert (least_ua, greatest_ua) == pytest.approx((1e6 * found.least_a, 1e6 * found.greatest_a))
    assert (0.001, 5.0) == (found.wanted.minimum_a, found.wanted.at_v)
    assert not found.enough
    assert "nuisance trips" in found.sentence


@pytest.mark.parametrize(("logic_v", "ohm"), [(5.0, 5000), (3.3, 3300)])
def test_the_outside_pull_that_wets_a_micro_load_contact(logic_v: float, ohm: float) -> None:
    """1 mA wants about 5 kilohm at 5 V and 3.3 kilohm at 3.3 V: Ohm's law on the micro-load datasheet's minimum."""
    found = wetting(wired(two_wire(NO, GROUND), Pull.UP, HIGH, logic_v=logic_v))

    assert found is not None
    assert ohm == pytest.approx(found.pull_ohm_for_wanted)


def test_an_ordinary_silver_contact_wants_far_more_than_any_logic_input_gives() -> None:
    """An ordinary silver contact wants 160 mA at 5 V (its datasheet), which no pull of this trade reaches."""
    found = wetting(wired(two_wire(NO, GROUND), Pull.UP, HIGH, pull_by=PullBy.MODULE, logic_v=5.0), "ordinary")

    assert found is not None
    assert 0.160 == found.wanted.minimum_a
    assert not found.enough


def test_film_on_a_contact_that_filament_opens_brings_missed_runouts() -> None:
    """A contact that is closed with filament out misses runouts when film builds up on it."""
    found = wetting(wired(two_wire(NC, GROUND), Pull.UP, LOW))

    assert found is not None
    assert "missed runouts" in found.sentence


def test_a_stronger_pull_wets_the_contact() -> None:
    """A pull of 1 to 10 kilohm fitted to an input without one of its own carries 0.33 to 3.3 mA at 3.3 V."""
    found = wetting(wired(two_wire(NO, GROUND), Pull.UP, HIGH, input_class="wireless-input-only"))

    assert found is not None
    assert (0.33, 3.3) == pytest.approx((1000 * found.least_a, 1000 * found.greatest_a))


def test_nothing_is_said_of_wetting_where_no_pull_current_flows() -> None:
    """A pull to the contact's own rail, no pull, and a module output carry no wetting current to speak of."""
    assert wetting(wired(two_wire(NO, GROUND), Pull.DOWN, HIGH)) is None
    assert wetting(wired(two_wire(NO, GROUND), Pull.NONE, HIGH)) is None
    assert wetting(wired(OpenCollector(IN), Pull.UP, HIGH)) is None


def test_leakage_lowers_a_high_that_a_pull_up_gives() -> None:
    """1 microampere of leakage (both datasheets) through 50 kilohm takes 0.05 V from the high."""
    out = margins(wired(two_wire(NO, GROUND), Pull.UP, HIGH))[1]

    assert HIGH is out.level
    assert 3.25 == pytest.approx(out.worst_v)
    assert 3.25 - 2.145 == pytest.approx(out.margin_v)


def test_a_3_3_v_output_is_no_guaranteed_high_for_5_v_logic() -> None:
    """LVTTL guarantees 2.4 V from a 3.3 V supply; an 8-bit input at 5 V wants 3.0 V, and a finding says so."""
    installation = wired(PushPull(HIGH), Pull.UP, LOW, logic_v=5.0, supply_v=3.3)
    found = margins(installation)[0]

    assert (2.4, 3.0, -0.6) == pytest.approx((found.worst_v, found.limit_v, found.margin_v))
    assert any("not guaranteed, 0.60 V short" in finding for finding in assess(installation).findings)


def test_a_saturated_transistor_leaves_a_guaranteed_low() -> None:
    """VOL 0.4 V (LVTTL) lies below VIL 1.155 V of a 32-bit input by 0.755 V."""
    found = margins(wired(OpenCollector(IN), Pull.UP, HIGH))[0]

    assert LOW is found.level
    assert 0.755 == pytest.approx(found.margin_v)


def test_a_changeover_contact_has_a_margin_on_both_sides() -> None:
    """A changeover contact ties the signal to a rail in both positions, so both levels have their margin."""
    found = margins(wired(three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP, HIGH))

    assert [LOW, HIGH] == [margin.level for margin in found]
    assert all(margin.margin_v > 1 for margin in found)


def test_a_level_that_nothing_gives_has_no_margin() -> None:
    """Without a pull the open side of a contact has no level to hold against a guarantee."""
    assert [IN] == [m.presence for m in margins(wired(two_wire(NO, SUPPLY), Pull.NONE, HIGH))]


def test_a_supply_below_the_guaranteed_high_gives_no_level() -> None:
    """2.5 V on a 5 V input lies between VIL 1.5 V and VIH 3.0 V: the level is undefined and the wiring useless."""
    found = assess(wired(two_wire(NO, SUPPLY), Pull.DOWN, LOW, logic_v=5.0, supply_v=2.5))

    assert not found.usable


def test_a_contact_that_carries_enough_is_told_so() -> None:
    """A pull of 1 to 10 kilohm to 12 V carries 1.2 mA at least, by Ohm's law; no cure is named."""
    found = wetting(wired(two_wire(NO, GROUND), Pull.UP, HIGH, pull_by=PullBy.MODULE, supply_v=12.0))

    assert found is not None
    assert found.enough
    assert found.sentence.endswith("enough to keep it clean.")
