"""A soak: what is read and sent, what is told, what ends it, and what the book has of it."""

from itertools import pairwise
from pathlib import Path

import pytest

from commission.asking.request import Request
from commission.asking.soak import Soak, SoakTaken
from commission.asking.steps import Steps, checked
from commission.evidence.counted import whole_bytes
from commission.evidence.soaked import SoakBegan, SoakStretch
from commission.evidence.wire import CountedBytes
from commission.judge.nuisance import Around
from commission.procedure.loop.soak import sentences
from commission.vocabulary import Outcome, Reading, Slowed
from tests.support.fake_bench import FakeBench

HOUR_S = 3600.0


def soaked(seconds: float, *, beside_print: bool = False, asks_card: bool = False) -> Steps[SoakTaken]:
    """One soak and nothing else."""
    request: Request = Soak("soak", "Soak", (), "filament", seconds, asks_card=asks_card, beside_print=beside_print)
    return checked((yield request), SoakTaken, request)


async def test_a_clean_soak_is_watched_whole(tmp_path: Path) -> None:
    """Ten readings a second, all of it exposure at rest; nothing but the switch question was sent."""
    bench = FakeBench(tmp_path)
    bench.present = True

    ended = await bench.run(soaked(120.0))

    taken = ended.result
    assert taken is not None
    assert 120.0 <= taken.exposure_s < 131.0
    assert {Around.AT_REST} == {each.around for each in taken.stretches}
    assert {"M115", "M119"} == set(bench.links[-1].sent)
    assert taken.stretches == tuple(bench.entries(SoakStretch))
    assert ["soak"] == bench.desk.asked  # the desk shows it from its beginning on
    assert ["filament"] == [each.switch for each in bench.entries(SoakBegan)]
    assert [1] * len(taken.stretches) == [len(each.repeated) for each in taken.stretches]


async def test_a_flip_is_timed_to_within_one_reading(tmp_path: Path) -> None:
    """A switch that opens for two seconds shows two changes, each between two readings, and is read densely then."""
    bench = FakeBench(tmp_path)
    bench.present = True
    bench.surprise = lambda _queries: _opened(bench, 60.0, 62.0)

    ended = await bench.run(soaked(200.0))

    taken = ended.result
    assert taken is not None
    changes = [change for each in taken.stretches for change in each.changes]
    assert [Reading.INACTIVE, Reading.ACTIVE] == [change.reading for change in changes]
    for change in changes:
        assert 0 < change.at_s - change.before_s <= 0.2
    rates = [each.readings / (each.ended_s - each.began_s) for each in taken.stretches]
    assert max(rates) > 2 * min(rates)
    assert 2 == bench.desk.told.count("The reading changed")


async def test_a_soak_that_could_not_be_fast_says_why(tmp_path: Path) -> None:
    """After a change it was to be read as fast as it goes, and answers were lost: stretch and finding tell it."""
    bench = FakeBench(tmp_path)
    bench.present = True
    lost = range(640, 643)
    bench.surprise = lambda queries: b"" if queries in lost else _opened(bench, 60.0, 61.0)

    ended = await bench.run(soaked(150.0))

    assert ended.result is not None
    assert {None, Slowed.LOST} == {each.slowed for each in ended.result.stretches}
    said = "After a change: Not read as fast as the wire allows: an answer was lost."
    assert 1 == sentences(ended.result, 150.0).count(said)


async def test_the_screen_shows_how_far_a_soak_is(tmp_path: Path) -> None:
    """Each reading is shown with its word, what is left of the time, and what was counted; as values too."""
    bench = FakeBench(tmp_path)
    bench.present = True
    bench.surprise = lambda _queries: _opened(bench, 60.0, 62.0)

    await bench.run(soaked(200.0))

    first, last = bench.desk.statuses[0], bench.desk.statuses[-1]
    assert first.soak is not None
    assert last.soak is not None
    assert {Reading.ACTIVE, Reading.INACTIVE} == {each.reading for each in bench.desk.statuses}
    assert (Reading.ACTIVE, "TRIGGERED") == (last.reading, last.wire_word)
    assert (0, 2) == (first.soak.changes, last.soak.changes)
    assert "watched 0 ms, 0 changed" == first.progress.partition(", at most")[0]
    assert "2 changed" in last.progress
    assert last.progress.endswith(" an hour at rest")
    for each in (first, last):
        assert each.soak is not None
        assert abs(200.0 - each.soak.watched_s - (each.seconds_left or 0.0)) < 0.1
        assert abs(each.soak.left_s - (each.seconds_left or 0.0)) < 0.1


def _opened(bench: FakeBench, from_s: float, to_s: float) -> None:
    bench.present = not from_s <= bench.clock.monotonic() < to_s


async def test_a_soak_takes_little_room(tmp_path: Path) -> None:
    """Half an hour, simulated: bound 6 an hour, counts and not readings, every byte to be had back, 2.5 MB an hour."""
    bench = FakeBench(tmp_path)
    bench.present = True

    ended = await bench.run(soaked(0.5 * HOUR_S))

    taken = ended.result
    assert taken is not None
    (bound,) = taken.bounds
    assert (Around.AT_REST, 0) == (bound.around, bound.changes)
    assert 6.0 == pytest.approx(bound.per_hour, abs=0.04)  # -ln 0.05 / 0.5 h = 5.991 an hour
    whole = b"".join(whole_bytes(record.entry, record.raw) for record in bench.book.records(CountedBytes))
    assert whole.count(b"M119\n") == sum(each.readings + each.unread for each in taken.stretches)
    bench.book.close()
    size = bench.book.path.stat().st_size
    assert size < 1_250_000


async def test_a_lost_link_ends_a_soak(tmp_path: Path) -> None:
    """What was read before stands in the book; nothing is opened again."""
    bench = FakeBench(tmp_path)
    bench.present = True
    bench.surprise = lambda queries: _lost(bench) if queries == 355 else None

    ended = await bench.run(soaked(HOUR_S))

    assert Outcome.LINK_LOST is ended.outcome
    assert 34.0 < sum(each.exposure_s for each in bench.entries(SoakStretch)) < 36.0
    assert 1 == len(bench.links)


def _lost(bench: FakeBench) -> bytes:
    bench.links[-1].lose()
    return b""


async def test_beside_a_print_one_question_a_second_goes_out(tmp_path: Path) -> None:
    """With a print announced, at most one question a second is sent from the start."""
    bench = FakeBench(tmp_path)
    bench.present = True

    ended = await bench.run(soaked(60.0, beside_print=True, asks_card=True))

    assert ended.result is not None
    sent = [line for line in bench.links[-1].sent if line != "M115"]
    assert len(sent) <= ended.result.seconds + 1


@pytest.mark.parametrize("began_s", [0.0, 25.0], ids=["announced", "begun meanwhile"])
async def test_no_two_questions_in_a_second_of_a_print(tmp_path: Path, began_s: float) -> None:
    """The question for the card is one of them, the first that finds the print too; it comes every ten seconds."""
    bench = FakeBench(tmp_path)
    bench.present = True
    bench.prints_from_s, bench.prints_to_s = began_s, 120.0
    asked: list[tuple[float, int]] = []
    bench.surprise = lambda _queries: asked.append((bench.clock.monotonic(), len(bench.links[-1].sent)))

    await bench.run(soaked(60.0, beside_print=not began_s, asks_card=True))

    seen_s = next(at_s for at_s, count in asked if at_s >= began_s and "M27" in bench.links[-1].sent[:count]) + 11
    beside = [each for each in asked if each[0] > (seen_s if began_s else 1)]
    for (before_s, before), (after_s, after) in pairwise(beside):
        assert after_s - before_s >= 0.98 * (after - before)
    cards = bench.links[-1].sent.count("M27")
    assert 4 <= cards <= 8


async def test_the_question_that_finds_a_print_is_one_of_them(tmp_path: Path) -> None:
    """The switch is asked for again a second later, not at once."""
    bench = FakeBench(tmp_path)
    bench.present = True
    bench.prints_from_s, bench.prints_to_s = 5.0, 120.0
    asked: list[tuple[float, int]] = []
    bench.surprise = lambda _queries: asked.append((bench.clock.monotonic(), len(bench.links[-1].sent)))

    await bench.run(soaked(30.0, asks_card=True))

    card = bench.links[-1].sent.index("M27")
    before_s = max(at_s for at_s, count in asked if count <= card)
    after_s = min(at_s for at_s, count in asked if count > card + 1)
    assert after_s - before_s >= 0.98
