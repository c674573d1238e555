"""A sensor of movement fed by the printer's motor, on simulated units in memory: what is sent, and who is blamed."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from commission.evidence.measured import MovesBegan, WatchBegan
from commission.evidence.talk import Punched
from commission.judge.movement import NAME_CHANGES, NAME_FED, NAME_PRINTER, NAME_SHEET
from commission.vocabulary import Outcome, PunchClass, Verdict
from tests.support.feed_bench import MARKED, FeedBench
from tests.support.sweeps import a_part, a_part_of_pairs


def possible(length_mm: float, pitch_mm: float) -> set[int]:
    """How often a wheel of that pitch can change over that length, by the geometry alone."""
    whole = int(length_mm // pitch_mm)
    return {whole, whole + 1}


async def test_a_sound_wheel_is_counted_by_the_motor(tmp_path: Path) -> None:
    """3 mm a change, a mark that went 300 mm after 10 mm of slack: a pass, and how it was moved is kept."""
    marks = {"motion.mark_before": "400", "motion.mark_after": "90"}
    bench = FeedBench(tmp_path, "motion-sensor", {"motion.length": "100", **marks})
    ended = await bench.checked()
    found = bench.finding

    assert ended.result is not None
    assert Verdict.PASS is ended.result.verdict
    assert ("motor", 100.0, 300.0) == (found.moved_by, found.length_mm, found.marked_mm)
    assert 3 == len(found.passes)
    assert {each.changes for each in found.passes} <= possible(100, 3)
    assert found.longest_mm == pytest.approx(3.0, abs=0.3)
    assert 0 == bench.target_c


async def test_the_length_of_a_pass_is_the_persons(tmp_path: Path) -> None:
    """60 mm: the moves add up to that each time, and so do the changes."""
    bench = FeedBench(tmp_path, "motion-sensor", {"motion.length": "60"})
    await bench.checked()

    assert {each.changes for each in bench.finding.passes} <= possible(60, 3)
    for began in bench.entries(MovesBegan):
        assert 60 == pytest.approx(round(60 / began.feed_mm) * began.feed_mm)
        assert (0.0, 1.5) == (began.travel_mm, pytest.approx(began.feed_mm / began.block_s))


async def test_it_is_heated_and_never_driven_cold(tmp_path: Path) -> None:
    """Heat before the first feed, off after the last; nothing touches the guard, an axis, a job or a store."""
    bench = FeedBench(tmp_path, "motion-sensor", {})
    await bench.checked()
    sent = bench.received
    feeds = [place for place, line in enumerate(sent) if line.startswith("G1 ")]

    assert sent.index("M104 S200") < feeds[0]
    assert feeds[-1] < sent.index("M104 S0")
    assert not [line for line in sent if line.startswith(("M302 ", "G28", "M75", "M500", "M412 ")) or " X" in line]
    assert all(" E-" not in line for line in sent)
    assert "M82" in sent


FAULTY = [
    ("motion-dead", NAME_CHANGES, "3"),
    ("motion-half", NAME_SHEET, "3"),
    ("motion-catches", NAME_PRINTER, ""),
]


@pytest.mark.swept
@pytest.mark.parametrize(("unit", "rule", "sheet"), a_part(FAULTY, one_in=2))
async def test_a_mark_leaves_a_faulty_wheel_to_blame(tmp_path: Path, unit: str, rule: str, sheet: str) -> None:
    """The filament went as far as told, and changes did not come, or 18 mm without one: no drive is to blame."""
    bench = FeedBench(tmp_path, unit, {**MARKED, "motion.sheet": sheet})
    ended = await bench.checked()

    assert ended.result is not None
    assert Verdict.FAIL is ended.result.verdict
    assert (Verdict.FAIL, Verdict.PASS) == (bench.rules[rule], bench.rules[NAME_FED])


TOO_FEW = ("motion-slips", "motion-dead", "motion-half")
MARKS: Mapping[str, Mapping[str, str]] = {
    "no mark": {},
    "a mark that went 68 mm": {"motion.mark_before": "400", "motion.mark_after": "322"},
}


@pytest.mark.swept
@pytest.mark.parametrize(("unit", "marks"), a_part_of_pairs(TOO_FEW, list(MARKS), one_in=2))
async def test_a_drive_that_may_slip_is_told_first(tmp_path: Path, unit: str, marks: str) -> None:
    """Too few changes, and no mark or one that went 68 mm of 180: not judged, and the hand is asked for."""
    bench = FeedBench(tmp_path, unit, MARKS[marks])
    ended = await bench.checked()
    items = bench.entries(Punched)

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict
    assert Verdict.NOT_JUDGED is bench.rules[NAME_FED]
    assert Verdict.FAIL not in bench.rules.values()
    assert [PunchClass.INCOMPLETE] == [item.grade for item in items]
    assert "by hand" in items[0].cure


async def test_what_is_not_released_moves_and_heats_nothing(tmp_path: Path) -> None:
    """A no at the release: only questions went out, nothing is judged, and it is open."""
    bench = FeedBench(tmp_path, "motion-sensor", {"motion.release": False})
    ended = await bench.checked()

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict
    assert not [line for line in bench.received if line.startswith(("G1", "M104", "M140", "M83", "M77"))]
    assert "nothing was heated and nothing moved" in bench.entries(Punched)[0].text


@pytest.mark.parametrize("stop", ["motion.release", "motion.feed", "motion.mark_after"])
async def test_a_stop_at_any_moment_leaves_it_cold(tmp_path: Path, stop: str) -> None:
    """Before the heat, in the middle of it, and after it: no target is left, and nothing more is fed."""
    bench = FeedBench(tmp_path, "motion-sensor", MARKED)
    bench.desk.stop_at = stop
    ended = await bench.checked()

    assert Outcome.STOPPED is ended.outcome
    assert ended.made_safe.complete
    assert 0 == bench.target_c


async def test_a_stop_while_it_heats_leaves_it_cold(tmp_path: Path) -> None:
    """Ctrl-C twenty seconds after the release."""
    bench = FeedBench(tmp_path, "motion-sensor", MARKED)
    bench.deeds["motion.release"] = lambda: bench.clock.later(20.0, bench.desk.stop_now)
    ended = await bench.checked()

    assert Outcome.STOPPED is ended.outcome
    assert 0 == bench.target_c
    assert not [line for line in bench.received if line.startswith("G1 ")]


async def test_a_nozzle_that_does_not_get_hot_is_fed_nothing(tmp_path: Path) -> None:
    """The board lives by USB, and the mains is off: after ten minutes it is given up, said, and switched off."""
    bench = FeedBench(tmp_path, "motion-sensor", {})
    bench.deeds["motion.release"] = lambda: bench.printer.perform("mains", "off")
    ended = await bench.checked()

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict
    assert not [line for line in bench.received if line.startswith("G1 ")]
    assert any("did not get hot enough" in item.text for item in bench.entries(Punched))
    assert 0 == bench.target_c


async def test_the_screen_says_pull_while_it_is_pulled(tmp_path: Path) -> None:
    """In one large word, and never the contrary: a person who keeps still would make a sound sensor look dead."""
    bench = FeedBench(
        tmp_path, "motion-sensor", {"motion.how": "hand", "motion.marks": "198", "motion.marks_again": "198"}
    )
    bench.deeds["motion.marks"] = lambda: bench.printer.perform("insert")
    bench.deeds["motion.pull"] = lambda: bench.clock.later(2.0, lambda: bench.printer.perform("pull", "198", "10"))
    ended = await bench.checked()
    words = {status.word for status in bench.desk.statuses if status.progress.startswith("reading")}

    assert ended.result is not None
    assert Verdict.PASS is ended.result.verdict
    assert {"", "PULL"} == words


async def test_a_pull_too_fast_to_read_gets_more_time(tmp_path: Path) -> None:
    """198 mm in a second are 15 ms a change: it does not count, and the next passes ask for twice the time."""
    bench = FeedBench(
        tmp_path, "motion-sensor", {"motion.how": "hand", "motion.marks": "198", "motion.marks_again": "198"}
    )
    times = iter(("1", *["15"] * 5))
    bench.deeds["motion.marks"] = lambda: bench.printer.perform("insert")
    bench.deeds["motion.pull"] = lambda: bench.clock.later(
        2.0, lambda: bench.printer.perform("pull", "198", next(times))
    )
    await bench.checked()
    asked = [entry for entry in bench.entries(WatchBegan) if entry.key == "motion.pull"]

    assert Verdict.PASS is bench.finding.verdict
    assert 1 == bench.finding.set_aside
    assert [20.0, 40.0, 40.0, 40.0] == [entry.seconds for entry in asked]


@pytest.mark.parametrize("how", ["hand", "motor"])
async def test_a_reading_that_is_lost_is_no_dead_sensor(tmp_path: Path, how: str) -> None:
    """From the first pass on the line of the sensor comes damaged: no change was seen, and nothing is said of it."""
    bench = FeedBench(
        tmp_path, "motion-sensor", {"motion.how": how, "motion.marks": "198", "motion.marks_again": "198"}
    )

    struck: list[str] = []
    bench.on_the_wire = lambda data: data.replace(b"filament:", b"filamen\x7f:") if struck else data
    begins = "motion.release" if how == "motor" else "motion.ready"
    bench.deeds[begins] = lambda: struck.append(begins)
    ended = await bench.checked()

    assert ended.result is not None
    assert Verdict.NOT_JUDGED is ended.result.verdict
    assert () == bench.finding.passes


@pytest.mark.parametrize("unit", ["e-pulses", "b-laser", "c-motion"])
async def test_what_is_not_moved_by_motor_says_why(tmp_path: Path, unit: str) -> None:
    """A printer that this program never moves: no choice is offered, and the reason is said or stands open."""
    bench = FeedBench(tmp_path, unit, {"motion.marks": "198", "motion.marks_again": "198"})
    bench.desk.stop_at = "motion.marks"
    await bench.checked()

    assert "motion.how" not in bench.desk.asked
    assert not [line for line in bench.received if line.startswith(("G1", "M104", "M83"))]
    moved = any("this program does not move a printer of this family" in told for told in bench.desk.told)
    assert moved or bench.entries(Punched)
