"""Filament, lever and contacts in simulated time."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fake_printer.filament import Filament
from fake_printer.plant import Contact, Lapses, Lever, Plant
from fake_printer.specs import ContactSpec, FilamentSpec, LeverSpec, PlantSpec
from tests.fake_printer.line import chance


def travel(plant: Plant, seconds: float) -> list[float]:
    """Let time pass in the plant's own steps; returns the front's position at each change of the lever."""
    changes, left_s = [], seconds
    while left_s > 0:
        before = plant.lever.pressed
        step_s = min(left_s, max(plant.until_next_s(), 1e-6))
        plant.advance(step_s)
        left_s -= step_s
        if plant.lever.pressed != before:
            changes.append(plant.filament.front_mm)
    return changes


def test_lever_has_hysteresis() -> None:
    """The lever moves at the trip point on the way in, and its hysteresis further back on the way out."""
    plant = Plant(PlantSpec(lever=LeverSpec(hysteresis_mm=2.5)), "0")
    plant.filament.insert()
    way_in = travel(plant, 1)
    plant.filament.withdraw()

    assert [pytest.approx(0, abs=1e-6)] == way_in
    assert [pytest.approx(-2.5, abs=1e-6)] == travel(plant, 1)


def test_hand_takes_its_time() -> None:
    """A hand's movement of 80 mm in 0.3 s reaches the trip point after 30/80 of it."""
    filament = Filament(FilamentSpec(out_mm=-30, in_mm=50, hand_move_s=0.3))
    filament.insert()

    assert pytest.approx(0.3 * 30 / 80) == filament.until_next_s((0.0,))


def test_zero_time_changes_nothing() -> None:
    """No time, no movement."""
    plant = Plant(PlantSpec(), "0")
    plant.filament.insert()
    plant.advance(0.0)

    assert plant.filament.front_mm == -30


def test_tail_leaves_the_sensor_when_drawn_on() -> None:
    """A cut filament that the gear draws on uncovers the trip point once its tail has passed."""
    filament = Filament(FilamentSpec(start="in"))
    filament.cut(10)
    filament.draw(9.9)

    assert filament.at_trip_point

    filament.draw(0.2)

    assert not filament.at_trip_point
    assert not filament.withdraw()


def test_gear_grips_only_what_reaches_it() -> None:
    """Filament that does not reach the gear is not moved by it."""
    filament = Filament(FilamentSpec(start="in", in_mm=30, trip_to_gear_mm=40))
    filament.draw(5)

    assert filament.front_mm == 30


def test_filament_is_used_up_at_the_nozzle() -> None:
    """The leading end stays at the nozzle while the tail comes nearer."""
    filament = Filament(FilamentSpec(start="in", trip_to_gear_mm=40, gear_to_nozzle_mm=60))
    filament.cut(1000)
    filament.draw(500)

    assert filament.front_mm == 100
    assert filament.tail_mm == -500


@given(st.integers(0, 10_000), st.floats(0.5, 200))
@settings(deadline=None, max_examples=100)
def test_bounce_ends_where_the_lever_put_it(seed: int, bounce_ms: float) -> None:
    """A contact chatters no longer than its bounce time and ends closed when the lever is pressed."""
    lever = Lever(LeverSpec(), Filament(FilamentSpec(start="in")), chance(0))
    contact = Contact(ContactSpec(bounce_ms=bounce_ms), chance(seed), lever_pressed=False)
    contact.follow(lever)
    contact.advance(bounce_ms / 1000)

    assert contact.closed
    assert contact.until_next_s() == float("inf")


def test_bounce_changes_the_contact_several_times() -> None:
    """Between the first touch and the last a contact opens at least twice."""
    lever = Lever(LeverSpec(), Filament(FilamentSpec(start="in")), chance(0))
    contact = Contact(ContactSpec(bounce_ms=10), chance(1), lever_pressed=False)
    contact.follow(lever)
    states = [contact.closed]
    while contact.until_next_s() < 1:
        contact.advance(contact.until_next_s())
        states.append(contact.closed)

    assert states.count(False) >= 2


def test_lapses_come_at_their_rate() -> None:
    """Lapses of 50 ms at 2 a second take about a tenth of the time: rate 2 / (1 + 2 x 0.05), share 1/11."""
    lapses = Lapses(2.0, 0.05, chance(5))
    open_ms = 0
    for _ in range(200_000):
        lapses.advance(0.001)
        open_ms += lapses.open

    assert pytest.approx(1 / 11, rel=0.1) == open_ms / 200_000


@given(st.integers(0, 1000), st.lists(st.floats(0.0005, 0.2), min_size=1, max_size=30))
@settings(deadline=None, max_examples=50)
def test_steps_do_not_matter(seed: int, parts: list[float]) -> None:
    """The plant comes to the same in one go and in many steps."""
    spec = PlantSpec(contacts=(ContactSpec(opens_per_s=3.0),))
    whole, stepped = Plant(spec, f"{seed}"), Plant(spec, f"{seed}")
    for plant in (whole, stepped):
        plant.filament.insert()
    travel(whole, sum(parts))
    for part in parts:
        travel(stepped, part)

    assert pytest.approx(whole.filament.front_mm, abs=1e-5) == stepped.filament.front_mm
    assert whole.contacts[0].until_next_s() == pytest.approx(stepped.contacts[0].until_next_s(), abs=1e-6)


def fed(lever: LeverSpec, told_mm: float, *, slips: float = 0.0, step_mm: float = 0.37) -> tuple[float, int]:
    """Filament that moved, and changes of a wheel, when the gear is told to feed so much in steps of any size."""
    plant = Plant(PlantSpec(filament=FilamentSpec(start="in", gear_slips=slips), lever=lever), "0")
    began_mm, changes, before = plant.filament.travelled_mm, 0, plant.lever.pressed
    for _ in range(round(told_mm / step_mm)):
        plant.filament.draw(step_mm)
        plant.settle()
        changes, before = changes + (plant.lever.pressed != before), plant.lever.pressed
    return plant.filament.travelled_mm - began_mm, changes


def test_gear_that_slips_moves_less() -> None:
    """Six tenths of every turn slip: 300 mm told are 120 mm of filament, and 40 changes of 3 mm."""
    moved_mm, changes = fed(LeverSpec(pulse_mm=3.0), 300, slips=0.6, step_mm=0.5)

    assert (pytest.approx(120), 40) == (moved_mm, changes)


def test_wheel_that_catches_stands_for_a_while() -> None:
    """After every ten changes of 3 mm it stands for 15 mm: 45 mm for ten, so that 180 mm make 40 and not 60."""
    moved_mm, changes = fed(LeverSpec(pulse_mm=3.0, catches_after=10, catches_mm=15.0), 180, step_mm=0.01)

    assert (pytest.approx(180), 40) == (moved_mm, changes)


def test_a_wheel_that_stands_wakes_nobody_until_it_turns_again() -> None:
    """Caught at its tenth change, 3 mm each, it lets 15 mm slide and changes after 3 mm more: one step of 18 mm."""
    lever = LeverSpec(pulse_mm=3.0, catches_after=10, catches_mm=15.0)
    plant = Plant(PlantSpec(filament=FilamentSpec(start="in"), lever=lever), "0")
    plant.filament.draw(30.0)
    plant.settle()

    assert pytest.approx(18.0) == plant.until_next_s(drawing_mm_s=1.0, watched=True)
