"""The reserve: worked examples of the trade (common practice, no source), and published volumes."""

import json
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.judge.pause_length import pause_agrees
from commission.judge.reserve import Path, chosen_leftover_mm, reserve
from commission.judge.volume import (
    Bead,
    Queue,
    cross_section_mm2,
    line_mm,
    long_moves,
    queue_of_moves,
    usual_moves,
)

FINE = Bead(0.45, 0.2)


def still(*lengths: float | None, queue_mm: float = 5.0, **others: float | None) -> Path:
    """A path of a job without retractions, as the trade's worked examples have it: A, B, H, Q, G, D in this order."""
    names = ("trip_to_gear_mm", "gear_to_nozzle_mm", "trip_uncertainty_mm", "queue_mm", "grip_mm", "leftover_mm")
    given = {"queue_mm": queue_mm, "retract_mm": 0.0, **dict(zip(names, lengths, strict=False)), **others}
    return Path(queue=Queue(float(given.pop("queue_mm") or 0.0), "a queue as given"), **given)  # type: ignore[arg-type]


def test_direct_drive_with_room_takes_the_usual_leftover() -> None:
    """A 40, H 3, Q 3, G 12 allows 22 mm; 20 are set and the pause comes after 10 to 12 s at 5 mm³/s."""
    found = reserve(still(40, trip_uncertainty_mm=3, queue_mm=3, grip_mm=12))

    assert (22, 20, 2, False) == (found.leftover_max_mm, found.leftover_mm, found.margin_mm, found.refused)
    assert 10 < found.pause_after_s < 12
    assert 48 == round(20 * cross_section_mm2(1.75))
    assert 590 == pytest.approx(20 * cross_section_mm2(1.75) / FINE.section_mm2, abs=2)


def test_a_sensor_at_the_inlet_with_the_shipped_leftover_is_refused() -> None:
    """A 12 with D 25 allows -6 mm, prints 16 mm of air (19 at the worst trip point), and is refused with cures."""
    found = reserve(still(12, trip_uncertainty_mm=3, queue_mm=3, grip_mm=12, leftover_mm=25))

    assert (-6, -31, True) == (found.leftover_max_mm, found.margin_mm, found.refused)
    assert 16 == found.air_mm - 3
    assert found.reasons[0].startswith("Refused: a leftover of 25.0 mm needs 43.0 mm")
    assert ["Cure 1", "Cure 2", "Cure 3"] == [reason[:6] for reason in found.reasons[1:4]]


@pytest.mark.parametrize(
    ("to_gear", "said"),
    [
        # 5 + 5 + 3 mm are used up: with 13 mm none is missing, the grip of 12 mm alone is
        (13, "Cure 3: accept that the gear may not hold the tail any more, so that it must be pushed out."),
        (12, "print with no filament left, with this leftover (0.0 mm with none)."),
        (12.5, "print with no filament left, with this leftover (0.0 mm with none)."),
        (6, "print with no filament left, with this leftover (2.0 mm with none)."),
    ],
)
def test_the_last_cure_tells_what_is_accepted(to_gear: float, said: str) -> None:
    """Filament printed from nothing is told with and without a leftover; where none is missing only the grip is."""
    cure = reserve(still(to_gear, leftover_mm=5)).reasons[3]

    assert cure.startswith("Cure 3: accept that ")
    assert cure.endswith(said)


def test_a_sensor_at_the_inlet_is_refused_without_a_leftover_too() -> None:
    """Where even no leftover leaves too little, none is chosen and the way out is to move the sensor by 30 mm."""
    found = reserve(still(12, trip_uncertainty_mm=3, queue_mm=3, grip_mm=12))

    assert (0, -6, True) == (found.leftover_mm, found.margin_mm, found.refused)
    assert (
        "Cure 2: move the sensor to at least 30.0 mm above the gear (18.0 mm would do for these lengths; 30.0 mm leave "
        "room to pull a tail back)." in found.reasons
    )


@pytest.mark.parametrize(("leftover", "to_nozzle", "reach"), [(600, 50, -555), (20, 50, 25), (20, 400, 375)])
def test_a_sensor_at_the_spool_hides_the_tail_with_a_long_leftover(
    leftover: float, to_nozzle: float, reach: float
) -> None:
    """A 700, H 5, Q 5, G 15: the reach after unloading shrinks with the leftover until the tail is hidden."""
    found = reserve(still(700, to_nozzle, 5, 5, 15, leftover_mm=leftover))

    assert (675, reach, False) == (found.leftover_max_mm, found.reach_mm, found.refused)
    assert (reach < 0) == any("hidden in the path" in reason for reason in found.reasons)


def test_a_long_queue_takes_from_the_leftover() -> None:
    """With long lines in the queue (Q 55) the same sensor at the spool allows 625 mm."""
    assert 625 == still(700, 50, 5, 55, 15).leftover_max_mm


def test_a_long_leftover_pauses_minutes_later() -> None:
    """A leftover of 600 mm holds 1443 mm³, and the pause comes 2.4 to 5 minutes after the trip."""
    assert 1443 == round(600 * cross_section_mm2(1.75))
    fast, slow = (reserve(still(700, queue_mm=5, leftover_mm=600, flow_mm3_s=flow)) for flow in (10, 5))
    assert 2.4 == pytest.approx(fast.pause_after_s / 60, abs=0.05)
    assert 5 == pytest.approx(slow.pause_after_s / 60, abs=0.2)


def test_a_tight_path_takes_a_small_leftover() -> None:
    """A 25, G 12, H 3, Q 3 allows 7 mm and 5 are set."""
    found = reserve(still(25, queue_mm=3))

    assert (7, 5) == (found.leftover_max_mm, found.leftover_mm)


def test_thick_filament_lasts_longer() -> None:
    """30 mm of 2.85 mm filament at 10 mm³/s last 19 s."""
    assert 19 == round(reserve(still(80, queue_mm=0, leftover_mm=30, diameter_mm=2.85, flow_mm3_s=10)).pause_after_s)


def test_the_time_limit_is_twice_the_prediction_and_ten_seconds() -> None:
    """A test waits 2 (D + Q) / v + 10 s."""
    found = reserve(still(40, queue_mm=3))

    assert 2 * 23 / (5 / cross_section_mm2(1.75)) + 10 == pytest.approx(found.time_limit_s)


@pytest.mark.parametrize(
    ("largest", "expected"),
    [(40, 20), (22, 20), (20, 20), (19.9, 15), (7, 5), (5, 5), (4.9, 4), (3.9, 3), (0.5, 0), (0, 0), (-6, 0)],
)
def test_the_chosen_leftover_is_a_round_number_that_fits(largest: float, expected: float) -> None:
    """The leftover chosen is at most 20 mm, fits, and is whole 5 mm or, below that, whole millimetres."""
    assert expected == chosen_leftover_mm(largest)


def test_decimals_do_not_refuse_an_exact_fit() -> None:
    """A leftover equal to the largest is not refused because decimals do not subtract exactly."""
    found = reserve(still(35.3, trip_uncertainty_mm=3.1, queue_mm=3, grip_mm=12.1, leftover_mm=17.1))

    assert (0, False) == (found.margin_mm, found.refused)


@pytest.mark.parametrize(
    ("diameter", "area"),
    # fabbaloo.com 2018-12-19 prints 2.405 cm³ per metre of 1.75 mm filament; the second is recomputed
    [(1.75, 2.405), (2.85, 6.379)],
)
def test_cross_sections_are_the_published_ones(diameter: float, area: float) -> None:
    """The cross-section equals the published figure to its last digit."""
    assert area == pytest.approx(cross_section_mm2(diameter), abs=5e-4)


def test_a_published_length_for_a_volume_is_met() -> None:
    """11.4 cm³ are 178.7 cm of 2.85 mm filament (fabbaloo.com 2018-12-19)."""
    assert 178.7 == pytest.approx(11.4e3 / cross_section_mm2(2.85) / 10, abs=0.05)


@pytest.mark.parametrize(
    ("diameter", "flow", "speed"),
    [
        (1.75, 1, 0.4158),
        (1.75, 5, 2.0788),
        (1.75, 10, 4.1575),
        (1.75, 15, 6.2363),
        (1.75, 24, 9.9780),
        (2.85, 10, 1.5675),
    ],
)
def test_flow_and_diameter_give_the_speed(diameter: float, flow: float, speed: float) -> None:
    """The filament speed is flow over cross-section (recomputed independently)."""
    assert speed == pytest.approx(still(40, diameter_mm=diameter, flow_mm3_s=flow).speed_mm_s, abs=5e-5)


@pytest.mark.parametrize(
    ("width", "height", "per_mm", "queues"),
    # common practice, no source: filament per mm of path, and in 16 moves of 1, 5, 20 and 100 mm
    [
        (0.45, 0.20, 0.034, (0.5, 2.7, 11, 54)),
        (0.66, 0.30, 0.074, (1.2, 6, 24, 119)),
        (0.90, 0.40, 0.135, (2, 11, 43, 217)),
    ],
)
def test_queues_hold_what_their_moves_extrude(
    width: float, height: float, per_mm: float, queues: tuple[float, ...]
) -> None:
    """Sixteen moves of a bead with round ends hold the filament the trade's table says."""
    assert per_mm == pytest.approx(Bead(width, height).section_mm2 / cross_section_mm2(1.75), abs=5e-4)
    for move, queue in zip((1, 5, 20, 100), queues, strict=True):
        assert queue == pytest.approx(
            queue_of_moves(Bead(width, height), move).filament_mm, abs=0.6 if queue >= 10 else 0.3
        )


@pytest.mark.parametrize(("nozzle", "queue"), [(0.25, 5), (0.4, 5), (0.6, 25), (0.8, 45), (1.0, 45)])
def test_a_nozzle_has_a_usual_queue(nozzle: float, queue: float) -> None:
    """Without a known job the queue is 5, 25 or 45 mm by the nozzle."""
    assert queue == usual_moves(nozzle).filament_mm


@pytest.mark.parametrize(
    ("unload", "load", "word"),
    [
        (55, None, "does not free the gear"),
        (0, None, "pushes the tail out"),
        (None, 45, "rams filament"),
        (None, 15, "too early to prime"),
    ],
)
def test_unload_and_load_are_held_against_the_geometry(unload: float | None, load: float | None, word: str) -> None:
    """With the gear 50 mm above the nozzle, each unsuitable length is named and none of them refuses."""
    found = reserve(still(60, 50, unload_mm=unload, load_mm=load))

    assert any(word in reason for reason in found.reasons)
    assert not found.refused


def test_suitable_lengths_need_no_word() -> None:
    """An unload of B + 10 and a fast load between B - 30 and B - 10 give no reason."""
    assert () == reserve(still(60, 50, queue_mm=3, unload_mm=60, load_mm=30)).reasons


def test_a_short_tail_is_mentioned() -> None:
    """A tail of less than 20 mm beyond the trip point is said to be hard to grip."""
    assert any("can be gripped" in reason for reason in reserve(still(60, 35)).reasons)


@pytest.mark.parametrize(
    "broken", [{"trip_to_gear_mm": -1}, {"retract_mm": math.nan}, {"diameter_mm": 0}, {"flow_mm3_s": math.inf}]
)
def test_lengths_that_cannot_be_are_refused_by_name(broken: dict[str, float]) -> None:
    """A negative, infinite or missing number is an error that names the field and what to do."""
    with pytest.raises(ValueError, match=f"{next(iter(broken))} must be a number .*measure it again"):
        still(**{"trip_to_gear_mm": 40, **broken})


def test_beads_moves_and_nozzles_that_cannot_be_are_refused() -> None:
    """A bead higher than wide, a move below 0 mm and a closed nozzle are errors."""
    with pytest.raises(ValueError, match="at least as wide as high"):
        Bead(0.2, 0.4)
    with pytest.raises(ValueError, match="A queue needs"):
        queue_of_moves(Bead(0.4, 0.2), -1)
    with pytest.raises(ValueError, match="nozzle has a bore"):
        usual_moves(0)
    with pytest.raises(ValueError, match="whole number of moves"):
        queue_of_moves(FINE, 20, blocks=16.5)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="0 mm of filament or more"):
        Queue(math.nan, "a queue as given")


def test_the_smallest_queues_and_beads_are_taken() -> None:
    """No move at all, half a millimetre and thin filament are a queue: moves times bead by filament, by hand."""
    assert 0 == queue_of_moves(FINE, 20, blocks=0).filament_mm
    assert 0 == queue_of_moves(FINE, 0).filament_mm
    thin = queue_of_moves(Bead(0.2, 0.2), 0.5, diameter_mm=0.8, blocks=1)
    assert 0.5 * (0.2 / 0.8) ** 2 == pytest.approx(thin.filament_mm)
    with pytest.raises(ValueError, match="A queue needs"):
        queue_of_moves(FINE, 20, diameter_mm=0)


def test_json_holds_every_number_by_name() -> None:
    """The JSON form survives a round trip and has the fields a machine asks for."""
    found = json.loads(json.dumps(reserve(still(40, queue_mm=3)).as_json()))

    assert {
        "leftover_max_mm",
        "leftover_mm",
        "margin_mm",
        "pause_after_mm",
        "pause_after_s",
        "time_limit_s",
        "refused",
        "reasons",
    } <= set(found)


@settings(deadline=None, max_examples=100)
@given(*[st.floats(0, 1000)] * 4, st.none() | st.floats(0, 1000))
def test_what_is_not_refused_never_prints_air(
    to_gear: float, uncertainty: float, queue: float, grip: float, leftover: float | None
) -> None:
    """An accepted leftover keeps D + Q + H within A; a refusal always comes with a reason and three cures."""
    found = reserve(still(to_gear, None, uncertainty, queue, grip, leftover))

    if found.refused:
        assert len(found.reasons) >= 4
        assert found.leftover_mm > found.leftover_max_mm
    else:
        assert 0 == pytest.approx(found.air_mm, abs=1e-8)


@pytest.mark.parametrize(
    ("measured", "expected"), [(23, True), (25.4, True), (25.5, False), (20.6, True), (20.4, False)]
)
def test_a_measured_pause_agrees_within_a_block_and_a_gap(measured: float, expected: bool) -> None:
    """A pause predicted at 23 mm agrees within one block of 2 mm and the way of one gap at 2 mm/s."""
    assert expected is pause_agrees(23, measured, block_mm=2, speed_mm_s=2.05, gap_s=0.22)


def test_a_pause_that_was_not_measured_is_an_error() -> None:
    """A length that is no number cannot agree."""
    for impossible in (math.nan, math.inf, -1):
        with pytest.raises(ValueError, match="numbers from 0 up"):
            pause_agrees(23, impossible, block_mm=2, speed_mm_s=2, gap_s=0.2)


def test_a_pause_at_the_limit_agrees() -> None:
    """25.5 mm are 23 mm, a move of 2 mm and 0.25 s at 2 mm/s; nothing predicted and nothing measured agree as well."""
    assert pause_agrees(23, 25.5, block_mm=2, speed_mm_s=2, gap_s=0.25)
    assert pause_agrees(0, 0, block_mm=0, speed_mm_s=0, gap_s=0)


def test_a_retraction_over_the_trip_point_counts_the_leftover_anew() -> None:
    """A 40, H 3, Q 3, G 12 and retractions of 6 mm: the tail is fed 6 mm again, so 16 mm fit and not 22."""
    found = reserve(still(40, queue_mm=3, leftover_mm=20, retract_mm=6))
    with_none = reserve(still(20, queue_mm=3, retract_mm=6))

    assert (16, True, -4) == (found.leftover_max_mm, found.refused, found.margin_mm)
    assert (23, 29) == (found.pause_after_mm, found.latest_mm)
    assert any("count the leftover anew" in said and "29.0 mm at the latest" in said for said in found.assumes)
    assert (0, 0, False) == (with_none.leftover_max_mm, with_none.leftover_mm, with_none.refused)


@pytest.mark.parametrize("seed", range(40))
def test_no_simulated_tail_stops_later_than_reckoned(seed: int) -> None:
    """A tail fed in small steps and pulled back at random, counted as the printer counts, never goes further."""
    chance = random.Random(seed)  # noqa: S311 - a simulation that can be repeated
    leftover, retraction, hysteresis = chance.uniform(1, 30), chance.uniform(0, 8), chance.uniform(0, 3)
    tail = counted = 0.0
    while counted < leftover:
        step = chance.uniform(0.01, 0.1)
        tail, counted = tail + step, counted + step
        if chance.random() < 0.2 and tail - retraction <= -hysteresis * chance.random():
            counted = 0.0  # seen again while it was back; what is put back afterwards is not counted
    reckoned = still(100, None, 3, 0, 0, leftover, retract_mm=retraction)

    assert tail <= reserve(reckoned).latest_mm + 0.1


def test_without_unloading_no_grip_is_kept() -> None:
    """Where new filament pushes the tail on, the gear pulls at nothing: G is not demanded."""
    pulled, pushed = (reserve(still(30, queue_mm=5, leftover_mm=15, unload_mm=unload)) for unload in (60.0, 0.0))

    assert (True, False) == (pulled.refused, pushed.refused)
    assert (10, 22) == (pulled.leftover_max_mm, pushed.leftover_max_mm)


def test_the_verdict_names_the_job_it_is_reckoned_for() -> None:
    """Nothing said of the job: short moves are assumed and named, and what long straight moves come to is told."""
    found = reserve(Path(40, leftover_mm=15))

    assert not found.refused
    assert "Reckoned for this job: 16 queued moves of about 9 mm" in found.assumes[0]
    assert (
        "With long straight moves (16 queued moves of 100 mm with a bead of 0.45 x 0.20 mm; 54.2 mm of filament) up to "
        "37.2 mm of filament, 1.1 m of line, print with no filament left." == found.assumes[-1]
    )


@pytest.mark.parametrize(
    ("to_gear", "said"), [(40, "print with no filament left"), (85, "may not hold the tail"), (100, "fits as well")]
)
def test_long_straight_moves_are_held_against_the_path(to_gear: float, said: str) -> None:
    """The same path is held against 54 mm of queue: too much for it, too much to pull out, or enough room."""
    assert said in reserve(Path(to_gear, leftover_mm=15)).assumes[-1]


def test_long_straight_moves_hold_54_millimetres() -> None:
    """16 moves of 100 mm at 0.45 by 0.20 mm (common practice, no source), and so much line prints from nothing."""
    assert 54 == round(long_moves().filament_mm)
    assert 1600 == pytest.approx(line_mm(long_moves().filament_mm, FINE))


@pytest.mark.parametrize(
    ("lengths", "said"),
    # the gear 50 mm above the nozzle and 25 mm used up by the pause unless said otherwise: common practice, no source
    [
        ({"gear_to_nozzle_mm": 45}, ""),
        ({"gear_to_nozzle_mm": 44.9}, "After unloading only 19.9 mm of tail stand on the spool side of the trip point"),
        ({"gear_to_nozzle_mm": 25.5}, "After unloading only 0.5 mm of tail stand"),
        ({"gear_to_nozzle_mm": 25}, "After unloading only 0.0 mm of tail stand"),
        ({"gear_to_nozzle_mm": 24.9}, "After unloading the tail ends 0.1 mm short of the trip point"),
        ({"unload_mm": 60}, ""),
        ({"unload_mm": 59.9}, "An unload of 59.9 mm does not free the gear: it takes at least 60.0 mm."),
        ({"unload_mm": 1}, "An unload of 1.0 mm does not free the gear: it takes at least 60.0 mm."),
        ({"load_mm": 40}, ""),
        ({"load_mm": 40.1}, "A fast load of 40.1 mm rams filament into the melt: at most 40.0 mm."),
        ({"load_mm": 20}, ""),
        ({"load_mm": 19.9}, "A fast load of 19.9 mm ends too early to prime: at least 20.0 mm."),
        ({"load_mm": 0.5, "gear_to_nozzle_mm": 30, "leftover_mm": 0}, ""),
        ({"load_mm": 0.5, "gear_to_nozzle_mm": 5, "leftover_mm": 0}, "After unloading only 0.0 mm of tail stand"),
    ],
)
def test_a_length_at_its_limit_suits(lengths: dict[str, float], said: str) -> None:
    """What is just enough is not spoken of; what is a tenth of a millimetre beyond it is, with the limit."""
    reasons = reserve(still(80, **{"gear_to_nozzle_mm": 50, "leftover_mm": 20, **lengths})).reasons

    assert bool(said) == bool(reasons)
    assert "".join(reasons[:1]).startswith(said)


@pytest.mark.parametrize(
    ("to_gear", "leftover", "first", "second"),
    # Q 5, H 3 and G 12: 20 mm and the leftover are needed
    [
        (25, 10, "set a leftover distance of at most 5.0 mm.", "move the sensor to at least 30.0 mm above the gear."),
        (20.5, 11, "set a leftover distance of at most 0.5 mm.", "move the sensor to at least 31.0 mm above the gear."),
        (20, 5, "set leftover 0, then it fits.", "25.0 mm would do for these lengths; 30.0 mm leave room"),
        (19, 5, "set leftover 0, and do 2 or 3 as well.", "25.0 mm would do for these lengths; 30.0 mm leave room"),
    ],
)
def test_the_cures_of_a_refusal_fit(to_gear: float, leftover: float, first: str, second: str) -> None:
    """The first cure tells the largest leftover, or that even none is too much; the second where the sensor goes."""
    cures = reserve(still(to_gear, leftover_mm=leftover)).reasons[1:3]

    assert f"Cure 1: {first}" == cures[0]
    assert second in cures[1]


def test_a_job_of_long_moves_is_not_told_of_them_again() -> None:
    """Where the job itself has the hardest queue, what a harder one would come to is left out."""
    assert not any("long straight moves" in said for said in reserve(Path(120, queue=long_moves())).assumes)


@pytest.mark.parametrize(
    ("to_gear", "said"),
    # D 5, the harder queue 10, H 3 and G 12: 18 mm are used up and 30 are needed
    [
        (30, "it fits as well."),
        (29.9, "the gear may not hold the tail any more."),
        (18, "the gear may not hold the tail any more."),
        (17.5, "up to 0.5 mm of filament, 0.0 m of line, print with no filament left."),
    ],
)
def test_a_harder_job_that_just_fits_fits(to_gear: float, said: str) -> None:
    """The harder job is held against the same path to the tenth of a millimetre."""
    path = Path(to_gear, leftover_mm=5, retract_mm=0, harder=Queue(10, "a harder queue"))

    assert f"With long straight moves (a harder queue; 10.0 mm of filament) {said}" == reserve(path).assumes[-1]


def test_line_from_nothing_is_told_in_metres() -> None:
    """100 m of a bead 0.45 by 0.20 mm with round ends are 3384 mm of filament: area and bead recomputed by hand."""
    section_mm2 = 0.25 * 0.20 + math.pi * 0.10**2
    filament_mm = 100_000 * section_mm2 / (math.pi * 0.875**2)
    path = Path(8, retract_mm=0, grip_mm=0, leftover_mm=0, harder=Queue(5 + filament_mm, "a harder queue", FINE))

    assert 3384 == int(filament_mm)
    assert ", 100.0 m of line, " in reserve(path).assumes[-1]


def test_without_any_word_the_usual_lengths_are_taken() -> None:
    """Of 40 mm usual moves take 5, the trip point 3, the grip 12, a retraction 5; 5 mm³/s of 1.75 mm filament flow."""
    found = reserve(Path(40))

    assert (15, 15, 20) == (found.leftover_max_mm, found.leftover_mm, found.pause_after_mm)
    assert 20 * math.pi * 0.875**2 / 5 == pytest.approx(found.pause_after_s)


@pytest.mark.parametrize(
    ("lengths", "grip", "retraction"),
    [
        ({"grip_mm": 1, "leftover_mm": 1, "retract_mm": 1}, True, True),
        ({"grip_mm": 0, "leftover_mm": 0, "retract_mm": 1}, False, False),
        ({"grip_mm": 1, "leftover_mm": 1, "retract_mm": 0, "unload_mm": 60}, False, False),
        ({"grip_mm": 1, "leftover_mm": 1, "retract_mm": 1, "unload_mm": 0}, False, True),
    ],
)
def test_what_is_assumed_is_told_where_it_counts(lengths: dict[str, float], grip: bool, retraction: bool) -> None:
    """A grip counts unless nothing is gripped or the unload was given; a retraction while there is a leftover."""
    assumes = reserve(still(60, **lengths)).assumes

    assert grip is any("stay where the gear grips" in said for said in assumes)
    assert retraction is any("count the leftover anew" in said for said in assumes)


def test_small_lengths_count_as_lengths() -> None:
    """Half a millimetre of leftover is counted anew, none to spare is enough, and 1 mm unloaded keeps the grip."""
    assert 0.5 + 5 + 6 == reserve(still(40, leftover_mm=0.5, retract_mm=6)).latest_mm
    assert [(False, ())] * 2 == [(found.refused, found.reasons) for found in map(reserve, (still(20), still(20.5)))]
    assert reserve(still(19.5)).refused
    assert 12 == still(40, unload_mm=1).grip_needed_mm
