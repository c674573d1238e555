"""What was seen of a shared book and of the benches' clocks, as it is kept and told."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from commission.evidence.talk import Told
from commission.records.bench_clock import BenchClock, Offset
from commission.records.carrying import End
from commission.records.refused import BookError
from commission.records.shared.address import SharedAddress
from commission.records.shared.clocks import ClockCheck, bench_clocks, compared, in_doubt, kept_history
from commission.records.shared.line import SharedAway
from commission.records.shared.mirror import _age, mirrored_at
from commission.records.shared.seen import Seen, cut_off, cut_off_here, furthest, keep_seen, seen_before, seen_file
from tests.records.memory import chain_of
from tests.support.fake_time import START, FakeClock

TOLD = Told(heading="a word")
ONE, OTHER = chain_of(("r1", TOLD), ("r1", TOLD)), chain_of(("r2", TOLD), ("r2", TOLD), ("r2", TOLD), number=1)
FIRST, SECOND, THIRD = ONE[0].digest, OTHER[0].digest, "c" * 64
SHARED, AT = "postgresql://db.example/commission", "2031-03-14T09:26:53+00:00"


def check(ahead_ms: int, origin: str = FIRST, at: str = AT, within_ms: int = 20) -> ClockCheck:
    """What was found of a clock."""
    return ClockCheck(origin, "pc-1", ahead_ms, within_ms, at)


def seen(*ends: int, shared: str = SHARED) -> Seen:
    """The shared book with so many entries of each chain."""
    return Seen(shared, AT, ends_of(*ends))


def ends_of(*ends: int) -> dict[str, End]:
    """So many entries of each chain; none of one that it does not have."""
    return {origin: End(count, "") for origin, count in zip((FIRST, SECOND, THIRD), ends, strict=False) if count}


def test_what_was_seen_is_read_back(tmp_path: Path) -> None:
    """Of an earlier release without a history too; another format and any damage are nothing."""
    whole = Seen(SHARED, AT, ends_of(2, 3), (check(1),), (check(1), check(2)), 7)
    book = tmp_path / "book.sqlite3"
    assert seen_before(book) is None
    keep_seen(book, whole)
    told = json.loads(seen_file(book).read_text())
    assert whole == seen_before(book)
    older = {name: value for name, value in told.items() if name not in ("history", "told", "clocks")}
    seen_file(book).write_text(json.dumps(older))
    assert Seen(SHARED, AT, ends_of(2, 3)) == seen_before(book)
    damages: list[dict[str, Any]] = [
        {"format": 2},
        {"ends": 3},
        {"ends": {FIRST: [1]}},
        {"clocks": [{}]},
        {"told": "x"},
    ]
    for damage in damages:
        seen_file(book).write_text(json.dumps(told | damage))
        assert seen_before(book) is None
    for text in ("", "[]", "no JSON", "[" * 100_000):
        seen_file(book).write_text(text)
        assert seen_before(book) is None


def test_what_was_lost_is_told_until_it_is_back() -> None:
    """Of each chain the furthest that was ever seen; what was seen of another shared book says nothing."""
    now = ends_of(2, 4, 1)
    assert now == furthest(None, SHARED, now) == furthest(seen(9, 9, shared="postgresql://other/x"), SHARED, now)
    assert ends_of(2, 4, 1) == furthest(seen(2, 3), SHARED, now)
    assert ends_of(3, 4, 1) == furthest(seen(3, 3), SHARED, now)
    anew = {FIRST: End(2, "another")}
    assert anew == furthest(seen(2), SHARED, anew), "of the same length what is there now counts"
    assert ends_of(2, 4, 5) == furthest(seen(2, 4, 5), SHARED, ends_of(2, 4))


def test_an_end_that_was_cut_off_there_is_said() -> None:
    """Which chain, how far it went and when that was seen; nothing of one that is as long, or longer."""
    said = "The shared book had chain {} up to entry {} on 2031-03-14 09:26, and has it up to entry {} now: its end"
    assert [] == cut_off(None, SHARED, {}) == cut_off(seen(3, shared="postgresql://other/x"), SHARED, {})
    assert [] == cut_off(seen(2, 3), SHARED, ends_of(2, 4))
    two = cut_off(seen(3, 3, 1), SHARED, ends_of(2, 3))
    expected = [said.format(FIRST[:8], 3, 2), said.format(THIRD[:8], 1, 0)]
    assert expected == [each[: len(begins)] for each, begins in zip(two, expected, strict=True)]


def test_an_end_that_was_cut_off_here_is_said() -> None:
    """Held against the rows of the book, chain by chain; a chain that is not here has no entry."""
    said = (
        "The shared book had chain {} up to entry {} on 2031-03-14 09:26, and this book has it up to entry {}: its end"
    )
    rows = [*ONE, *OTHER]
    assert [] == cut_off_here(None, rows) == cut_off_here(seen(2, 3), rows) == cut_off_here(seen(1, 1), rows)
    two = cut_off_here(seen(3, 3, 1), rows)
    expected = [said.format(FIRST[:8], 3, 2), said.format(THIRD[:8], 1, 0)]
    assert expected == [each[: len(begins)] for each, begins in zip(two, expected, strict=True)]


def test_a_clock_that_is_far_off_is_said() -> None:
    """Its computer, how far to the second, which way, and when."""
    said = (
        "The clock of pc-1 was {} s {} that of the shared book on 2031-03-14 09:26: runs of different benches may "
        "stand in the wrong order. Set that clock."
    )
    assert [said.format(60, "ahead of"), said.format(90, "behind")] == in_doubt(
        [check(60_000), check(-90_400), check(5000)]
    )
    assert check(0).sentence == said.format(0, "ahead of")
    assert check(-1499).sentence == said.format(1, "behind")


def test_both_ends_of_a_stretch_are_kept() -> None:
    """One that goes alike to five seconds is one stretch; a millisecond more begins another one."""
    alike, more = (
        [check(ahead) for ahead in (0, 1, 5000, 2)],
        [check(ahead) for ahead in (0, 1, 5002, 5003)],
    )

    assert (alike[0], alike[3]) == kept_history(alike[:2], alike[2:])
    assert tuple(more) == kept_history((), more)
    other = check(7, SECOND)
    assert (alike[0], alike[1], other) == kept_history(alike[:1], [other, alike[1]])


def test_offsets_are_in_microseconds() -> None:
    """Of the chain they belong to; a bench that had none yet is left out."""
    at_us = 1_931_246_813_000_000
    clocks = bench_clocks([check(3), check(9, ""), check(-4, at="2031-03-14T09:26:54+00:00", within_ms=7)])
    expected = BenchClock([Offset(at_us, 3000, 20_000), Offset(at_us + 1_000_000, -4000, 7000)])

    assert [FIRST] == list(clocks)
    for shown in (at_us, at_us + 1, at_us + 10_000_000):
        assert expected.possible(shown) == clocks[FIRST].possible(shown)


class FakeServer:
    """A clock somewhere else, so many seconds behind; it answers after these times, half on the way there."""

    def __init__(self, clock: FakeClock, behind_s: float, *took_s: float) -> None:
        self._clock, self._behind_s, self._took_s = clock, behind_s, list(took_s)
        self.answered: list[datetime] = []

    def now(self) -> datetime:
        """Its time, when half of the way is over."""
        half = self._took_s.pop(0) / 2
        self._clock.elapsed_s += half
        self.answered.append(self._clock.now() - timedelta(seconds=self._behind_s))
        self._clock.elapsed_s += half
        return self.answered[-1]


@pytest.mark.parametrize("behind_s", [12.5, -12.5])
def test_the_quickest_answer_counts(behind_s: float) -> None:
    """Of three; half of its way is how far it can be off, whenever the clock began to run."""
    clock = FakeClock()
    clock.elapsed_s = 1000.0
    server = FakeServer(clock, behind_s, 2.0, 0.5, 4.0)
    found = compared(clock, FIRST, "pc-1", server.now)

    at = server.answered[1].isoformat(timespec="seconds")
    assert ClockCheck(FIRST, "pc-1", round(1000 * behind_s), 250, at) == found
    assert 3 == len(server.answered)
    assert server.answered[0] > START - timedelta(days=1)


@pytest.mark.parametrize(
    ("old", "said"),
    [
        ({"seconds": -90}, "0 min"),
        ({"seconds": 29}, "0 min"),
        ({"seconds": 61}, "1 min"),
        ({"minutes": 119}, "119 min"),
        ({"minutes": 120}, "2 h"),
        ({"minutes": 179}, "2 h"),
        ({"hours": 47, "minutes": 59}, "47 h"),
        ({"hours": 48}, "2 days"),
        ({"hours": 71, "minutes": 59}, "2 days"),
        ({"days": 30}, "30 days"),
    ],
)
def test_a_copy_has_an_age_in_words(old: dict[str, Any], said: str) -> None:
    """In minutes up to two hours, in hours up to two days, then in days; never less than none."""
    assert said == _age(timedelta(**old))
    assert datetime.fromisoformat(AT).tzinfo == UTC


CLOSED = SharedAddress("postgresql://127.0.0.1:1/x")
"""Nobody listens at that port: whoever asks there is refused at once."""


def test_a_copy_answers_while_the_shared_book_is_away(tmp_path: Path) -> None:
    """It is said when it was the same, and how long ago that was; where there is none that is all there is."""
    place, clock = tmp_path / "cache" / "copies" / "book.sqlite3", FakeClock()
    for _ in range(2):
        with pytest.raises(SharedAway):
            mirrored_at(place, CLOSED, clock)
    keep_seen(place, Seen(str(CLOSED), START.isoformat(timespec="seconds")))
    clock.elapsed_s = 7200.0
    mirror = mirrored_at(place, CLOSED, clock)

    (said,) = mirror.said
    assert place == mirror.path
    assert said.startswith("The shared book postgresql://127.0.0.1:1/x cannot be reached (")
    assert said.endswith("). This is the copy of 2031-03-14 09:26 on this computer, 2 h old.")
    assert 0o700 == place.parent.stat().st_mode & 0o777


def test_a_place_that_keeps_no_copy_is_said(tmp_path: Path) -> None:
    """Where a file lies in place of a folder."""
    (tmp_path / "cache").touch()
    with pytest.raises(
        BookError, match=r"The copy of the shared book cannot be kept in .*/cache/copies: Not a directory"
    ):
        mirrored_at(tmp_path / "cache" / "copies" / "book.sqlite3", CLOSED, FakeClock())
