"""What each probe shows under each condition, worked out from the circuit; read row by row for one wiring."""

import re
from importlib.resources import files

import pytest

from commission.vocabulary import Polarity, Presence, Pull
from commission.wiring.assessment import in_class
from commission.wiring.conditions import conditions, read_conditions, variant
from commission.wiring.installation import DryContact, OpenCollector, PullBy, PushPull, WorksBy
from commission.wiring.parts import PartsError, SensorKind
from commission.wiring.prediction import Probe, Show, predicted_table
from tests.wiring.cases import GROUND, HIGH, IN, LOW, NC, NO, SIGNAL, SUPPLY, three_wire, two_wire, wired

RECOMMENDED = wired(two_wire(NO, GROUND), Pull.UP, HIGH)
TEXT = files("commission.wiring").joinpath("conditions.toml").read_text(encoding="utf-8")

# in, out, unplugged at the board and at the sensor, cable worked, machine moving, lever worked, bridged:
# A active, I inactive, ~ floats, ! restarts
ROWS = {
    "as-declared": "A I I I A A A A",
    "contact-swapped": "I A I I I I I A",
    "logic-flipped": "I A A A I I I I",
    "words-reversed": "I A A A I I I I",
    "slipped": "A I I I A A A A",
    "contact-and-logic": "A I A A A A A I",
    "pull-other-way": "A A A A A A A A",
    "contact-and-pull": "A A A A A A A A",
    "pull-and-logic": "I I I I I I I I",
    "pull-missing": "A ~ ~ ~ A A A A",
    "signal-broken": "I I I I I I I A",
    "ground-broken": "I I I I I I I A",
    "output-dead": "I I I I I I I A",
    "output-always": "A A I I A A A A",
    "signal-to-ground": "A A I A A A A A",
    "signal-to-supply": "! I I I ! ! ! A",
    "exchanged": "! I I I ! ! ! A",
    "wrong-input": "I I I I I I I I",
    "wrong-input-floating": "~ ~ ~ ~ ~ ~ ~ ~",
    "driven-high": "A I I I A A A I",
    "driven-low": "A A A A A A A A",
    "pin-dead-high": "I I I I I I I I",
    "pin-dead-low": "A A A A A A A A",
    "lever-not-reached": "I I I I I I A A",
    "lever-stuck": "A A I I A A A A",
    "lever-sticky": "A I I I A A A A",
    "intermittent": "A I I I A A A A",
    "motor-noise": "A I I I A A A A",
    "loose": "A I I I A A A A",
}
POWERED = [probe for probe in Probe if not probe.metered and not probe.looked]
LETTERS = {Show.ACTIVE: "A", Show.INACTIVE: "I", Show.UNDEFINED: "~", Show.RESTARTS: "!"}


def shown(installation, name: str) -> dict[Probe, Show]:  # type: ignore[no-untyped-def]
    """What the probes show under the condition of this name."""
    row = next(row for condition, row in predicted_table(installation).items() if condition.name == name)
    return {probe: prediction.show for probe, prediction in row.items()}


@pytest.mark.parametrize(("name", "letters"), ROWS.items())
def test_the_recommended_wiring_under_each_condition(name: str, letters: str) -> None:
    """For a contact to ground with a pull-up, each condition reads as physics has it; the trade names no such table."""
    found = shown(RECOMMENDED, name)

    assert letters == " ".join(LETTERS[found[probe]] for probe in POWERED)


def test_every_condition_that_can_be_is_in_the_table() -> None:
    """The table has a row for every condition except those about a supply wire and about pulls that are not there."""
    found = {condition.name for condition in predicted_table(RECOMMENDED)}

    assert set(ROWS) == found
    assert {"supply-missing", "pull-up-there", "pull-down-there", "pull-elsewhere"} == set(conditions()) - found


def test_the_meter_finds_a_connector_in_another_order_before_power() -> None:
    """Signal and supply exchanged: supply to ground is near zero with filament in, and the sound one is not."""
    assert Show.JOINED is shown(RECOMMENDED, "exchanged")[Probe.METER_SUPPLY_IN]
    assert Show.NOT_JOINED is shown(RECOMMENDED, "as-declared")[Probe.METER_SUPPLY_IN]


def test_a_connection_that_comes_and_goes_shows_both() -> None:
    """An intermittent signal shows the sound reading and, now and then, the broken one; where they agree, one."""
    row = next(row for c, row in predicted_table(RECOMMENDED).items() if c.name == "intermittent")

    assert (Show.ACTIVE, Show.INACTIVE) == (row[Probe.FILAMENT_IN].show, row[Probe.FILAMENT_IN].sometimes)
    assert row[Probe.FILAMENT_OUT].sometimes is None


def test_a_loose_connection_shows_only_while_the_cable_is_worked() -> None:
    """A connection that lets go when moved reads as declared at rest and, now and then, as broken when worked."""
    row = next(row for c, row in predicted_table(RECOMMENDED).items() if c.name == "loose")

    assert row[Probe.FILAMENT_IN].sometimes is None
    assert Show.INACTIVE is row[Probe.CABLE_WORKED].sometimes


def test_noise_of_motors_shows_only_while_they_move() -> None:
    """Disturbed by motors it reads as declared at rest and worked, and now and then the opposite while they move."""
    row = next(row for c, row in predicted_table(RECOMMENDED).items() if c.name == "motor-noise")

    assert {None} == {row[probe].sometimes for probe in POWERED if probe is not Probe.MACHINE_MOVING}
    assert (Show.ACTIVE, Show.INACTIVE) == (row[Probe.MACHINE_MOVING].show, row[Probe.MACHINE_MOVING].sometimes)


def test_a_lever_that_sticks_now_and_then_shows_both_with_filament_out() -> None:
    """A lever that stays down after some withdrawals reads out, and now and then in, with filament out."""
    row = next(row for c, row in predicted_table(RECOMMENDED).items() if c.name == "lever-sticky")

    assert (Show.INACTIVE, Show.ACTIVE) == (row[Probe.FILAMENT_OUT].show, row[Probe.FILAMENT_OUT].sometimes)


def test_a_hand_on_a_lever_that_filament_releases_is_the_state_without_filament() -> None:
    """Where filament releases the lever, pressing it by hand reads as filament out does."""
    installation = wired(DryContact(NC, GROUND, Presence.OUT), Pull.UP, HIGH)
    found = shown(installation, "as-declared")

    assert Show.ACTIVE is found[Probe.FILAMENT_IN]
    assert found[Probe.FILAMENT_OUT] is found[Probe.WORKED_BY_HAND] is Show.INACTIVE


def test_a_module_that_lost_its_supply_reads_as_its_pull_has_it() -> None:
    """An open collector without supply lets go of the signal: with a pull-up it reads as filament out does."""
    found = shown(wired(OpenCollector(IN), Pull.UP, HIGH), "supply-missing")

    assert {Show.INACTIVE} == {found[probe] for probe in (Probe.FILAMENT_IN, Probe.FILAMENT_OUT)}


def test_a_push_pull_stage_has_no_contact_that_could_be_dead() -> None:
    """Conditions of a contact are not offered for an output that has none, nor a missing pull where there is none."""
    found = {condition.name for condition in predicted_table(wired(PushPull(LOW), Pull.NONE, HIGH))}

    assert not {"output-dead", "output-always", "pull-missing"} & found


def test_a_swapped_changeover_is_the_other_order_of_its_sides() -> None:
    """The other contact of a changeover reads the other way round and rests on the other rail."""
    installation = wired(three_wire(SIGNAL, GROUND, SUPPLY), Pull.UP, HIGH)
    found = shown(installation, "contact-swapped")

    assert (Show.INACTIVE, Show.ACTIVE) == (found[Probe.FILAMENT_IN], found[Probe.FILAMENT_OUT])


def test_a_pull_on_the_module_is_gone_when_unplugged() -> None:
    """With the pull on the module both unplugged probes float, even when nothing is wrong."""
    found = shown(wired(two_wire(NO, GROUND), Pull.UP, HIGH, pull_by=PullBy.MODULE), "as-declared")

    assert Show.UNDEFINED is found[Probe.UNPLUGGED_AT_BOARD] is found[Probe.UNPLUGGED_AT_SENSOR]


def test_every_condition_has_cures_in_an_order() -> None:
    """Each condition names at least one cure, and its prior is above zero."""
    every = [condition for described in conditions().values() for condition in described.values()]

    assert len(every) > 100
    assert all(condition.cures and condition.prior > 0 for condition in every)


FOREIGN = {
    WorksBy.LEVER: ("lens", "light", "optic", "flag", "magnet", "ball", "beam", "slot"),
    WorksBy.BALL: ("lens", "light", "optic", "flag", "magnet", "beam", "slot"),
    WorksBy.BEAM: ("magnet", "ball", "contact's", "welded"),
    WorksBy.MAGNET: ("lens", "light", "optic", "flag", "beam", "slot", "ball", "welded"),
    WorksBy.MODULE: ("lens", "optic", "flag", "magnet", "beam", "slot", "ball", "welded", "button"),
}


@pytest.mark.parametrize("works_by", WorksBy)
def test_a_sensor_is_cured_only_of_what_it_has(works_by: WorksBy) -> None:
    """No lens for a lever and no magnet for a light gate, in any title and any cure."""
    described = [each[works_by] for each in conditions().values() if works_by in each]
    said = " ".join(text for one in described for text in (one.title, *one.cures))

    assert [] == [word for word in FOREIGN[works_by] if re.search(rf"\b{word}", said)]


@pytest.mark.parametrize(
    ("name", "contact", "pull", "level"),
    [
        ("as-declared", False, False, False),
        ("contact-swapped", True, False, False),
        ("logic-flipped", False, False, True),
        ("contact-and-logic", True, False, True),
        ("pull-missing", False, True, False),
        ("words-reversed", False, False, False),
        ("lever-stuck", False, False, False),
    ],
)
def test_a_second_look_shows_what_was_declared_wrong(name: str, contact: bool, pull: bool, level: bool) -> None:
    """Each look finds its own part of the declaration otherwise, where the condition says so, and else as declared."""
    row = predicted_table(RECOMMENDED)[next(c for c in predicted_table(RECOMMENDED) if c.name == name)]
    found = [row[probe].show is Show.NOT_AS_DECLARED for probe in Probe if probe.looked]

    assert [contact, pull, level] == found


def test_a_pull_on_the_module_is_what_was_not_declared() -> None:
    """Declared at the board and really on the module: it reads right plugged in, and floats when unplugged."""
    found = shown(wired(OpenCollector(IN), Pull.UP, HIGH), "pull-elsewhere")

    assert (Show.ACTIVE, Show.INACTIVE) == (found[Probe.FILAMENT_IN], found[Probe.FILAMENT_OUT])
    assert Show.UNDEFINED is found[Probe.UNPLUGGED_AT_BOARD]


def test_an_unknown_condition_is_refused() -> None:
    """Asked for a condition nobody knows, the room names those it knows."""
    with pytest.raises(PartsError, match="'moonlight' is no condition"):
        variant(RECOMMENDED, "moonlight")


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("format = 2", "format = 1", "format = 2"),
        ("format = 2", "format =", "impossible entry"),
        ('denies = ["contact"]', 'denies = ["weather"]', "denies is of contact, pull, level"),
        ("[conditions.intermittent]", "[conditions.moonlight]", "intermittent.*moonlight"),
        ("prior = 10.0", "prior = 0.0", "prior above zero"),
        ("prior = 10.0", "prior = 10.0\nspare = 1", "spare"),
        ("prior = 10.0\n", "", "prior"),
    ],
)
def test_a_wrong_file_of_conditions_is_refused(old: str, new: str, complaint: str) -> None:
    """Another format, an unknown or missing condition or key, a prior of zero: refused by name."""
    assert old in TEXT
    with pytest.raises(PartsError, match=complaint):
        read_conditions(TEXT.replace(old, new, 1))


def test_a_ball_works_a_contact_or_a_beam() -> None:
    """What the filament moves is a ball where it presses a switch, and what stands in the light where there is none."""
    on_a_contact = wired(two_wire(NO, GROUND), Pull.UP, HIGH, kind=SensorKind.BALL_AND_LEVER)
    in_a_beam = wired(OpenCollector(IN), Pull.UP, HIGH, kind=SensorKind.BALL_AND_LEVER)

    assert (WorksBy.BALL, WorksBy.BEAM) == (on_a_contact.works_by, in_a_beam.works_by)


@pytest.mark.parametrize(
    ("polarity", "fail_safe", "said"),
    [
        (Polarity.DIRECT, True, "direct, fails safe"),
        (Polarity.INVERTED, False, "inverted, fails to danger"),
        (Polarity.DIRECT, None, "direct, fail-safe not known beforehand"),
        (None, None, "not usable, fail-safe not known beforehand"),
    ],
)
def test_a_class_is_named_in_words(polarity: Polarity | None, *, fail_safe: bool | None, said: str) -> None:
    """Which way round it reads first, then what a broken wire reads."""
    assert said == in_class(polarity, fail_safe=fail_safe)
