"""Test moves while the switch is read: what a change of the reading means depends on whether one is asked for."""

from pathlib import Path

import pytest

from commission.asking.moving import MovePattern, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Release
from commission.asking.steps import Steps, release, run_moves
from commission.dialect.commands import Effect
from commission.vocabulary import Reading
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


def moves(*, steady: bool) -> Steps[MovesRun]:
    """Release the moves and run them."""
    yield from release(Release(KEY, "the X axis moves", ("It moves.",), frozenset({Effect.MOTION})))
    pattern = MovePattern(0.0, 20.0, 1.0)
    request = RunMoves(
        KEY, "Moves", ("They run.",), "watch", "filament", pattern, 0.0, TRIP_S, STOP_S, KEY, steady=steady
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
