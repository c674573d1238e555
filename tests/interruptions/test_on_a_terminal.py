"""Hot runs interrupted at a real terminal: the printer is safe afterwards, or screen and book name what is not.

Every process here is the real one, and so are the signals. The full matrix is `scripts/campaigns/interruptions.py`.
"""

import os
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor

import pytest

from tests.interruptions.cases import Case, covering, pairs, possible_pairs

pytest.importorskip("termios", reason="terminals of this kind exist on POSIX only")

from tests.interruptions.judged import answers, changed, faults, left_on, ways_out
from tests.interruptions.others import HEATING, IN_THE_SUITE, killed_then_interrupted
from tests.interruptions.struck import Aftermath, Interrupt, press, strike
from tests.support.sweeps import a_part

CASES = covering(1)
PRESSED_ON = next(case for case in CASES if case.levels == Case("key", 5, 0.1, "hot", "drawing").levels)
TRIED = a_part(CASES, one_in=5, always=[PRESSED_ON])
KILLED = "killed, then interrupted"


@pytest.fixture(scope="module", name="outcomes")
def _outcomes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[object, "Future[Aftermath]"]]:
    """All of it at the same time: a case mostly waits."""
    todo: dict[object, tuple[Case, Interrupt]] = {case: (case, press) for case in TRIED}
    todo.update({**IN_THE_SUITE, KILLED: (HEATING, killed_then_interrupted)})
    places = {key: tmp_path_factory.mktemp(f"case-{number}") for number, key in enumerate(todo)}
    with ThreadPoolExecutor(13 * (os.cpu_count() or 1)) as pool:
        # the longest first: what is hot at rest has been through a whole change of filament
        order = sorted(todo, key=lambda key: todo[key][0].phase not in ("hot", "paused"))
        yield {key: pool.submit(strike, todo[key][0], places[key], todo[key][1]) for key in order}


def test_the_cases_cover_every_pair() -> None:
    """Twenty-five cases hold every pair of way, number, gap, phase and desk that there is."""
    assert 25 == len(CASES)
    assert possible_pairs() == pairs(CASES)
    assert possible_pairs() != pairs(CASES[1:])


@pytest.mark.swept
@pytest.mark.parametrize("case", TRIED, ids=[case.sentence for case in TRIED])
def test_no_interruption_leaves_it_hot_and_unmentioned(case: Case, outcomes: dict[object, "Future[Aftermath]"]) -> None:
    """The printer is off and still, or named as not made safe; the run has one end, and its exit code."""
    after = outcomes[case].result()

    assert [] == faults(case, after), after.printed_after
    if case.phase != "dry":
        assert changed(after.received)
        assert answers(after) >= 1
    if case.phase not in ("dry", "paused"):
        assert [] == left_on(after.state)


@pytest.mark.parametrize("name", IN_THE_SUITE)
def test_a_lost_or_hurried_terminal_changes_nothing(name: str, outcomes: dict[object, "Future[Aftermath]"]) -> None:
    """Closed, stopped by a key, or pressed without end: the printer is off, the book says so, and so does the code."""
    after = outcomes[name].result()

    assert [] == left_on(after.state)
    assert [True] == [made["complete"] for made in ways_out(after)]
    assert [130] == [end["exit_code"] for end in after.of_kind("run_ended")]
    assert 130 == after.code


def test_pressing_on_is_answered_each_time(outcomes: dict[object, "Future[Aftermath]"]) -> None:
    """The same key pressed five times a tenth of a second apart, at the desk that draws: the answer comes each time."""
    assert 5 == answers(outcomes[PRESSED_ON].result())


def test_the_start_after_a_kill_makes_safe_to_the_end(outcomes: dict[object, "Future[Aftermath]"]) -> None:
    """What a killed run left hot is switched off by the next one, interrupted or not; then that one is stopped."""
    after = outcomes[KILLED].result()

    assert -9 == after.code
    assert [] == left_on(after.state)
    assert [True] == [made["complete"] for made in ways_out(after)]
    assert [130] == [end["exit_code"] for end in after.of_kind("run_ended")]
