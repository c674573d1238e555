"""A watch that takes the keys of a trial: waited for, spoilt before it begins, and not spoilt afterwards."""

from pathlib import Path

import pytest

from commission.asking.request import Watch
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, watch
from commission.desk.base import Mark
from commission.evidence import measured
from tests.support.fake_bench import FakeBench

PRESSED = Watch("lever", "Lever", ("Press it.",), "filament", None, 2.0, 21, lead_s=3.0, marks=True)


@pytest.fixture(name="bench")
def _bench(tmp_path: Path) -> FakeBench:
    return FakeBench(tmp_path)


async def taken(bench: FakeBench) -> WatchTaken:
    """What the watch came to."""

    def steps() -> Steps[WatchTaken]:
        return (yield from watch(PRESSED))

    ended = await bench.run(steps())
    assert isinstance(ended.result, WatchTaken), ended
    return ended.result


async def test_one_that_was_spoilt_before_it_began_has_no_readings(bench: FakeBench) -> None:
    """Said in the countdown, it is set aside with its reason, which stands in the book; nothing was read."""
    bench.desk.marks = [Mark.SPOILT]
    bench.answers = lambda key: "the finger slipped" if key == "watch.void_reason" else None

    found = await taken(bench)
    (entry,) = bench.entries(measured.Watch)

    assert ((), "the finger slipped") == (found.readings, found.void_reason)
    assert ((), "the finger slipped") == (entry.readings, entry.void_reason)


async def test_one_that_is_called_spoilt_later_stands(bench: FakeBench) -> None:
    """Once its readings have begun, calling it spoilt would choose by what was read: it stands."""

    def spoil(queries: int) -> None:
        if queries == 45:  # some ten a second: the countdown is over by then
            bench.desk.marks = [Mark.SPOILT]

    bench.surprise = spoil
    found = await taken(bench)

    assert "" == found.void_reason
    assert 21 <= len(found.readings)
    assert "watch.void_reason" not in bench.desk.asked


async def test_one_that_is_waited_for_begins_anew(bench: FakeBench) -> None:
    """The key that asks to be waited for stops the countdown, and the watch begins from its prompt."""
    bench.desk.marks = [Mark.PAUSE]

    found = await taken(bench)

    assert ["lever", "watch.paused", "lever"] == bench.desk.asked
    assert 21 <= len(found.readings)


async def test_nothing_changed_is_a_remark(bench: FakeBench) -> None:
    """The mark stands beside the readings."""
    bench.desk.marks = [Mark.NOTHING_CHANGED]

    assert Mark.NOTHING_CHANGED.value == (await taken(bench)).remark
