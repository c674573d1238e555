"""No path of answers reaches a pass while anything of it was not judged, is conditional, or is open as unsafe.

Nor does one reach a conditional pass while anything is open as unsafe.

The real installation and the real periodic checks are driven in memory at a sound unit, by hands that do as they are
told. At every yes/no question, release and list each answer is tried, breadth first: first every single answer that is
another one than usual, then two, as far as the bounds reach. They are:

- installation: the first 75 questions with more than one answer (the usual path has 71), 125 paths: each of the 116
  single other answers, and the first pairs;
- brief check: the first 12 questions, 30 paths: every single other answer, and pairs;
- full check: the first 40 questions, 45 paths: every single other answer.

So 200 paths in a whole sweep; the usual test run takes one in six of the single other answers.

The wiggle is read every 0.4 s, often enough to count as watched. Proven is no more than that: more than two other
answers at once, or a unit that is not sound, are for other tests. The usual path of an installation is a pass, and so
is that of a brief check. The verdict is held against the criteria, the parts and the open items as the record has them,
by counting here and not by the code that made it.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import pytest

from commission.asking.response import Interrupted
from commission.asking.steps import Steps
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.loop import Acceptance
from commission.jobs.check import periodic_check
from commission.jobs.install import JobResult, install_run
from commission.judge.plan import Plan
from commission.link.identity import PortIdentity
from commission.procedure.check.condition import Subject
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identity import Surroundings
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.settings.record import Sheet
from commission.vocabulary import PunchClass, Verdict
from tests.procedure.path_hands import Answer, PathHands, Point, paths
from tests.support.sweeps import WHOLE, as_many

DAY = date(2031, 3, 14)
HERE = Surroundings("bench-3", PortIdentity("", "", "", "socket://127.0.0.1:7000"))
PLAN = Plan(seed=1, cycles=22, readings_per_dwell=5, dwell_s=0.4, wiggle_s=60, wiggle_readings=151)
SUBJECT = Subject(HERE, "R. Okafor", DAY, PLAN, steady_s=1.0)
USUAL = {
    "moving.how": "no",
    "meter.now": False,
    "meter.reason": "no meter here",
    "mechanical.drag_n": "0.2",
    "reserve.trip_to_gear": "40",
    "reserve.gear_to_nozzle": "60",
    "reserve.job": "known",
    "reserve.queue": "3",
    "reserve.retract": "0",
    "function.mode": "warm",
    "function.material": "PLA",
    "function.celsius": "210",
}
"""What is answered where a yes, the first of a list, or any word is not what a pass takes."""
LEFTOVER_MM = 20.0
ONE_IN = as_many(6, 1)
NO_RECORD = {"identity", "firmware", "settings", "misreads against the record", "settle time", "time to pause"}
"""Comparisons: with nothing on record they may be not judged beside a pass."""
BEYOND_A_BRIEF_CHECK = {"runout detection after a restart", "unplugged", "pause"}
"""What a brief check says itself that it does not tell."""


@dataclass
class Gone:
    """The paths that were gone: how many came to each verdict, and those that passed with something against them."""

    came_to: Counter[Verdict | None] = field(default_factory=Counter)
    false: list[str] = field(default_factory=list)
    keys: set[str] = field(default_factory=set)


Objections = Callable[[PathHands], list[str]]


def gone(job: Callable[[], Steps[JobResult]], objections: Objections, *, first: int, most: int, one_in: int) -> Gone:
    """Go every path within the bounds, and hold each pass against what stands in its record."""
    all_of_it = Gone()

    def drive(path: tuple[Answer, ...]) -> Sequence[Point]:
        hands = PathHands("sound", path, USUAL, LEFTOVER_MM)
        try:
            verdict = hands.carry_out(job()).verdict
        except Interrupted:
            verdict = None
        all_of_it.came_to[verdict] += 1
        all_of_it.keys |= {point.key for point in hands.points}
        last = hands.points[len(path) - 1] if path else None
        if verdict is Verdict.PASS:
            all_of_it.false += [f"{last}: {said}" for said in (*unsafe(hands), *objections(hands))]
        if verdict is Verdict.CONDITIONAL:
            all_of_it.false += [f"{last}, conditional: {said}" for said in unsafe(hands)]
        return hands.points

    assert sum(1 for _ in paths(drive, first=first, most=most, one_in=one_in)) <= most
    return all_of_it


def unsafe(hands: PathHands) -> list[str]:
    """The open items that are unsafe."""
    return [item.text for item in hands.items if item.grade is PunchClass.UNSAFE]


def less_than_passed(criteria: Mapping[str, Verdict], may_be_open: frozenset[str] = frozenset()) -> list[str]:
    """The criteria that are no pass; some may be not judged."""
    return [
        f"{name}: {verdict.value}"
        for name, verdict in criteria.items()
        if verdict is not Verdict.PASS and not (verdict is Verdict.NOT_JUDGED and name in may_be_open)
    ]


def against_installation(hands: PathHands) -> list[str]:
    """A pass takes the acceptance with every criterion, and the function test."""
    accepted, tested = hands.findings.get(Acceptance), hands.findings.get(FunctionTest)
    if accepted is None or tested is None:
        return ["no loop check or no function test stands in the record"]
    parts = {each.name: each.verdict for each in accepted.criteria}
    return less_than_passed({**parts, "loop check": accepted.verdict, "function test": tested.verdict})


def against_check(may_be_open: set[str]) -> Objections:
    """A pass takes every criterion, but for these, and the same verdict in the record."""

    def objections(hands: PathHands) -> list[str]:
        judged = hands.findings[CheckJudged]
        parts = {each.name: each.verdict for each in judged.criteria}
        return less_than_passed({**parts, "the check": judged.verdict}, frozenset(may_be_open))

    return objections


@pytest.mark.swept
def test_no_path_of_an_installation_passes_unjudged() -> None:
    """The usual path passes, other paths come to every other verdict, and no pass has anything against it."""

    def job() -> Steps[JobResult]:
        return install_run(PLAN, "R. Okafor", Background(HERE, Calendar(DAY, DAY)), Sheet("bench-3", DAY.isoformat()))

    found = gone(job, against_installation, first=75, most=as_many(21, 125), one_in=ONE_IN)

    assert [] == found.false
    assert found.came_to[Verdict.PASS]
    assert set(Verdict) <= set(found.came_to) or not WHOLE, "these paths were to come to every verdict"
    assert {"claims.also", "unplug.ready", "pull.how", "function.now", "sign_off.statement"} <= found.keys


@pytest.mark.swept
def test_no_path_of_a_brief_check_passes_unjudged() -> None:
    """It may leave open only what has no record yet, and what it says that it does not tell."""
    found = gone(
        lambda: periodic_check(SUBJECT),
        against_check(NO_RECORD | BEYOND_A_BRIEF_CHECK),
        first=12,
        most=as_many(8, 30),
        one_in=ONE_IN,
    )

    assert [] == found.false
    assert found.came_to[Verdict.PASS]


@pytest.mark.swept
def test_no_path_of_a_full_check_passes_unjudged() -> None:
    """It may leave open only what has no record yet; with a part left out it is no pass."""
    found = gone(
        lambda: periodic_check(replace(SUBJECT, full=True)),
        against_check(NO_RECORD),
        first=40,
        most=as_many(9, 45),
        one_in=ONE_IN,
    )

    assert [] == found.false
    assert {"unplug.ready", "pull.how", "function.power.now"} <= found.keys
