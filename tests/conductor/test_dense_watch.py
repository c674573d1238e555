"""A watch at the rate of the wire: what it reads, what ends it, and what is left of it in the book."""

from dataclasses import replace
from pathlib import Path

import pytest

from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, watch
from commission.desk.wording import watch_taken
from commission.evidence import measured
from commission.judge.exposure import watched
from commission.procedure.meeting.identify import identify
from commission.vocabulary import Outcome, Presence, Slowed
from tests.support.fake_bench import SLOW_WIRE_S, FakeBench
from tests.support.family_bench import NamedBench

WIGGLE = Watch("wiggle", "Wiggle", (), "filament", Presence.IN, 4.0, 40, AS_FAST_AS_IT_GOES)


def dense() -> Steps[WatchTaken]:
    """Read as fast as it goes."""
    return (yield from watch(WIGGLE))


def met_then_watched() -> Steps[WatchTaken]:
    """The same of a named sensor, once it is known who answers."""
    yield from identify()
    return (yield from watch(replace(WIGGLE, switch="sensor reel")))


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
    assert None is entry.slowed


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
    (entry,) = bench.entries(measured.Watch)
    assert Slowed.LOST is entry.slowed is ended.result.slowed
    said = "Not read as fast as the wire allows: an answer was lost."
    assert said in watch_taken(WIGGLE, ended.result)


async def test_a_usual_watch_was_never_to_be_fast(tmp_path: Path) -> None:
    """Read on a beat it says nothing of the wire, on a poor one neither."""
    bench = FakeBench(tmp_path)
    bench.surprise = lambda queries: b"" if queries in (10, 11) else None

    ended = await bench.run(watch(replace(WIGGLE, interval_s=0.1)))

    assert ended.result is not None
    assert None is ended.result.slowed


async def test_a_spared_source_says_so(tmp_path: Path) -> None:
    """A host computer is asked ten times a second at most, which is no fault of the line."""
    bench = NamedBench(tmp_path)

    ended = await bench.run(met_then_watched())

    assert ended.result is not None
    assert Slowed.SPARED is ended.result.slowed
