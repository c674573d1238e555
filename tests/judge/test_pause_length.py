"""The length from the trip to the stop, from a log of acknowledged moves; hand-made logs with known answers."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.judge.pause_length import LoggedMove, PauseMeasured, done_mm, drained_at_s, measure
from commission.judge.pause_verdict import PauseJudged, PauseSeen, PauseSide, judge_pause
from commission.vocabulary import Verdict

# four moves at once, then one whenever one is done: the queue stays at four moves of 1 mm and 0.5 s
STEADY = [LoggedMove(max(0.0, 0.5 * (n - 3)), 1.0, 0.5) for n in range(24)]


def test_what_is_acknowledged_is_not_yet_done() -> None:
    """After 2 s of half-second moves four are done, although eight were acknowledged by then."""
    assert 4.0 == pytest.approx(done_mm(STEADY, 2.0))
    assert 8 == sum(move.acked_at_s <= 2.0 + 1e-9 for move in STEADY)
    assert 12.0 == pytest.approx(drained_at_s(STEADY))


def test_a_pause_between_moves_delays_what_follows() -> None:
    """A move acknowledged after the queue ran empty begins when it is acknowledged."""
    moves = [LoggedMove(0.0, 1.0, 0.5), LoggedMove(5.0, 1.0, 0.5)]

    assert (1.0, 1.5, 5.5) == (done_mm(moves, 4.0), done_mm(moves, 5.25), drained_at_s(moves))


def test_the_length_is_all_that_was_acknowledged_less_what_was_done_at_the_trip() -> None:
    """Trip at 2 s (4 mm done), 24 mm acknowledged: 20 mm to the stop, announced at 10 s with 4 mm still queued."""
    measured = measure(STEADY, last_in_s=1.95, first_out_s=2.05, announced_s=10.0)

    assert 20.0 == pytest.approx(measured.length_mm)
    assert 4.0 == pytest.approx(measured.queue_mm)
    assert 8.0 == pytest.approx(measured.announced_after_s or 0.0)
    assert 10.0 == pytest.approx(measured.stopped_after_s)
    assert 0.1 == pytest.approx(measured.gap_s)


def test_without_an_announcement_the_queue_is_that_of_the_last_move() -> None:
    """The queue is then what was acknowledged and not done when the last move was taken."""
    assert 4.0 == pytest.approx(measure(STEADY, last_in_s=2, first_out_s=2, announced_s=None).queue_mm)


def test_no_moves_or_readings_in_the_wrong_order_are_refused() -> None:
    """There is nothing to measure without moves, and time does not run backwards."""
    with pytest.raises(ValueError, match="at least one move"):
        measure([], last_in_s=0, first_out_s=1, announced_s=None)
    with pytest.raises(ValueError, match="in order"):
        measure(STEADY, last_in_s=2, first_out_s=1, announced_s=None)
    with pytest.raises(ValueError, match="takes time"):
        LoggedMove(0.0, 1.0, 0.0)


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 5), st.floats(0.01, 5)), min_size=1, max_size=30))
@settings(deadline=None, max_examples=100)
def test_what_is_done_grows_to_what_was_acknowledged(log: list[tuple[float, float, float]]) -> None:
    """Any log is done from nothing to everything, never backwards."""
    moves = [LoggedMove(at_s, mm, s) for at_s, mm, s in sorted(log)]
    end_s = drained_at_s(moves)
    seen = [done_mm(moves, end_s * share / 20) for share in range(21)]

    assert seen == sorted(seen)
    assert math.isclose(sum(move.feed_mm for move in moves), done_mm(moves, end_s + 1), abs_tol=1e-9)


MEASURED = PauseMeasured(24.6, 4.2, 9.8, 11.9, 0.1)


def judged(seen: PauseSeen, leftover_mm: float | None = 20.0) -> PauseJudged:
    """Held against the prediction of the usual test."""
    return judge_pause(seen, leftover_mm=leftover_mm, block_mm=1.04, speed_mm_s=2.08, largest_gap_s=0.1)


def test_a_stop_of_the_predicted_length_is_a_pass() -> None:
    """24.6 mm against 20 + 4.2 mm is within one move and the gap."""
    found = judged(PauseSeen(stopped=True, measured=MEASURED))

    assert (Verdict.PASS, PauseSide.BOARD, True) == (found.verdict, found.side, found.agrees)


@pytest.mark.parametrize(
    ("seen", "leftover_mm"),
    [
        (PauseSeen(stopped=True, measured=MEASURED), 40.0),
        (PauseSeen(stopped=True, measured=MEASURED), None),
        (PauseSeen(stopped=True), 20.0),
    ],
)
def test_a_stop_of_another_or_unknown_length_is_conditional(seen: PauseSeen, leftover_mm: float | None) -> None:
    """It paused, and the length is not the predicted one or could not be compared."""
    assert Verdict.CONDITIONAL is judged(seen, leftover_mm).verdict


@pytest.mark.parametrize(
    ("seen", "side", "shut"),
    [
        (PauseSeen(stopped=True, before_trip=True), PauseSide.BOARD, ""),
        (PauseSeen(stopped=False, host_asked=True), PauseSide.HOST_ONLY, "not_host_alone"),
        (PauseSeen(stopped=False, board_knows_job=False), PauseSide.NEITHER, "job"),
        (PauseSeen(stopped=False, earlier_pauses=1), PauseSide.NEITHER, "not_latched"),
        (PauseSeen(stopped=False), PauseSide.NEITHER, ""),
        (PauseSeen(stopped=False, change_refused=True), PauseSide.NEITHER, "heat"),
        (PauseSeen(stopped=False, feed_refused=True), PauseSide.NEITHER, "heat"),
    ],
)
def test_what_did_not_pause_is_a_fail_with_its_gate(seen: PauseSeen, side: PauseSide, shut: str) -> None:
    """Each way of not pausing fails, says who stopped, and names the gate it shows shut."""
    found = judged(seen)

    assert (Verdict.FAIL, side, shut) == (found.verdict, found.side, found.shut)
    assert found.reasons


def test_the_reasons_give_the_length_beside_its_prediction() -> None:
    """Where it could not be compared they say what was missing; a stop before the trip took no time."""
    paused = "It paused: the board itself stopped."
    compared = (
        "From the trip to the stop 24.6 mm of filament in {took}; "
        "predicted {most} mm (leftover {set} mm, queued 4.2 mm)."
    )
    early = replace(MEASURED, stopped_after_s=-0.1)
    for measured, leftover_mm, reasons in (
        (MEASURED, 20.0, (compared.format(took="11.9 s", most=24.2, set=20.0),)),
        (early, 20.0, (compared.format(took="0 ms", most=24.2, set=20.0),)),
        (
            MEASURED,
            40.0,
            (
                compared.format(took="11.9 s", most=44.2, set=40.0),
                "That is not the predicted length: this build counts the leftover distance in another way.",
            ),
        ),
        (MEASURED, None, ("The length could not be compared: no leftover is stated.",)),
        (None, 20.0, ("The length could not be compared: not measured.",)),
    ):
        assert (paused, *reasons) == judged(PauseSeen(stopped=True, measured=measured), leftover_mm).reasons
