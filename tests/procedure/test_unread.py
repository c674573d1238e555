"""No pass rests on readings that were not there: every watch and the trials, with a part of their answers damaged."""

from dataclasses import replace
from pathlib import Path

import pytest

from commission.evidence.findings.loop import Acceptance, Wiggle
from commission.evidence.measured import Trial, Watch
from commission.judge.plan import MOST_REPEATS
from commission.procedure.loop.loop_check import loop_check
from commission.vocabulary import Instruction, Outcome
from tests.support.fake_bench import FakeBench
from tests.support.sweeps import a_part, a_part_of_pairs
from tests.support.unread_bench import MISSING, PARTS, PLAN, RENAMED, UnreadBench, UnreadPrinter, patterns

PASSES = ("pass", "conditional pass")
NOT_JUDGED = "not judged"
RIGHT = {
    # Nothing was read, so nothing was watched.
    "0 readings": NOT_JUDGED,
    # A tenth of a second was watched, or none of a trial.
    "2 of 600": NOT_JUDGED,
    # A reading every 0.2 s is a slower console, not a blind one: the watch takes no longer and is judged in full.
    "50 % unread, every second": "pass",
    # A gap of more than half a second is rare (1 in 32); the watch takes a little longer and is judged.
    "50 % unread, by chance": "pass",
    # Two readings in a row are rare: twice the length brings a small part of the exposure.
    "95 % unread, by chance": NOT_JUDGED,
    # Two seconds between any two readings: none of it was watched.
    "95 % unread, every twentieth whole": NOT_JUDGED,
}
"""What is right for a watch. A trial takes 19 of 21 readings, which none of these leaves: it is not judged."""


@pytest.mark.swept
@pytest.mark.parametrize(("part", "pattern"), a_part_of_pairs(list(PARTS), list(RIGHT), one_in=4))
async def test_what_was_not_read_is_not_judged(tmp_path: Path, part: str, pattern: str) -> None:
    """Each cell has the one verdict that is right for it, the whole is no better, and nothing ends in a traceback."""
    bench = UnreadBench(tmp_path, PARTS[part], patterns(seed=7)[pattern], MISSING)
    ended = await bench.check()
    right = NOT_JUDGED if part.startswith("trials") else RIGHT[pattern]

    assert Outcome.COMPLETE is ended.outcome
    assert right == bench.criteria["part"]
    assert (right == "pass") is (bench.criteria["whole"] in PASSES)
    assert [] == bench.book.verify()


@pytest.mark.swept
@pytest.mark.parametrize("part", a_part(list(PARTS), one_in=3))
async def test_a_damaged_name_is_no_reading(tmp_path: Path, part: str) -> None:
    """One letter of the name changed in every answer is as good as no answer."""
    bench = UnreadBench(tmp_path, PARTS[part], lambda _number: False, RENAMED)
    await bench.check()

    assert NOT_JUDGED == bench.criteria["part"]
    assert bench.criteria["whole"] not in PASSES


@pytest.mark.swept
@pytest.mark.parametrize("part", a_part(list(PARTS), one_in=2))
async def test_every_part_passes_where_all_is_read(tmp_path: Path, part: str) -> None:
    """The table can fail: without damage each of its parts passes, and so does the whole."""
    bench = UnreadBench(tmp_path, PARTS[part], lambda _number: True)
    await bench.check()

    assert ("pass", True) == (bench.criteria["part"], bench.criteria["whole"] in PASSES)


@pytest.mark.parametrize("part", ["trials", "trials, brief check"])
async def test_trials_that_cannot_be_read_end_soon(tmp_path: Path, part: str) -> None:
    """The first prompt comes again five times, each an unread trial in the book; then the trials end with an item."""
    bench = UnreadBench(tmp_path, PARTS[part], lambda _number: False)
    await bench.check()

    assert 1 + MOST_REPEATS == len(bench.entries(Trial))
    assert MOST_REPEATS == bench.desk.asked.count("trial.again")
    assert any("Too many trials could not be read (6)" in item.text for item in bench.desk.items)
    assert "unplug.ready" not in bench.desk.asked


async def test_a_poor_line_is_slower_and_not_refused(tmp_path: Path) -> None:
    """With one answer in twenty lost by chance some trials are taken again, and it passes all the same."""
    lost = patterns(seed=3)["95 % unread, by chance"]
    bench = UnreadBench(tmp_path, PARTS["trials"], lambda number: not lost(number))
    await bench.check()

    taken = bench.entries(Trial)
    unread = [trial for trial in taken if trial.unread > 2]
    assert unread
    assert bench.criteria["whole"] in PASSES
    assert "pass" == bench.criteria["trials set aside"]
    assert 12 == sum(trial.instruction is not Instruction.LEAVE for trial in taken if trial not in unread)


WATCHES = ("wiggle", "unplugged watch", "start-up watch", "steady watch, unattended")


@pytest.mark.swept
@pytest.mark.parametrize("part", a_part(WATCHES, one_in=2))
async def test_no_watch_takes_more_than_twice_its_length(tmp_path: Path, part: str) -> None:
    """Where nothing comes it is given up at twice the time; where half comes it goes on only for what it lacks."""
    taken: dict[str, float] = {}
    for pattern in ("0 readings", "50 % unread, by chance"):
        bench = UnreadBench(tmp_path / pattern[:2], PARTS[part], patterns(seed=7)[pattern])
        await bench.check()
        watches = [watch for watch in bench.entries(Watch) if watch.key.startswith(PARTS[part].keys)]
        longest = [watch for watch in watches if not watch.key.endswith(".before")]
        taken[pattern] = max(watch.taken_s / watch.seconds for watch in longest)

    assert pytest.approx(2.0, abs=0.1) == taken["0 readings"]
    assert 1.0 <= taken["50 % unread, by chance"] <= 2.1


async def test_a_wiggle_of_no_length_is_not_judged(tmp_path: Path) -> None:
    """Planned to take no time it watched nothing, and that is said instead of a traceback."""
    bench = FakeBench(tmp_path)
    await bench.run(loop_check(replace(PLAN, wiggle_s=0, wiggle_readings=0), "filament"))

    criteria = {each.name: each.verdict.value for each in bench.desk.findings[Acceptance].criteria}
    assert NOT_JUDGED == criteria["wiggle"]
    assert "Nothing was watched: 1 of 1 reading could be understood." in bench.desk.findings[Wiggle].sentences


async def test_what_was_seen_to_be_wrong_fails_however_little_was_read(tmp_path: Path) -> None:
    """Two readings of a wiggle that differ are a change, though nothing else of it could be read."""
    bench = UnreadBench(tmp_path, PARTS["wiggle"], lambda number: number in (35, 36))
    before = bench.surprise
    bench.surprise = lambda queries: _let_go(bench, before(queries))
    await bench.check()

    assert "fail" == bench.criteria["part"]


def _let_go(bench: UnreadBench, answer: bytes | None) -> bytes | None:
    """The switch lets go between the two readings of a wiggle that are left."""
    if answer is None and bench.desk.asked[-1:] == ["wiggle"]:
        bench.present = not bench.present
    return answer


ON_A_PRINTER = ("wiggle", "moves while unplugged", "start-up watch", "trials", "steady watch, unattended")


ON_EVERY_BENCH = ("0 readings", "2 of 600", "50 % unread, every second")
"""What 95 % unread leaves of a watch depends on how often a printer answers, and the two benches differ in that."""


@pytest.mark.swept
@pytest.mark.parametrize(("part", "pattern"), a_part_of_pairs(ON_A_PRINTER, ON_EVERY_BENCH, one_in=3))
async def test_the_simulated_printer_is_judged_alike(tmp_path: Path, part: str, pattern: str) -> None:
    """The same cells, with the simulated printer's own answers, its hands and its power-offs."""
    bench = UnreadPrinter(tmp_path, "sound", PARTS[part], patterns(seed=7)[pattern])
    ended = await bench.check()
    right = NOT_JUDGED if part.startswith("trials") else RIGHT[pattern]

    assert Outcome.COMPLETE is ended.outcome
    assert right == bench.criteria["part"]
    assert (right == "pass") is (bench.criteria["whole"] in PASSES)
