"""The times by which the entries of several chains are put in order, whether they ascend or not."""

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from commission.records.bench_clock import BenchClock, Offset
from commission.records.turns import Turns

BEGAN = datetime(2031, 3, 14, 8, 0, tzinfo=UTC)


def chance_turns(chance: Random, count: int) -> list[tuple[int, str]]:
    """Mostly a clock that goes on; now and then it stands, is set back or ahead, or a time is none any more."""
    at, found = BEGAN, []
    for number in range(1, count + 1):
        at += timedelta(seconds=chance.choice((-40, 0, 7200)) if chance.random() < 0.004 else chance.random() * 60)
        text = at.isoformat(timespec=chance.choice(("milliseconds", "seconds")))
        found.append((3 * number, "no time" if chance.random() < 0.001 else text))
    return found


def chance_clock(chance: Random) -> BenchClock | None:
    """None of which anything is known, one that was looked at once, one that was set between the looks."""
    at_us = [round((BEGAN + timedelta(hours=hours)).timestamp() * 1e6) for hours in sorted(chance.sample(range(30), 3))]
    aheads = chance.choices((0, 40_000, 9_000_000, -3_600_000_000), k=3)
    offsets = [Offset(at, ahead, 1_000) for at, ahead in zip(at_us, aheads, strict=True)]
    return None if chance.random() < 0.3 else BenchClock(offsets[: chance.choice((1, 3))])


def as_read_one_by_one(turns: list[tuple[int, str]], clock: BenchClock | None) -> list[int]:
    """The rule itself: its own time, corrected where the clock is known, and later than the turn before in any case."""
    times, before = [], 1
    for _, text in turns:
        own_us = 0 if text == "no time" else round(datetime.fromisoformat(text).timestamp() * 1e6)
        known = None if clock is None else clock.possible(own_us)
        before = max(before + 1, own_us if known is None else known.likely_us)
        times.append(before)
    return times


@pytest.mark.parametrize("seed", range(20))
def test_times_are_those_of_the_rule(seed: int) -> None:
    """However many come at a time, some of them twice; at a turn, behind it, and before the first."""
    chance = Random(f"turns/{seed}")  # noqa: S311 - repeatable on purpose
    every, clock = chance_turns(chance, 1500), chance_clock(chance)
    turns, taken = Turns(clock), 0
    while taken < len(every):
        until = taken + chance.choice((1, 2, 100, 900))
        turns.take(every[max(0, taken - 2) : until])
        taken = until

    expected = as_read_one_by_one(every, clock)

    assert expected == [turns.at(number) for number, _ in every]
    assert expected == [turns.at(number + 2) for number, _ in every]
    assert 1 == turns.at(2)


def test_a_clock_corrects_alike_between_two_looks() -> None:
    """A look ends what the one before it found, and up to five seconds later both may hold."""
    clock = BenchClock([Offset(0, 0, 0), Offset(100_000_000, 2_000_000, 0)])
    shown = range(90_000_000, 120_000_000, 500_000)
    edges = [first for first in shown if not clock.corrects_alike(first, first + 500_000)]

    for first in shown:
        both = [(each, clock.possible(each)) for each in (first, first + 500_000)]
        ahead = {each - found.likely_us for each, found in both if found is not None}
        assert 1 == len(ahead) or first in edges
    assert 0 < len(edges) <= 2


def test_a_turn_at_the_last_time_comes_behind_it() -> None:
    """The same moment again, in a batch of its own, is a moment later; a clock without a battery begins at 2."""
    at = BEGAN.isoformat()
    turns = Turns()
    for number in (1, 2, 3):
        turns.take([(number, at)])
    first = turns.at(1)
    epoch = Turns()
    epoch.take([(1, "1970-01-01T00:00:00+00:00"), (2, at)])

    assert [round(BEGAN.timestamp() * 1e6) + more for more in range(3)] == [turns.at(number) for number in (1, 2, 3)]
    assert [1, 2, first] == [epoch.at(number) for number in (0, 1, 2)]


def test_a_clock_that_was_set_within_a_batch_orders_by_the_rule() -> None:
    """The third of four turns would come before the second, as the clock was put right: it comes just behind it."""
    clock = BenchClock([Offset(0, 0, 0), Offset(100_000_000, 60_000_000, 0)])
    own = [20_000_000, 54_000_000, 56_000_000, 180_000_000]
    texts = [(datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=each)).isoformat() for each in own]
    told = list(enumerate(texts, start=1))
    turns = Turns(clock)
    turns.take(told)

    assert not clock.corrects_alike(own[0], own[-1])
    assert as_read_one_by_one(told, clock) == [turns.at(number) for number, _ in told]
    assert [20_000_000, 54_000_000, 54_000_001, 120_000_000] == [turns.at(number) for number, _ in told]


def test_a_turn_may_have_been_when_its_clock_allows() -> None:
    """At the turn, and behind it until the next one; before the first, and without a clock, nothing is known."""
    clock = BenchClock([Offset(0, 1_000_000, 500)])
    turns, unknown = Turns(clock), Turns()
    for each in (turns, unknown):
        each.take([(3, BEGAN.isoformat()), (5, (BEGAN + timedelta(hours=1)).isoformat())])
    first = clock.possible(round(BEGAN.timestamp() * 1e6))
    second = clock.possible(round((BEGAN + timedelta(hours=1)).timestamp() * 1e6))

    assert [None, first, first, second, second] == [turns.possible(number) for number in (2, 3, 4, 5, 9)]
    assert [None] * 3 == [unknown.possible(number) for number in (2, 3, 9)]
