"""The campaign's people: how quick, how often wrong, and what they can and cannot see."""

from collections import Counter
from dataclasses import replace
from statistics import quantiles

import pytest

from scripts.commissioning.chance import chance_of
from scripts.commissioning.circuit import Link
from scripts.commissioning.hands import Errand, Hands, Look, Standing, Stopped
from scripts.commissioning.person import LATE_S, Cheat, Habits, Person, Plug, Power, Prompt
from scripts.commissioning.plant import Plant, beats
from scripts.commissioning.unit import Unit

INSERT = Prompt(inside=True, leave=False, countdown_s=5.0, readings=21, dwell_s=2.0, shown=True)
LEAVE = replace(INSERT, leave=True)
BLIND = replace(INSERT, shown=False)
MOVED = replace(INSERT, voidable=False)
LOOK = Look(beats(21, 0.1), 21, lambda _found: True)
UNPLUG, LEAVE_OFF = Errand(Link.OFF_AT_BOARD, power_up=1), Errand(power_up=2)
RECONNECT = Errand(Link.ON, inside=True)
TRIES = 20_000


def person(habits: Habits, seed: int = 4) -> Person:
    """A person with these habits."""
    return Person(habits, chance_of(seed))


def hands(habits: Habits, unit: Unit | None = None, seed: int = 4) -> Hands:
    """The same at a unit; sound where none is named."""
    chance = chance_of(seed)
    return Hands(Plant(Unit() if unit is None else unit, chance), Person(habits, chance))


def test_reactions_have_the_stated_percentiles() -> None:
    """The median is 0.9 s and the 95th percentile 2 s, each within 3 %."""
    free = person(Habits(keeps_up=False))
    found = quantiles([free.reaction_s() for _ in range(TRIES)], n=20)

    assert 0.9 == pytest.approx(found[9], rel=0.03)
    assert 2.0 == pytest.approx(found[18], rel=0.03)


def test_who_keeps_up_is_never_late() -> None:
    """Even with a countdown as short as 1 s the filament has moved before the dwell; else one hand in three is late."""
    short = replace(INSERT, countdown_s=1.0)
    late = [
        sum(one.act(short).at_s >= 1.0 for _ in range(2000))
        for one in (person(Habits()), person(Habits(keeps_up=False)))
    ]

    assert 0 == late[0]
    assert 600 < late[1] < 1000


def test_slips_come_as_often_as_said() -> None:
    """At 3 % about three prompts in a hundred are not followed in time."""
    clumsy = person(Habits(slips=0.03))
    acts = [clumsy.act(INSERT) for _ in range(TRIES)]
    followed = sum(act.inside is True and act.at_s < INSERT.countdown_s for act in acts)

    assert 0.03 == pytest.approx(1 - followed / TRIES, abs=0.005)


def test_each_slip_is_what_it_says() -> None:
    """All slips: nothing done, the opposite, late by 0.3 to 1.5 s, and a void only once the dwell has begun."""
    always = person(Habits(slips=1.0))
    acts = [always.act(INSERT) for _ in range(4000)]
    late_s = [act.at_s - INSERT.countdown_s for act in acts if act.inside is True]
    void_s = [act.void_s - INSERT.countdown_s for act in acts if act.void_s is not None]

    assert {True: 1000, False: 1000, None: 2000} == pytest.approx(Counter(act.inside for act in acts), rel=0.12)
    assert LATE_S[0] <= min(late_s) <= max(late_s) <= LATE_S[1]
    assert len(void_s) == pytest.approx(1000, rel=0.12)
    assert 0 <= min(void_s) <= max(void_s) <= INSERT.dwell_s


def test_a_slip_at_leave_it_moves_the_filament() -> None:
    """Who does nothing there does right; the slip is to move it."""
    assert person(Habits(slips=1.0)).act(LEAVE).inside is False
    assert person(Habits()).act(LEAVE).inside is None


def test_slips_can_be_kept_to_in_and_out() -> None:
    """With slips at in and out prompts only, leave-it prompts and plugs are followed without any."""
    found = hands(Habits(slips=1.0, in_out_only=True))
    found.power_off(UNPLUG)

    assert found.person.act(LEAVE).inside is None
    assert found.person.act(INSERT) != found.person.act(INSERT)
    assert (Link.OFF_AT_BOARD, 2) == (found.plant.link, found.plant.power_ups)


@pytest.mark.parametrize("cheat", [Cheat.VOID, Cheat.STOP])
def test_after_the_dwell_everybody_sees(cheat: Cheat) -> None:
    """A trick that waits for the end of the dwell needs no lamp, and no reading on the screen before."""
    one = person(Habits(cheat=cheat))

    assert one.stops(BLIND, [False]) or one.void_s(BLIND, [True], [False]) is not None


@pytest.mark.parametrize("cheat", [Cheat.VOID_EARLY, Cheat.WAIT])
def test_a_trick_needs_a_reading_that_is_seen(cheat: Cheat) -> None:
    """Where the screen hides the reading before the dwell a trick does nothing, unless the sensor has a lamp."""
    bad = [False] * 21
    for prompt, lamp, tricked in ((INSERT, False, True), (BLIND, False, False), (BLIND, True, True)):
        one = person(Habits(cheat=cheat, lamp=lamp))
        done = (one.waits(prompt, bad), one.void_s(prompt, bad, bad) is not None, one.stops(prompt, bad))

        assert tricked is any(done)


@pytest.mark.parametrize(("cheat", "before_the_dwell"), [(Cheat.VOID, False), (Cheat.VOID_EARLY, True)])
def test_a_void_is_spoken_early_or_late(cheat: Cheat, *, before_the_dwell: bool) -> None:
    """One who waits for the dwell speaks when it has begun; the other one has spoken before."""
    void_s = person(Habits(cheat=cheat)).void_s(INSERT, [False], [False])

    assert void_s is not None
    assert before_the_dwell is (void_s < INSERT.countdown_s)


def test_honest_people_use_no_tricks() -> None:
    """Whatever reads wrong, nothing is voided, held or stopped."""
    honest = person(Habits(lamp=True))
    bad = [False] * 21

    assert (False, None, False) == (
        honest.waits(INSERT, bad),
        honest.void_s(INSERT, bad, bad),
        honest.stops(INSERT, bad),
    )


def test_who_waits_gets_a_better_reading() -> None:
    """A lever that sticks in half of all insertions reads in at the end of nearly every prompt that may be held."""
    found = {}
    for cheat in (Cheat.NONE, Cheat.WAIT):
        one = hands(Habits(cheat=cheat), Unit(sticks_in=0.5))
        wrong = 0
        for _ in range(300):
            one.plant.move(inside=False)
            one.plant.pass_s(1.0)
            wrong += not all(one.follow(INSERT).dwell)
        found[cheat] = wrong

    assert 100 < found[Cheat.NONE] < 200
    assert found[Cheat.WAIT] < 20


def test_who_stops_has_seen_a_misread() -> None:
    """A unit that never reads in ends the run at its first prompt to insert."""
    with pytest.raises(Stopped):
        hands(Habits(cheat=Cheat.STOP), Unit(reached=False)).follow(INSERT)


@pytest.mark.parametrize("plug", Plug)
def test_only_the_right_plug_unplugs_the_sensor(plug: Plug) -> None:
    """Another plug, or none, leaves the sensor on its input, though the power was off."""
    found = hands(Habits(pulls=plug))
    found.power_off(UNPLUG)

    assert (plug is Plug.RIGHT) is (found.plant.link is Link.OFF_AT_BOARD)
    assert 2 == found.plant.power_ups


@pytest.mark.parametrize(
    ("power", "starts", "port_gone"), [(Power.OFF, 2, True), (Power.USB_ONLY, 1, True), (Power.KEPT, 1, False)]
)
def test_a_power_off_shows_in_port_and_start(power: Power, starts: int, *, port_gone: bool) -> None:
    """Only with both out the board starts anew; with USB alone the port goes, and a banner may come all the same."""
    plain, restarting = hands(Habits(powers=power)), hands(Habits(powers=power), Unit(restarts_on_opening=True))
    quiet, loud = plain.power_off(UNPLUG), restarting.power_off(UNPLUG)

    assert (starts, port_gone, starts == 2) == (plain.plant.power_ups, quiet.port_gone, quiet.banner)
    assert loud.banner


def hung(habits: Habits, *errands: Errand) -> Link:
    """Where the cable hangs after these errands."""
    found = hands(habits)
    for errand in errands:
        found.power_off(errand)
    return found.plant.link


@pytest.mark.parametrize("plug", [Plug.WRONG, Plug.NONE])
@pytest.mark.parametrize(("at", "first", "second"), [((1,), 0, 0), ((2,), 1, 0), ((1, 2), 0, 0), ((), 1, 1)])
def test_a_wrong_plug_can_be_pulled_in_either(plug: Plug, at: tuple[int, ...], first: int, second: int) -> None:
    """In the first power-up the sensor stays plugged in; in the second it stays so or is plugged in again."""
    habits = Habits(pulls=plug, pulls_at=frozenset(at))

    assert bool(first) is (hung(habits, UNPLUG) is Link.OFF_AT_BOARD)
    assert bool(second) is (hung(habits, UNPLUG, LEAVE_OFF) is Link.OFF_AT_BOARD)


@pytest.mark.parametrize("finds_it", [True, False])
def test_who_is_told_may_find_the_plug(*, finds_it: bool) -> None:
    """Told that it was another plug, one person pulls the sensor's, and the other pulls the same again."""
    habits = Habits(pulls=Plug.WRONG, finds_it=finds_it)

    assert Link.ON is hung(habits, UNPLUG)
    assert finds_it is (hung(habits, UNPLUG, replace(UNPLUG, told=True)) is Link.OFF_AT_BOARD)


def test_the_filament_goes_where_the_steps_say() -> None:
    """Who takes it out unasked does so where nothing is said of it, and puts it in where that is asked."""
    found = hands(Habits(takes_out=True))
    found.place(inside=True)
    found.power_off(UNPLUG)
    unasked = found.plant.inside
    found.power_off(RECONNECT)

    assert (False, True) == (unasked, found.plant.inside)


@pytest.mark.parametrize(
    ("errand", "expected"),
    [
        # link, filament and power-ups after each slip that fits; each as often as the others
        (UNPLUG, {("plugged in", False, 1), ("plugged in", False, 2), ("off at the board", False, 1)}),
        (LEAVE_OFF, {("off at the board", False, 1), ("plugged in", False, 2)}),
        (
            RECONNECT,
            {("off at the board", False, 1), ("off at the board", True, 2), ("plugged in", False, 2)}
            | {("plugged in", True, 1)},
        ),
    ],
    ids=["unplug", "leave it off", "reconnect"],
)
def test_every_slip_at_a_power_off_happens(errand: Errand, expected: set[tuple[str, bool, int]]) -> None:
    """Nothing done, another plug, not plugged in again, filament not put in, power left on: whatever fits."""
    after = set()
    for seed in range(60):
        found = hands(Habits(slips=1.0), seed=seed)
        found.plant.move(inside=False)
        found.plant.link = Link.ON if errand is UNPLUG else Link.OFF_AT_BOARD
        found.power_off(errand)
        after.add((str(found.plant.link), found.plant.inside, found.plant.power_ups))

    assert expected == after


def test_a_move_is_through_before_it_is_read() -> None:
    """Without a slip every reading after the countdown shows the filament where the prompt put it."""
    found = hands(Habits())
    read = [found.move(replace(MOVED, inside=inside), LOOK) for inside in (True, False, True, False)]

    assert [[True] * 21, [False] * 21] * 2 == read


def test_slips_happen_at_the_moves_too() -> None:
    """One in three does nothing, one moves it the other way, one is late; none can be declared spoilt."""
    always = person(Habits(slips=1.0))
    acts = [always.act(MOVED) for _ in range(3000)]
    late = [act for act in acts if act.inside is True]

    assert {True: 1000, False: 1000, None: 1000} == pytest.approx(Counter(act.inside for act in acts), rel=0.12)
    assert all(act.at_s > MOVED.countdown_s for act in late)
    assert {None} == {act.void_s for act in acts}


def test_who_never_moves_leaves_the_reading() -> None:
    """One who only waits at the moves reads the same through all of them, with the sensor plugged in."""
    found = hands(Habits(moves=False))
    found.plant.move(inside=False)
    found.plant.pass_s(1.0)

    assert not any(any(found.move(replace(MOVED, inside=inside), LOOK)) for inside in (True, False, True, False))


def test_a_run_can_be_broken_off_at_a_move() -> None:
    """Who ends the run at every prompt ends it there as well."""
    with pytest.raises(Stopped):
        hands(Habits(breaks_off=1.0)).move(MOVED, LOOK)


@pytest.mark.parametrize(
    ("link", "inside", "standing"),
    [
        (Link.ON, True, Standing.RIGHT),
        (Link.ON, False, Standing.PUT),
        (Link.OFF_AT_BOARD, True, Standing.UNPLUGGED),
        (Link.OFF_AT_SENSOR, False, Standing.UNPLUGGED),
    ],
)
def test_a_second_look_says_what_is_so(link: Link, standing: Standing, *, inside: bool) -> None:
    """A plug that is out is said; filament that is out is put in; who slips says that all is right, and leaves it."""
    for habits, said in ((Habits(), standing), (Habits(slips=1.0), Standing.RIGHT)):
        found = hands(habits)
        found.plant.move(inside=inside)
        found.plant.link = link

        assert said is found.looks_again(inside=True)
        assert (said is Standing.PUT or inside) is found.plant.inside
        assert link is found.plant.link


def test_a_plug_is_seen_unless_one_slips() -> None:
    """Asked whether the sensor is plugged in, a person says so; a slip is to say the opposite."""
    for slips in (0.0, 1.0):
        found = hands(Habits(slips=slips))
        said = found.sees_plugged_in()
        found.plant.link = Link.OFF_AT_BOARD

        assert (said, found.sees_plugged_in()) == (slips == 0.0, slips == 1.0)
