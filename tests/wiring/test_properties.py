"""What holds for every wiring that can be declared."""

from dataclasses import replace
from itertools import permutations, product

import pytest

from commission.vocabulary import Contact, Level, Polarity, Presence, Pull
from commission.wiring.assessment import assess
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Sensor,
    Terminal,
)
from commission.wiring.single_faults import Single
from tests.wiring.cases import wired

SENSORS: list[Sensor] = [
    *(DryContact(c, to, p) for c, to, p in product(Contact, (Terminal.GROUND, Terminal.SUPPLY), Presence)),
    *(Changeover(a, b, c, pressed) for (a, b, c), pressed in product(permutations(Terminal), Presence)),
    *(OpenCollector(presence) for presence in Presence),
    *(PushPull(level) for level in (Level.HIGH, Level.LOW)),
]
EVERY = [
    wired(sensor, pull, absent, pull_by=pull_by, logic_v=logic_v, supply_v=supply_v)
    for sensor, pull, pull_by, absent, (logic_v, supply_v) in product(
        SENSORS, Pull, PullBy, (Level.HIGH, Level.LOW), ((3.3, 3.3), (3.3, 5.0))
    )
]


def test_there_are_enough_wirings_to_speak_of_every_one() -> None:
    """The product of sensors, pulls, levels and voltages has 576 members."""
    assert len(SENSORS) * 3 * 2 * 2 * 2 == len(EVERY) == 24 * 24


@pytest.fixture(scope="module", name="assessed")
def _assessed() -> list[tuple[Installation, dict[str, object]]]:
    return [(installation, assess(installation).as_json()) for installation in EVERY]


def test_the_conclusion_is_the_level_held_against_absent(assessed: list[tuple[Installation, dict]]) -> None:  # type: ignore[type-arg]
    """In every state of every wiring: absent level is out, the other is in, floating is undefined."""
    for installation, found in assessed:
        for pair in filter(None, found["states"].values()):
            for state in pair.values():
                absent = installation.absent.value
                level = state["level"]
                wanted = "undefined" if level == "floating" else "out" if level == absent else "in"
                assert wanted == state["concluded"]


def test_a_shorted_supply_concludes_nothing(assessed: list[tuple[Installation, dict]]) -> None:  # type: ignore[type-arg]
    """No state with a shorted supply has a level or a conclusion, and a sound one is a hazard and not usable."""
    for _, found in assessed:
        for name, pair in found["states"].items():
            for state in (pair or {}).values():
                if state["supply_short"]:
                    assert ("floating", "undefined") == (state["level"], state["concluded"])
                    assert name != "sound" or (found["hazards"] and not found["usable"])


def test_fail_safe_is_never_claimed_while_a_wire_can_hide_a_runout(assessed: list[tuple[Installation, dict]]) -> None:  # type: ignore[type-arg]
    """Wherever fail-safe is true, each broken wire and the pulled plug read out with filament out."""
    claimed = [found for _, found in assessed if found["fail_safe"] is True]

    assert claimed
    for found in claimed:
        for single in Single:
            pair = found["states"][single.value]
            if single.interrupted and pair:
                assert pair["out"]["concluded"] == "out"


def test_polarity_is_given_exactly_for_usable_wirings(assessed: list[tuple[Installation, dict]]) -> None:  # type: ignore[type-arg]
    """Polarity is null exactly where the wiring is not usable, and fail-safe is null there too."""
    for _, found in assessed:
        assert found["usable"] is (found["polarity"] is not None)
        assert found["usable"] or found["fail_safe"] is None


def test_flipping_the_absent_level_swaps_every_conclusion_and_the_polarity() -> None:
    """The other absent level swaps in and out in every state and direct with inverted."""
    other = {Polarity.DIRECT: Polarity.INVERTED, Polarity.INVERTED: Polarity.DIRECT, None: None}
    for high, low in zip(EVERY, EVERY[2:], strict=False):
        if (high.absent, low.absent) != (Level.HIGH, Level.LOW):
            continue
        assert other[assess(high).polarity] is assess(low).polarity


def test_every_advice_says_something(assessed: list[tuple[Installation, dict]]) -> None:  # type: ignore[type-arg]
    """Every wiring gets a recommendation; it is to keep exactly the direct and fail-safe ones."""
    for _, found in assessed:
        keep = found["polarity"] == "direct" and found["fail_safe"] is True
        assert keep is found["recommendation"].startswith("Keep")


def test_a_pull_is_advised_only_where_it_makes_the_wiring_right_and_safe() -> None:
    """Followed to the letter, the advice to fit a pull gives a wiring that is direct, fail-safe and no hazard."""
    advised = 0
    for installation in EVERY:
        pull = next(
            (p for p in Pull if f"Fit a pull-{p.value} at the board" in assess(installation).recommendation), None
        )
        if pull is not None:
            advised += 1
            followed = assess(replace(installation, pull=pull, pull_by=PullBy.BOARD))
            assert (Polarity.DIRECT, True, ()) == (followed.polarity, followed.fail_safe, followed.hazards)
    assert 10 < advised < len(EVERY) / 2


def test_what_shorts_its_supply_or_turns_is_not_called_useless() -> None:
    """Useless is said exactly of a sound wiring that does no harm and does not tell in from out."""
    for installation in EVERY:
        sound = assess(installation).as_json()["states"]["sound"]  # type: ignore[index]
        states = (sound["in"], sound["out"])
        shorted = any(state["supply_short"] or state["damage_v"] for state in states)
        told = {sound[presence]["concluded"] for presence in ("in", "out")} == {"in", "out"}
        said = any(finding.startswith("Useless") for finding in assess(installation).findings)
        assert (not shorted and not told) == said, installation
