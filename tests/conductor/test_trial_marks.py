"""What a person says during a trial, and what is shown of it meanwhile: nothing that is read."""

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from commission.asking import response as asking
from commission.asking.request import TakeTrial, Watch
from commission.asking.response import TrialTaken
from commission.asking.steps import Steps, ask, take, watch
from commission.desk.base import Mark, Status
from commission.dialect.commands import SWITCHES
from commission.evidence.measured import Trial, WatchBrokenOff
from commission.evidence.runs import Interrupted
from commission.vocabulary import Instruction, Presence, Spoken
from tests.conductor.test_runs import SHORT, check
from tests.support.fake_bench import FakeBench

TRIALS = tuple(TakeTrial(number, 12, 1, Instruction.INSERT, Presence.IN, "filament", 3.0, 21, 2.0) for number in (1, 2))


class MarkingBench(FakeBench):
    """A bench whose operator presses a key once the live line has shown these words so often."""

    def __init__(self, folder: Path, mark: Mark, words: str, times: int = 2) -> None:
        super().__init__(folder)
        self._mark, self._words, self._left = mark, words, times
        setattr(self.desk, "show", self._show)  # noqa: B010 - so that it is known what is on the screen

    def _show(self, status: Status) -> None:
        self.desk.statuses.append(status)
        if status.progress.startswith(self._words):
            self._left -= 1
            if self._left == 0:
                self.desk.marks = [self._mark]


COUNTDOWN, DWELL = "get ready", "keep still"


def both() -> Steps[list[TrialTaken]]:
    """Two trials, one behind the other."""
    first = yield from take(TRIALS[0])
    return [first, (yield from take(TRIALS[1]))]


async def taken(bench: FakeBench) -> list[TrialTaken]:
    """What came of both."""
    ended = await bench.run(both())
    assert ended.result is not None
    return ended.result


async def test_nothing_that_is_read_is_shown_before_the_dwell_is_over(tmp_path: Path) -> None:
    """The live line tells of time and place alone."""
    bench = FakeBench(tmp_path)
    await taken(bench)

    assert {(None, "")} == {(status.reading, status.wire_word) for status in bench.desk.statuses}
    assert {COUNTDOWN, DWELL} == {status.progress.split(":")[0] for status in bench.desk.statuses}


@pytest.mark.parametrize("countdown_s", [0.06, 0.25, 3.0, 3.07])
async def test_no_dwell_begins_before_its_countdown_is_over(tmp_path: Path, countdown_s: float) -> None:
    """Whatever part of a beat is left of it: a hand has the time that it was promised."""
    bench = FakeBench(tmp_path)
    await bench.run(take(replace(TRIALS[0], countdown_s=countdown_s)))
    (trial,) = bench.entries(Trial)

    assert countdown_s <= trial.dwell[0].at_s <= countdown_s + 0.1


@pytest.mark.parametrize(("words", "spoken"), [(COUNTDOWN, Spoken.BEFORE), (DWELL, Spoken.LATER)])
async def test_when_a_trial_was_declared_spoilt_is_recorded(tmp_path: Path, words: str, spoken: Spoken) -> None:
    """Before its dwell, or once its readings had begun; the reason is asked for after the dwell."""
    bench = MarkingBench(tmp_path, Mark.SPOILT, words)
    bench.answers = lambda key: "dropped it" if key == "trial.void_reason" else None
    first, second = await taken(bench)

    assert (spoken, "dropped it", 21) == (first.spoken, first.void_reason, len(first.dwell))
    assert (None, "") == (second.spoken, second.void_reason)
    assert [spoken, None] == [entry.spoken for entry in bench.entries(Trial)]


async def test_the_key_says_which_trial_it_meant(tmp_path: Path) -> None:
    """Pressed a moment late, it may mean the one before: the trial it was pressed in stands."""
    bench = MarkingBench(tmp_path, Mark.SPOILT, COUNTDOWN, times=33)  # in the countdown of the second one
    bench.answers = {"trial.which": "before", "trial.void_reason": "dropped it"}.get
    first, second = await taken(bench)

    assert (None, None, "dropped it") == (first.spoken, second.spoken, second.void_before)


async def test_a_key_pressed_by_mistake_changes_nothing(tmp_path: Path) -> None:
    """Neither is an answer too, and no reason is asked for."""
    bench = MarkingBench(tmp_path, Mark.SPOILT, DWELL)
    bench.answers = lambda key: "neither" if key == "trial.which" else None
    first, _ = await taken(bench)

    assert (None, "") == (first.spoken, first.void_reason)
    assert "trial.void_reason" not in bench.desk.asked


async def test_a_wait_before_the_dwell_takes_none(tmp_path: Path) -> None:
    """The trial is set aside; what its countdown read stays in the record."""
    bench = MarkingBench(tmp_path, Mark.PAUSE, COUNTDOWN)
    first, _ = await taken(bench)

    assert (Spoken.BEFORE, "the operator asked to wait", ()) == (first.spoken, first.void_reason, first.dwell)
    assert first.before


async def test_a_wait_in_the_dwell_holds_up_the_next_prompt_and_costs_nothing(tmp_path: Path) -> None:
    """The trial is taken to its end and stands."""
    bench = MarkingBench(tmp_path, Mark.PAUSE, DWELL)
    first, second = await taken(bench)

    assert ([None, None], 21) == ([first.spoken, second.spoken], len(first.dwell))
    asked = [key for key in bench.desk.asked if key.startswith("trial.")]
    assert ["trial.insert", "trial.paused", "trial.insert"] == asked


async def test_a_stop_in_a_watch_keeps_what_was_read(tmp_path: Path) -> None:
    """What a wiggle showed until then is on record, and no trial is lost that had begun."""
    bench = FakeBench(tmp_path)
    seen = [0]

    def lost(queries: int) -> bytes | None:
        if "wiggle.ready" in bench.desk.asked:
            seen[0] += 1
            if seen[0] == 120:
                bench.links[-1].lose()
        return None

    bench.surprise = lost
    await check(bench, SHORT)

    (kept,) = bench.entries(WatchBrokenOff)
    assert ("wiggle", True) == (kept.key, len(kept.readings) > 20)
    assert bench.entries(Interrupted)


async def test_a_broken_off_watch_is_kept_once(tmp_path: Path) -> None:
    """Where the steps go on after it and are interrupted again, its readings are not written a second time."""
    bench = FakeBench(tmp_path)
    bench.surprise = lambda queries: bench.links[-1].lose() if queries == 30 else None

    def twice_broken() -> Steps[None]:
        with suppress(asking.Interrupted):
            yield from watch(Watch("rest", "At rest", (), "filament", None, 10.0, 100))
        with suppress(asking.Interrupted):
            yield from ask(SWITCHES)

    await bench.run(twice_broken())

    assert ["rest"] == [each.key for each in bench.entries(WatchBrokenOff)]
    assert 2 == len(bench.entries(Interrupted))
