"""Test moves while the switch is read: what a change of the reading means depends on whether one is asked for."""

from pathlib import Path

import pytest

from commission.asking.moving import MovePattern, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Release
from commission.asking.steps import Steps, release, run_moves
from commission.dialect.commands import Effect
from commission.evidence.measured import Moves
from commission.vocabulary import Reading, Slowed
from tests.support.fake_bench import FakeBench

KEY = "moves"
TRIP_S, STOP_S = 4.0, 0.5


@pytest.fixture
def bench(tmp_path: Path) -> FakeBench:
    """A printer in memory whose switch changes for good at the fifth reading."""
    bench = FakeBench(tmp_path)

    def change(queries: int) -> None:
        bench.present = queries >= 5

    bench.surprise = change
    return bench


def moves(*, steady: bool, lead_s: float = 0.0) -> Steps[MovesRun]:
    """Release the moves and run them."""
    yield from release(Release(KEY, "the X axis moves", ("It moves.",), frozenset({Effect.MOTION})))
    pattern = MovePattern(0.0, 20.0, 1.0)
    request = RunMoves(
        KEY, "Moves", ("They run.",), "watch", "filament", pattern, lead_s, TRIP_S, STOP_S, KEY, steady=steady
    )
    return (yield from run_moves(request))


async def test_a_switch_that_is_to_stay_ends_nothing_by_changing(bench: FakeBench) -> None:
    """Where every change counts, the moves run to the end of their time, and readings of both kinds are kept."""
    ended = await bench.run(moves(steady=True))

    assert ended.result is not None
    assert MovesEnd.NO_TRIP is ended.result.end
    assert ended.result.seconds >= TRIP_S
    assert {Reading.ACTIVE, Reading.INACTIVE} == {reading.reading for reading in ended.result.readings}


async def test_a_switch_that_is_to_trip_ends_them_a_while_after(bench: FakeBench) -> None:
    """Where a trip is what is waited for, the printer that goes on is given the time to stop, and no more."""
    ended = await bench.run(moves(steady=False))

    assert ended.result is not None
    assert MovesEnd.NO_STOP is ended.result.end
    assert ended.result.seconds < TRIP_S


async def test_moves_read_beside_a_busy_word_say_so(bench: FakeBench) -> None:
    """A printer that says that it is busy is asked one question at a time: the run, the record and the screen tell."""
    busy = b"echo:busy: processing\nReporting endstop status\nx_min: open\nfilament: open\nok\n"
    bench.surprise = lambda queries: busy if queries == 20 else None
    ended = await bench.run(moves(steady=True))

    assert Slowed.BUSY is (ended.result and ended.result.slowed)
    assert [Slowed.BUSY] == [each.slowed for each in bench.entries(Moves)]


async def test_moves_read_without_trouble_say_nothing(bench: FakeBench) -> None:
    """They were read as fast as the wire allows."""
    bench.surprise = lambda _queries: None
    ended = await bench.run(moves(steady=True))

    assert ended.result is not None
    assert None is ended.result.slowed


async def test_the_line_counts_down_what_may_still_pass(bench: FakeBench) -> None:
    """While the moves get ready: to their lead. Before the trip: to the last moment for it. After it: to the stop."""
    bench.surprise = lambda queries: setattr(bench, "present", queries >= 40)
    ended = await bench.run(moves(steady=False, lead_s=1.0))

    assert ended.result is not None
    ready = lefts(bench, "get ready")
    waits = lefts(bench, "Now: watch")
    trips = lefts(bench, "The switch has changed: waiting for the pause")
    assert 0.9 < ready[0] <= 1.0
    assert 0.0 < ready[-1] < 0.1
    assert TRIP_S - 0.1 < waits[0] <= TRIP_S
    assert STOP_S - 0.1 < trips[0] <= STOP_S
    for falling in (ready, waits, trips):
        assert falling == sorted(falling, reverse=True)


async def test_a_number_of_moves_is_sent_and_no_more(bench: FakeBench) -> None:
    """Moves that only feed: so many go out, they are read to their end, and the time that is left is not waited for."""
    bench.surprise = lambda _queries: None
    ended = await bench.run(seven_feeds())
    sent = [line for line in bench.links[0].sent if "G1" in line]

    assert ended.result is not None
    assert (MovesEnd.NO_TRIP, 7) == (ended.result.end, len(ended.result.moves))
    assert 7 == len(sent)
    assert all("E1.5 F90" in line and "X" not in line for line in sent)
    assert 7 < ended.result.seconds < 10


def seven_feeds() -> Steps[MovesRun]:
    """Seven moves of 1.5 mm in a second each, and a minute for them."""
    yield from release(Release(KEY, "the drive feeds", ("It feeds.",), frozenset({Effect.MOTION})))
    pattern = MovePattern(1.5, 0.0, 1.0)
    request = RunMoves(KEY, "Feed", ("It feeds.",), "watch", "filament", pattern, 0, 60, 0, KEY, steady=True, most=7)
    return (yield from run_moves(request))


@pytest.mark.parametrize(("feed_mm", "travel_mm"), [(0.0, 0.0), (-1.0, 10.0), (1.0, -10.0)])
def test_a_move_that_does_nothing_is_refused(feed_mm: float, travel_mm: float) -> None:
    """It travels or it feeds, and it draws nothing back."""
    with pytest.raises(ValueError, match="travels or feeds"):
        MovePattern(feed_mm, travel_mm, 1.0)


def lefts(bench: FakeBench, note: str) -> list[float]:
    """The seconds left that were shown beside this note."""
    return [
        round(s.seconds_left, 6)
        for s in bench.desk.statuses
        if s.seconds_left is not None and note in (s.note, s.progress)
    ]
