"""A watch at the rate of the wire: what it reads, what ends it, and what is left of it in the book."""

from pathlib import Path

import pytest

from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, watch
from commission.evidence import measured
from commission.judge.exposure import watched
from commission.vocabulary import Outcome, Presence
from tests.support.fake_bench import SLOW_WIRE_S, FakeBench


def dense(seconds: float = 4.0) -> Steps[WatchTaken]:
    """Read as fast as it goes."""
    request = Watch("wiggle", "Wiggle", (), "filament", Presence.IN, seconds, 40, AS_FAST_AS_IT_GOES)
    return (yield from watch(request))


async def test_a_dense_watch_reads_at_the_rate_of_the_wire(tmp_path: Path) -> None:
    """The wire is never idle: as many readings as answers fit on it, each once in the book."""
    bench = FakeBench(tmp_path)

    ended = await bench.run(dense())

    assert ended.result is not None
    seen = watched(ended.result.readings, 4.0)
    assert seen.complete
    assert 1 / SLOW_WIRE_S == pytest.approx(seen.per_s, rel=0.02)
    assert SLOW_WIRE_S == pytest.approx(seen.largest_gap_s)
    assert 0.95 * SLOW_WIRE_S == pytest.approx(seen.shortest_glitch_s)
    (entry,) = bench.entries(measured.Watch)
    assert len(ended.result.readings) == len(entry.readings)


async def test_a_restart_ends_a_dense_watch(tmp_path: Path) -> None:
    """A banner where an answer was due is told as a restart."""
    bench = FakeBench(tmp_path)
    bench.surprise = lambda queries: b"start\n" if queries == 30 else None

    ended = await bench.run(dense())

    assert (Outcome.INTERRUPTED, "the board restarted") == (
        ended.outcome,
        None if ended.interruption is None else ended.interruption.kind.value,
    )


async def test_a_poor_line_is_read_ten_times_a_second(tmp_path: Path) -> None:
    """After lost answers the watch goes on in step, and still has its exposure."""
    bench = FakeBench(tmp_path)
    bench.surprise = lambda queries: b"" if queries in (10, 11) else None

    ended = await bench.run(dense())

    assert ended.result is not None
    seen = watched(ended.result.readings, 4.0)
    assert (True, 2) == (seen.complete, seen.unread)
    assert len(ended.result.readings) < 60
