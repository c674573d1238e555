"""What stands against a printer until a test with hands clears it: failures, and open items of class A."""

from datetime import date
from pathlib import Path

import pytest

from commission.evidence.runs import RunResumed
from commission.evidence.talk import HoldReleased, Punched
from commission.records.due import Standing, due_list
from commission.records.open_items import unsafe_by_phase
from commission.records.unsettled import left_standing, unsettled
from commission.vocabulary import PunchClass, Verdict
from tests.records.books import Workshop

FIRST_DAY = date(2031, 3, 14)


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """A workshop whose printer bench-3 was installed and passed on 14 March 2031."""
    workshop = Workshop(tmp_path)
    workshop.whole_run("bench-3/2031-03-14/1")
    return workshop


def has(workshop: Workshop, *runs: str) -> None:
    """Completed runs one after the other, each as `brief check: fail`."""
    for count, said in enumerate(runs, start=2):
        purpose, _, verdict = said.partition(": ")
        workshop.whole_run(f"bench-3/2031-03-14/{count}", purpose, verdict)


def item(workshop: Workshop, run: str, grade: str = "A", text: str = "It reads in.", settled_by: str = "") -> None:
    """An open item."""
    opened = Punched(grade=PunchClass(grade), text=text, cure="Put it right.", settled_by=settled_by)
    workshop.book.append(run, opened)


def said(workshop: Workshop) -> list[str]:
    """What stands against bench-3."""
    return [each.sentence for each in unsettled(workshop.book, "bench-3")]


def due(workshop: Workshop) -> tuple[Standing, str]:
    """How the due list has it."""
    (found,) = due_list(workshop.book, FIRST_DAY)
    return found.standing, found.because


def test_a_passed_printer_has_nothing_against_it(workshop: Workshop) -> None:
    """Neither a failure nor an item."""
    assert [] == said(workshop)


@pytest.mark.parametrize(
    ("runs", "stands"),
    [
        (["brief check: fail"], True),
        (["brief check: fail", "condition check: pass"], True),
        (["brief check: fail", "condition check: pass", "condition check: pass"], True),
        (["brief check: fail", "brief check: not judged"], True),
        (["brief check: fail", "backup: pass"], True),
        (["brief check: fail", "function: pass"], True),
        (["brief check: fail", "brief check: pass"], False),
        (["brief check: fail", "brief check: conditional pass"], False),
        (["brief check: fail", "full check: pass"], False),
        (["condition check: fail", "condition check: pass"], True),
        (["condition check: fail", "brief check: pass"], False),
        (["full check: fail", "brief check: pass"], True),
        (["full check: fail", "full check: conditional pass"], False),
        (["full check: fail", "install: pass"], False),
        (["function: fail", "brief check: pass"], True),
        (["function: fail", "full check: conditional pass"], True),
        (["function: fail", "full check: pass"], False),
        (["function: fail", "function: conditional pass"], False),
        (["restore: fail", "condition check: pass"], True),
        (["restore: fail", "brief check: pass"], False),
        (["brief check: fail", "brief check: pass", "condition check: pass"], False),
    ],
)
def test_only_a_test_with_hands_clears_a_failure(workshop: Workshop, runs: list[str], *, stands: bool) -> None:
    """It takes a completed one that passed and looks as deep as the one that failed; no unattended check ever does."""
    has(workshop, *runs)

    assert stands is bool(said(workshop))
    assert stands is (due(workshop)[0] is Standing.AT_ONCE)


def test_the_due_list_goes_on_saying_what_failed(workshop: Workshop) -> None:
    """A passing unattended check after a failed one with hands leaves the list as it was; so does a failing one."""
    has(workshop, "brief check: fail")
    before = due(workshop)
    workshop.whole_run("bench-3/2031-03-14/3", "condition check")
    passed = due(workshop)
    workshop.whole_run("bench-3/2031-03-14/4", "condition check", verdict="fail")

    expected = (Standing.AT_ONCE, "its last brief check (2031-03-14) failed")
    assert [expected, expected, expected] == [before, passed, due(workshop)]


def test_a_check_that_was_broken_off_clears_nothing(workshop: Workshop) -> None:
    """Only one that came to its end does."""
    has(workshop, "brief check: fail")
    workshop.begin("bench-3/2031-03-14/3", "brief check")
    workshop.end("bench-3/2031-03-14/3", "pass", outcome="link lost")

    assert ["The brief check of 2031-03-14 failed."] == said(workshop)


@pytest.mark.parametrize(
    ("opened_in", "outcome", "later", "stands"),
    [
        ("brief check", "complete", "condition check: pass", True),
        ("brief check", "complete", "brief check: pass", False),
        ("brief check", "stopped by the operator", "condition check: pass", True),
        ("brief check", "stopped by the operator", "brief check: pass", False),
        ("install", "stopped by the operator", "brief check: pass", True),
        ("install", "stopped by the operator", "install: conditional pass", False),
        ("condition check", "complete", "condition check: pass", True),
        ("function", "link lost", "function: pass", False),
    ],
)
def test_an_item_of_class_a_stands_like_a_failure(
    workshop: Workshop, opened_in: str, outcome: str, later: str, *, stands: bool
) -> None:
    """Also the item of a run that was stopped or broken off."""
    workshop.begin("bench-3/2031-03-14/2", opened_in)
    item(workshop, "bench-3/2031-03-14/2")
    workshop.end("bench-3/2031-03-14/2", "not judged", outcome)
    purpose, _, verdict = later.partition(": ")
    workshop.whole_run("bench-3/2031-03-14/3", purpose, verdict)

    assert (["Found on 2031-03-14 and open since, class A: It reads in."] if stands else []) == said(workshop)
    assert stands is ("an item of class A is open since" in due(workshop)[1])


def test_items_of_other_classes_stand_against_nothing(workshop: Workshop) -> None:
    """Class B is incomplete and C is minor."""
    for grade in "BC":
        item(workshop, "bench-3/2031-03-14/1", grade)

    assert [] == said(workshop)


def test_a_settled_item_is_no_open_one(workshop: Workshop) -> None:
    """The sensor that was left unplugged is plugged in again later in the same run."""
    item(workshop, "bench-3/2031-03-14/1", settled_by="unplug.reconnect")
    workshop.book.append("bench-3/2031-03-14/1", HoldReleased(key="unplug.reconnect"))

    assert [] == said(workshop)


def test_a_run_taken_up_and_passed_clears_its_own_items(workshop: Workshop) -> None:
    """What was suspected before it was broken off has been tested again by its end."""
    run = "bench-3/2031-03-14/2"
    workshop.begin(run, "full check")
    item(workshop, run)
    workshop.end(run, "not judged", "interrupted by the printer")
    before = len(said(workshop))
    workshop.book.append(run, RunResumed(number=run, tag="bench-3", purpose="full check"))
    workshop.end(run, "pass")

    assert (1, []) == (before, said(workshop))


def test_what_a_timer_finds_each_night_stands_once(workshop: Workshop) -> None:
    """An item since the day it was found, a failure as the last of its kind."""
    for count in range(2, 5):
        run = f"bench-3/2031-03-1{count + 2}/1"
        workshop.begin(run, "condition check")
        item(workshop, run, text="Watching is off.")
        workshop.end(run, "fail")
        workshop.days_pass(1)

    assert [
        "Found on 2031-03-14 and open since, class A: Watching is off.",
        "The condition check of 2031-03-16 failed.",
    ] == sorted(said(workshop))


def test_another_printers_failure_is_its_own(workshop: Workshop) -> None:
    """A printer is held to its own runs only."""
    workshop.whole_run("bench-4/2031-03-14/1", "brief check", "fail", tag="bench-4")

    assert [] == said(workshop)


@pytest.mark.parametrize(
    ("runs", "purpose", "verdict", "left"),
    [
        (["install: fail"], "brief check", "pass", True),
        (["install: fail"], "full check", "conditional pass", False),
        (["install: fail"], "install", "conditional pass", False),
        (["brief check: fail"], "condition check", "pass", True),
        (["brief check: fail"], "brief check", "pass", False),
        (["function: fail"], "full check", "conditional pass", True),
        (["function: fail"], "full check", "pass", False),
        (["install: fail"], "full check", "not judged", True),
    ],
)
def test_what_a_run_would_leave_standing_is_known(
    workshop: Workshop, runs: list[str], purpose: str, verdict: str, *, left: bool
) -> None:
    """Before it has its end: by what it is for and what it would come to, as though it had ended so."""
    has(workshop, *runs)

    assert left is bool(left_standing(workshop.book, "bench-3", purpose, Verdict(verdict)))


def test_a_run_taken_up_is_not_held_up_by_itself(workshop: Workshop) -> None:
    """What its earlier part left open is its own, and no other run's."""
    run = "bench-3/2031-03-14/2"
    workshop.begin(run)
    item(workshop, run)

    assert 1 == len(left_standing(workshop.book, "bench-3", "brief check", Verdict.PASS))
    assert [] == left_standing(workshop.book, "bench-3", "brief check", Verdict.PASS, run)


def test_open_items_are_told_by_their_phase(workshop: Workshop) -> None:
    """Those of class A, of phases only, without what was settled or is raised anew in the same phase begun again."""
    run = "bench-3/2031-03-14/2"
    workshop.begin(run)
    item(workshop, run, text="Outside of any.")
    workshop.phase(run, "wiring", ended=False)
    item(workshop, run, text="A hazard.")
    item(workshop, run, "B", "A minor thing.")
    workshop.phase(run, "loop_check", ended=False)
    item(workshop, run, text="Unplugged.", settled_by="unplug.reconnect")
    first = unsafe_by_phase(workshop.book, run)
    workshop.book.append(run, HoldReleased(key="unplug.reconnect"))
    settled = unsafe_by_phase(workshop.book, run)
    workshop.phase(run, "wiring")

    assert [("wiring", "A hazard."), ("loop_check", "Unplugged.")] == [(phase, each.text) for phase, each in first]
    assert [("wiring", "A hazard.")] == [(phase, each.text) for phase, each in settled]
    assert [] == unsafe_by_phase(workshop.book, run)


CLEARED_BY = {
    "install": {"install", "full check"},
    "full check": {"install", "full check"},
    "brief check": {"install", "full check", "brief check"},
    "condition check": {"install", "full check", "brief check"},
    "function": {"install", "full check", "function"},
    "motion": {"motion"},
}


@pytest.mark.parametrize("failed", CLEARED_BY)
def test_a_failure_is_cleared_by_as_deep_a_test(tmp_path: Path, failed: str) -> None:
    """What a run with the movement found is cleared by such a run alone; the pause by whatever tests it."""
    workshop = Workshop(tmp_path)
    cleared_by = set()
    for count, purpose in enumerate(CLEARED_BY):
        tag = f"bench-{count}"
        workshop.whole_run(f"{tag}/2031-03-14/1", failed, "fail", tag=tag)
        assert 1 == len(unsettled(workshop.book, tag))
        workshop.whole_run(f"{tag}/2031-03-14/2", purpose, tag=tag)
        cleared_by |= set() if unsettled(workshop.book, tag) else {purpose}

    assert CLEARED_BY[failed] == cleared_by


def test_of_an_open_run_only_the_unsafe_items_stand(workshop: Workshop) -> None:
    """Those of other classes beside them do not, nor those that a later test cleared."""
    run = "bench-3/2031-03-14/1"
    for grade, text in (("A", "It reads in."), ("B", "A lead is loose."), ("C", "A label is gone.")):
        item(workshop, run, grade, text)
    stood = [each.what for each in unsettled(workshop.book, "bench-3")]
    has(workshop, "full check: pass")
    item(workshop, run, "A", "Found later.")
    later = [each.what for each in unsettled(workshop.book, "bench-3")]

    assert ["It reads in."] == stood
    assert ["Found later."] == later
