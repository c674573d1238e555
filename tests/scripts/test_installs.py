"""The campaign of installations: its circuit, its people and its figures, each held against a case worked out by hand.

Levels and builds here follow from Kirchhoff's laws for one contact, one pull and one resistor; nothing is taken from
the campaign itself.
"""

import re
from dataclasses import replace

import pytest

from scripts.commissioning.chance import chance_of
from scripts.commissioning.circuit import Form, Rail, Wiring
from scripts.installs.asked import NOT_BEGUN, borrowed
from scripts.installs.bench import Bench, Shown
from scripts.installs.counted import Figure, Installed, figures, mean
from scripts.installs.priors import FORMS, PINS, Build, Installation, Pin, drawn
from scripts.installs.rework import reworked
from scripts.installs.ways import BORROWED, USUAL, WAYS, Way, borrowing
from scripts.simulate_installs import carried_out, lines, main

UP, DOWN = Rail.SUPPLY, Rail.GROUND
TO_GROUND = Wiring(pull=None)
OPEN_WITH_FILAMENT = replace(TO_GROUND, closes_when_in=False)
EITHER, NO_PULL, PULLED_DOWN = Pin("either", frozenset(Rail)), Pin("none"), Pin("down", fixed=DOWN)
RIGHT = Build(absent_high=True, pull=UP)
MADE = Installation(
    form="switch, three terminals, two of them wired",
    sensor=TO_GROUND,
    other_contact=True,
    pin=EITHER,
    usual=RIGHT,
    socket=UP,
    says_closed_in=True,
    says_socket=UP,
    has_resistor=True,
)


@pytest.mark.parametrize(
    ("sensor", "build", "shown"),
    [
        (TO_GROUND, RIGHT, Shown(inside=True, outside=False, unplugged=False)),
        (TO_GROUND, Build(False, UP), Shown(inside=False, outside=True, unplugged=True)),
        (TO_GROUND, Build(True, None), Shown(inside=True, outside=None, unplugged=None)),
        (TO_GROUND, Build(True, DOWN), Shown(inside=True, outside=True, unplugged=True)),
        (OPEN_WITH_FILAMENT, Build(False, UP), Shown(inside=True, outside=False, unplugged=True)),
        (OPEN_WITH_FILAMENT, RIGHT, Shown(inside=False, outside=True, unplugged=False)),
        (replace(TO_GROUND, to=UP), Build(False, DOWN), Shown(inside=True, outside=False, unplugged=False)),
    ],
)
def test_a_bench_shows_what_the_circuit_gives(sensor: Wiring, build: Build, shown: Shown) -> None:
    """One contact and one pull, solved on paper; the fifth row is two errors that cancel."""
    assert shown == Bench(sensor, EITHER).shows(build)


@pytest.mark.parametrize(
    ("made", "first", "builds", "hardware", "looked_right"),
    [
        (MADE, RIGHT, 1, 0, False),
        (MADE, Build(False, UP), 2, 0, False),
        (MADE, Build(False, None), 3, 0, False),
        (replace(MADE, sensor=OPEN_WITH_FILAMENT), RIGHT, 1, 1, False),
        (replace(MADE, sensor=OPEN_WITH_FILAMENT), Build(False, UP), 2, 1, True),
        (replace(MADE, pin=NO_PULL), RIGHT, 1, 1, False),
        (replace(MADE, pin=PULLED_DOWN), RIGHT, 2, 1, False),
    ],
)
def test_builds_are_counted_as_on_paper(
    made: Installation, first: Build, builds: int, hardware: int, *, looked_right: bool
) -> None:
    """The logic and the pull each take a build; the contact and a resistor at the header take the iron."""
    found = reworked(made, first)

    assert (builds, True, hardware, looked_right) == (found.builds, found.right, found.hardware, found.looked_right)


def test_every_installation_comes_right_in_the_end() -> None:
    """From whatever build: else the builds until then would count nothing."""
    chance = chance_of(3)
    every = [drawn(chance) for _ in range(2000)]

    assert all(reworked(made, made.usual).right for made in every)
    assert set(FORMS) == {made.form for made in every}
    assert set(PINS) == {made.pin.name for made in every}


def test_a_borrowed_socket_tells_the_build() -> None:
    """A contact to ground that closes with filament in: missing filament is high, the pull goes up, shown by 1 kΩ."""
    told = borrowed(MADE, chance_of(1))

    assert (RIGHT, True, True) == (told.build, told.pull_shown, told.handed_back)


def test_a_borrowed_socket_has_the_contact_changed_first() -> None:
    """A contact that is open with filament in leads to no build, whatever it was declared to be."""
    for says in (True, False):
        told = borrowed(replace(MADE, sensor=OPEN_WITH_FILAMENT, says_closed_in=says), chance_of(1))

        assert (None, True) == (told.build, told.other_contact)


def test_a_contact_declared_wrongly_is_built_rightly() -> None:
    """The socket shows it: one build, and nothing left to change at the check."""
    way = borrowing(replace(MADE, sensor=OPEN_WITH_FILAMENT), chance_of(2))

    assert (1, True, True, 1) == (way.builds, way.right, way.at_once, way.hardware)


def test_a_changeover_is_not_tried_on_a_socket() -> None:
    """It drives both ways: the trial is not begun, and the build follows from the wiring as it is declared."""
    both = replace(MADE, sensor=replace(TO_GROUND, form=Form.CHANGEOVER))

    assert NOT_BEGUN == borrowed(both, chance_of(1)).seen
    assert f"built from the declared wiring: {NOT_BEGUN}" == borrowing(both, chance_of(1)).why


def way(builds: int, *, right: bool = True, follows: bool = True) -> Way:
    """A way with so many builds."""
    return Way(builds, right, builds == 1, 0, looked_right=False, pull_follows=follows)


def states(usual: Way, borrowed_way: Way, count: int = 200) -> list[str]:
    """The states of the figures for so many installations of this kind."""
    return [figure.state for figure in figures([Installed({USUAL: usual, BORROWED: borrowed_way})] * count, 1)]


def test_each_figure_goes_off_by_itself() -> None:
    """None right in the end; a second build after the socket; nothing saved; and nothing counted at all."""
    assert ["held", "held", "held"] == states(way(2), way(1))
    assert ["OFF", "held", "held"] == states(way(2, right=False), way(1))
    assert ["held", "OFF", "held"] == states(way(3), way(2))
    assert ["held", "held", "OFF"] == states(way(1), way(1))
    assert ["held", "too few", "held"] == states(way(3), way(2, follows=False))
    assert ["too few"] * 3 == [figure.state for figure in figures([], 1)]
    assert Figure("", "", "too few").broken


def test_the_bootstrap_agrees_with_the_normal_law() -> None:
    """400 values, half of them 1 and half 2: 1.5 plus and minus 1.96 times 0.5 / 20 (central limit theorem)."""
    found = mean([1, 2] * 200, seed=4)

    assert pytest.approx(1.5) == found.found
    assert pytest.approx((1.451, 1.549), abs=0.008) == (found.low, found.high)


def test_a_seed_gives_the_same_installations() -> None:
    """The same seed and number, the same ways; another seed, others."""
    once, again, other = carried_out(4, 5, 60.0), carried_out(4, 5, 60.0), carried_out(4, 6, 60.0)

    assert once == again
    assert once != other


def test_a_small_campaign_holds(capsys: pytest.CaptureFixture[str]) -> None:
    """Thirty installations: the priors, three ways and three figures; exit code 0."""
    assert 0 == main(["--runs", "30"])
    told = capsys.readouterr().out

    assert 3 == len(re.findall(r"^held ", told, re.MULTILINE))
    assert all(f"  {name}" in told for name in WAYS)


def test_a_campaign_without_time_is_off() -> None:
    """Nothing was counted, so nothing held; it says so and crashes on nothing."""
    done = carried_out(5, 1, -1.0)

    assert [] == done
    assert lines(done, figures(done, 1), 1)[-1].startswith("too few")
