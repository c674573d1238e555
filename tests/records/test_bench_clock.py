"""Whose test was the last: by corrected times where the benches' clocks are known, and said where it is not sure."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from commission.cli import main
from commission.records.bench_clock import BenchClock, Offset, Possible, may_be_later
from commission.records.book import Book
from commission.records.due import IN_DOUBT, due_list
from commission.records.shared.clocks import ClockCheck, bench_clocks, kept_history
from commission.records.shared.seen import Seen, keep_seen, seen_before
from commission.records.union import join
from tests.records.books import Workshop
from tests.support.fake_time import START, FakeClock

RUN, NEXT = "bench-3/2031-03-14/1", "bench-3/2031-03-15/1"
TODAY = date(2031, 3, 20)
DAY_MS, HOUR_MS = 86_400_000, 3_600_000


def us(hours: float) -> int:
    """So many hours after the beginning of the tests' time, in microseconds since 1970."""
    return round((START + timedelta(hours=hours)).timestamp() * 1e6)


def offset(at_h: float, ahead_h: float) -> Offset:
    """A clock that was found so many hours ahead."""
    return Offset(us(at_h), round(3.6e9 * ahead_h), 0)


def check(origin: str, at_h: float, ahead_ms: int) -> ClockCheck:
    """The same as the shared book keeps it."""
    return ClockCheck(origin, "pc", ahead_ms, 20, (START + timedelta(hours=at_h)).isoformat(timespec="seconds"))


@pytest.mark.parametrize(
    ("shown_h", "hours"),
    [
        (18, (-6, -6, -6)),  # before the first check: as that found it
        (30, (6, 30, 30)),  # shown twice: before it was set, and once more after it
        (46, (22, 46, 46)),
        (26, (2, 26, 26)),
        (60, (60, 60, 60)),  # a day less would be behind the check that found it right
        (200, (200, 200, 200)),  # behind the last
    ],
)
def test_a_time_is_less_what_the_clock_was_ahead(shown_h: float, hours: tuple[float, float, float]) -> None:
    """A clock a day ahead at 0 and 20 hours, and right from some time before 30 on."""
    clock = BenchClock([offset(0, 24), offset(20, 24), offset(30, 0)])

    assert Possible(*map(us, hours)) == clock.possible(us(shown_h))


def test_a_time_that_cannot_have_been_is_not_known() -> None:
    """A clock that was behind and is ahead now showed no time that lies far from both."""
    clock = BenchClock([offset(0, -24), offset(1, 24)])

    assert clock.possible(us(0)) is None
    assert Possible(us(-6), us(-6), us(-6)) == clock.possible(us(-30))


def two_benches(folder: Path, *, ahead_h: float) -> tuple[Workshop, dict[str, str]]:
    """The right one fails the printer a day after the start, the other passed it 12 hours before, by a wrong clock.

    Returns:
        The book of both, and the origins of their chains.
    """
    for name in ("right", "wrong"):
        (folder / name).mkdir()
    right, wrong = Workshop(folder / "right"), Workshop(folder / "wrong")
    right.days_pass(1)
    right.whole_run(RUN, verdict="fail")
    wrong.days_pass(0.5 + ahead_h / 24)
    wrong.whole_run(NEXT)
    origins = {name: each.book.heads()[0][0] for name, each in (("right", right), ("wrong", wrong))}
    join(right.book, wrong.book)
    return right, origins


def because(workshop: Workshop, clocks: Mapping[str, BenchClock] | None) -> str:
    """Why the printer is due, read with that knowledge of the clocks."""
    with Book(workshop.book.path, FakeClock(), reads_only=True, clocks=clocks) as book:
        (due,) = due_list(book, TODAY)
    return due.because


def test_a_clock_a_day_wrong_puts_no_earlier_test_last(tmp_path: Path) -> None:
    """By its own clock the pass is the last, and would hide the failure; by the corrected time it is not."""
    workshop, origins = two_benches(tmp_path, ahead_h=24)
    clocks = bench_clocks([check(origins["right"], 60, 0), check(origins["wrong"], 61, DAY_MS)])

    assert "failed" not in because(workshop, None)
    assert "its last install (2031-03-15) failed" == because(workshop, clocks)


def test_a_clock_that_is_not_known_leaves_the_order_open(tmp_path: Path) -> None:
    """No sync of the one bench, or of none: it is said, whatever the order is taken for."""
    workshop, origins = two_benches(tmp_path, ahead_h=24)

    assert because(workshop, bench_clocks([check(origins["right"], 60, 0)])).endswith(f"; {IN_DOUBT}")
    assert because(workshop, {}).endswith(f"; {IN_DOUBT}")


@pytest.mark.parametrize(("set_between", "said"), [((-6, 0), False), ((6, 30), True), ((40, 50), False)])
def test_a_clock_that_was_set_leaves_open_what_lies_near(
    tmp_path: Path, set_between: tuple[float, float], said: bool
) -> None:
    """Set between two checks: in doubt where the test was between them by either, and another bench's lies nearer.

    The clock shows 36 hours after the start: a day ahead that is 12 hours, right it is 36, the other's test is at 24.
    """
    workshop, origins = two_benches(tmp_path, ahead_h=24)
    before, behind = set_between
    wrong = [check(origins["wrong"], before, DAY_MS), check(origins["wrong"], behind, 0)]
    found = because(workshop, bench_clocks([check(origins["right"], 60, 0), *wrong]))

    assert said == found.endswith(f"; {IN_DOUBT}")


def test_a_gap_that_the_offset_cannot_bridge_is_sure(tmp_path: Path) -> None:
    """Tests of two benches that lie further apart than the clocks can be off."""
    workshop, origins = two_benches(tmp_path, ahead_h=100)
    clocks = bench_clocks([check(origins["right"], 60, -HOUR_MS), check(origins["wrong"], 61, 2 * HOUR_MS)])

    assert IN_DOUBT not in because(workshop, clocks)


def test_of_a_long_history_the_ends_of_each_stretch_are_kept() -> None:
    """A thousand checks alike are two; a clock that was set begins a stretch; in pieces it is the same."""
    told = [check("aa", hour, (DAY_MS if hour < 500 else 0) + hour % 3) for hour in range(1000)]
    kept = kept_history((), told)
    in_pieces: tuple[ClockCheck, ...] = ()
    for begin in range(0, 1000, 7):
        in_pieces = kept_history(in_pieces, told[begin : begin + 7])

    assert kept == in_pieces
    assert [told[0], told[499], told[500], told[999]] == list(kept)


def test_what_was_seen_of_the_clocks_decides_the_lists(tmp_path: Path) -> None:
    """The commands take it from the file beside the book, where a sync has kept it."""
    workshop, origins = two_benches(tmp_path, ahead_h=24)
    history = (check(origins["right"], 60, 0), check(origins["wrong"], 61, DAY_MS))
    seen = Seen("postgresql://books.example/x", datetime(2031, 3, 18, tzinfo=UTC).isoformat(), {}, (), history, 7)
    keep_seen(workshop.book.path, seen)
    asked = ["--on", f"{TODAY}", "--book", str(workshop.book.path)]
    due, overview = (CliRunner().invoke(main, [*words, *asked]) for words in (("book", "due"), ("overview", "--csv")))

    assert seen == seen_before(workshop.book.path)
    assert "its last install (2031-03-15) failed" in due.stdout.replace("\n              ", " ")
    assert "its last install (2031-03-15) failed" in overview.stdout
    assert IN_DOUBT not in due.stdout + overview.stdout


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("ahead_ms", "within_ms", "much"), [(5001, 0, True), (5000, 0, False), (5100, 100, False)])
def test_a_clock_is_much_off_beyond_all_doubt_only(ahead_ms: int, within_ms: int, sign: int, *, much: bool) -> None:
    """By more than five seconds, what the question itself took left off; ahead or behind."""
    assert much is ClockCheck("", "pc-1", sign * ahead_ms, within_ms, "2031-03-14T09:00:00+00:00").much


def test_each_offset_holds_up_to_its_neighbours() -> None:
    """To the microsecond: from five seconds before the check in front of it to five seconds behind the next one."""
    clock = BenchClock([Offset(0, 0, 10), Offset(100_000_000, 2_000_000, 20), Offset(200_000_000, -3_000_000, 30)])
    first, second, third = (0, 10), (2_000_000, 20), (-3_000_000, 30)  # ahead, and within which bounds
    told = [
        (-3_000_001, [first]),
        (-3_000_000, [first, second]),
        (91_999_999, [first, second]),
        (92_000_000, [first, second, third]),
        (105_000_000, [first, second, third]),
        (105_000_001, [second, third]),
        (207_000_000, [second, third]),
        (207_000_001, [third]),
    ]
    for shown, holding in told:
        earliest = min(shown - ahead - within for ahead, within in holding)
        latest = max(shown - ahead + within for ahead, within in holding)
        assert Possible(earliest, latest, shown - holding[-1][0]) == clock.possible(shown)
    edges = [shown for before, shown in pairwise(each for each, _ in told) if shown == before + 1]
    assert [-3_000_000, 92_000_000, 105_000_001, 207_000_001] == edges
    for edge in edges:
        alike = [
            clock.corrects_alike(*between) for between in ((edge - 2, edge - 1), (edge - 1, edge), (edge, edge + 1))
        ]
        assert [True, False, True] == alike


def test_five_seconds_leave_an_order_open() -> None:
    """What can have been so much before the other one may still be the later one; a microsecond more, and it is not."""
    one = Possible(100, 200, 150)
    told = [may_be_later(one, Possible(5_000_200 + more, 9_000_000, 6_000_000)) for more in (0, 1)]

    assert [True, False] == told
    assert all(may_be_later(*pair) for pair in ((None, one), (one, None), (None, None)))
