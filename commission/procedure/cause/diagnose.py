"""Phase: what is wrong, weighed from what was seen; then the safe test that tells most, until one class leads.

It works from any subset of tests already done, and asks for none that might restart the board. A restart in a test is
evidence as well, and ends the phase: it is not repeated to learn more.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from commission.asking.cautions import SUPPLY_SHORT
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, carried_out
from commission.asking.power import HANDS, put_together
from commission.asking.request import Choose, Option
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, choose, establish
from commission.drawing.shares import Share, shares_text
from commission.evidence.findings.base import MOST_ODDS
from commission.evidence.findings.cause import CauseClass, Diagnosis
from commission.judge.diagnosis import BenchTest, Group, Observation, separating
from commission.judge.next_test import Choice
from commission.judge.next_test import choose as next_test
from commission.judge.plan import Plan
from commission.judge.wording import counted
from commission.procedure.cause.bench_tests import LEFT_APART, LEFT_APART_STEPS, PLUGGED, RECONNECT, Bench, Place
from commission.procedure.cause.suspected_short import may_be_plugged_in, safe_choice
from commission.procedure.loop.tests_done import keep_tests
from commission.procedure.wiring.candidates import Case, bench_tests, case_of, for_record
from commission.procedure.wiring.declaration import Declared
from commission.vocabulary import PunchClass
from commission.wiring.installation import Installation, WiringError
from commission.wiring.prediction import Probe

DIAGNOSIS = Phase(
    "diagnosis",
    "Diagnosis: what is wrong, and what to try next",
    "the diagnosis",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING}),
)
LEAST_SHOWN = 0.005
"""Classes below this share are put together in the table: nobody acts on them."""
MOST_ON_SCREEN = 4
"""So many classes at most stand on the screen, with the next question below them on 24 rows."""


@dataclass(frozen=True)
class Weighed:
    """Where the diagnosis stands, with what it was made from."""

    declared: Declared
    seen: tuple[Observation, ...]
    tests: tuple[BenchTest, ...]

    def __post_init__(self) -> None:
        if self.declared.installation is None:
            raise WiringError("This sensor is no presence input: there is no wiring to diagnose.")
        if not self.seen and not self.tests:
            raise ValueError("Nothing was tried and nothing can be: the diagnosis is not judged.")

    @property
    def installation(self) -> Installation:
        """What was declared."""
        if self.declared.installation is None:  # refused on creation
            raise WiringError("There is no wiring.")
        return self.declared.installation

    @property
    def case(self) -> Case:
        """Candidates, predictions and priors."""
        return case_of(self.installation)

    @property
    def choice(self) -> Choice:
        """The classes with their weights, and the next test; after a restart that of the meter."""
        return safe_choice(next_test(self.case.table, self.case.priors, self.tests, self.seen), self.tests, self.seen)


def weigh(declared: Declared, seen: Sequence[Observation], *, asks: bool = True) -> Steps[Weighed]:
    """Weigh what was seen, show and record it, without asking for anything.

    Args:
        declared: the wiring as it should be.
        seen: what was seen so far, from any tests.
        asks: whether more tests may follow; without, the next one is only named.
    """
    weighed = Weighed(declared, tuple(seen), tuple(bench_tests()))
    yield from _show(weighed)
    yield from _record(weighed)
    if not asks:
        yield from _warn(weighed)
    return weighed


def may_be_tested(declared: Declared | None) -> Steps[bool]:
    """Whether tests may be asked for: there is a wiring to diagnose, and it does not forbid the sensor on the board."""
    if declared is None or declared.installation is None:
        return False
    if declared.forbidden:
        yield Tell(("No test is asked for: this wiring must not be plugged in.",), weight=Weight.DANGER)
    return not declared.forbidden


def diagnose(
    declared: Declared, seen: Sequence[Observation], plan: Plan, switch: str, place: Place = PLUGGED
) -> Steps[Weighed]:
    """Ask for one test after the other until it stops.

    Args:
        declared: the wiring as it should be.
        seen: what was seen so far, from any tests.
        plan: how long a dwell is.
        switch: what is read.
        place: how the sensor's cable stands at first.
    """
    return (yield from carried_out(DIAGNOSIS, diagnose_steps(declared, seen, plan, switch, place)))


def diagnose_steps(
    declared: Declared, seen: Sequence[Observation], plan: Plan, switch: str, place: Place = PLUGGED
) -> Steps[Weighed]:
    """The same without the phase's boundaries, for a phase that begins with what was seen before."""
    weighed = Weighed(declared, tuple(seen), tuple(bench_tests()))
    bench = Bench(plan, switch, 1 + max((one.power_up for one in seen), default=0), place)
    asked = _tests_asked_for(weighed, bench)
    weighed = yield from put_together(asked, LEFT_APART, LEFT_APART_STEPS, f"{RECONNECT}.hold", lambda: bench.apart)
    yield from keep_tests(weighed.seen)
    yield from _record(weighed)
    return weighed


def _tests_asked_for(weighed: Weighed, bench: Bench) -> Steps[Weighed]:
    yield from _show(weighed)
    while (test := weighed.choice.test) is not None:
        answer = yield from _ask(weighed, test)
        if answer == "stop":
            break
        weighed = (yield from _carry_out(weighed, test, bench)) if answer == "now" else _without(weighed, test)
        yield from _show(weighed)
    yield from bench.put_back(plugged_in=may_be_plugged_in(weighed.seen))
    return weighed


def _ask(weighed: Weighed, test: BenchTest) -> Steps[str]:
    lines = [f"Next: {test.name}. {weighed.choice.reason}"]
    if weighed.choice.unsafe:
        lines.append(f"Not asked, for it might restart the board: {'; '.join(weighed.choice.unsafe)}.")
    options = (
        Option("now", "do it now"),
        Option("cannot", "it cannot be done here", "another one is looked for"),
        Option("stop", "stop here", "the diagnosis stands as it is"),
    )
    return (yield from choose(Choose("diagnose.next", f"Do this test now: {test.name}?", options, tuple(lines))))


def _carry_out(weighed: Weighed, test: BenchTest, bench: Bench) -> Steps[Weighed]:
    probe = Probe(test.name)
    try:
        found = yield from bench.carry_out(probe)
    except Interrupted as broken:
        if not test.unpowered and broken.interruption.kind.suspects_wiring:
            after = _with(weighed, [bench.interrupted(probe, broken)])
            yield Tell(SUPPLY_SHORT, heading="Stop", weight=Weight.DANGER)
            yield Punch(PunchClass.UNSAFE, SUPPLY_SHORT[0], SUPPLY_SHORT[1])
            yield from keep_tests(after.seen)
            yield from _record(after)
        raise
    if not found:
        yield Tell(("Nothing that counts was read: the test says nothing.",), weight=Weight.CAUTION)
        return _without(weighed, test)
    after = _with(weighed, found)
    # what showed something else than it was asked for is not asked for again
    return after if any(one.test == test.name for one in found) else _without(after, test)


def _with(weighed: Weighed, found: Sequence[Observation]) -> Weighed:
    return Weighed(weighed.declared, (*weighed.seen, *found), weighed.tests)


def _without(weighed: Weighed, test: BenchTest) -> Weighed:
    """The tests without this one; without a meter there is none of its readings."""
    left = tuple(one for one in weighed.tests if one.name != test.name and not (test.unpowered and one.unpowered))
    return Weighed(weighed.declared, weighed.seen, left)


# What is shown and kept --------------------------------------------------------------------------------------------


def _show(weighed: Weighed) -> Steps[None]:
    done = (
        f"From {counted(len(weighed.seen), 'test')}."
        if weighed.seen
        else "From the stated priors; nothing was tried yet."
    )
    yield Tell((done, *shares_text(_shares(weighed))), heading="What it may be")


def _shares(weighed: Weighed) -> list[Share]:
    groups = weighed.choice.diagnosis.groups
    shown = [group for group in groups[:MOST_ON_SCREEN] if group.weight >= LEAST_SHOWN]
    rest = sum(group.weight for group in groups[len(shown) :])
    return shares([(label_of(_titles(weighed, group)), group.weight) for group in shown], rest)


def shares(classes: Sequence[tuple[str, float]], rest: float) -> list[Share]:
    """The classes with their weights, and everything else together, as they are drawn."""
    parts = [Share(min(1.0, weight), label) for label, weight in classes]
    return [*parts, *([Share(rest, "everything else together")] if rest > 0 else [])]


def label_of(titles: Iterable[str]) -> str:
    """A class of causes in words."""
    return "; or ".join(titles)


def _titles(weighed: Weighed, group: Group) -> tuple[str, ...]:
    return tuple(weighed.case.conditions[name].title for name in group.members)


def _label(weighed: Weighed, group: Group) -> str:
    return label_of(_titles(weighed, group))


def _record(weighed: Weighed) -> Steps[None]:
    choice = weighed.choice
    first = choice.diagnosis.groups[0]
    yield from establish(_found(weighed))
    if choice.diagnosis.decided and first.members != ("as-declared",):
        yield Punch(
            PunchClass.UNSAFE, f"Diagnosis: {_label(weighed, first)}.", " ".join((*_cures(weighed, first), HANDS))
        )


def _sentences(weighed: Weighed) -> list[str]:
    choice = weighed.choice
    first = choice.diagnosis.groups[0]
    lead = "Found" if choice.diagnosis.decided else "Not decided; likeliest"
    said = [f"{lead}, {Share(min(1.0, first.weight), '').percent}: {_label(weighed, first)}."]
    if len(first.members) > 1:
        said.append(_why_one(weighed, first))
    what = "To do" if choice.diagnosis.decided else "If so, to do"
    said += [f"{what}: {cure}" for cure in _cures(weighed, first)]
    said.append(HANDS)
    return [*said, choice.reason if choice.test is None else f"Next test: {choice.test.name}. {choice.reason}"]


def _why_one(weighed: Weighed, group: Group) -> str:
    """Why the members of a class are not told apart, and what would do it."""
    every = [test.name for test in bench_tests()]
    could = separating(weighed.case.table, group.members, every)
    if not could:
        return "No test at hand tells these apart: they are one class, and the cures are tried in turn."
    unsafe = [name for name in could if name in weighed.choice.unsafe]
    why = "it might restart the board" if unsafe else "it was not to be done here"
    return f"Not told apart: {'; '.join(could)} would do it, but {why}."


def _cures(weighed: Weighed, group: Group) -> list[str]:
    """What to do, in the order of trying, the likeliest member first."""
    conditions = [weighed.case.conditions[name] for name in group.members]
    cures: list[str] = []
    for condition in sorted(conditions, key=lambda one: -one.prior):
        sound = condition.name == "as-declared"
        cures += [weighed.declared.assessment.recommendation] if sound else condition.cures
    return list(dict.fromkeys(cures))


def _found(weighed: Weighed) -> Diagnosis:
    choice = weighed.choice
    groups = choice.diagnosis.groups
    unlikely = [group for group in groups if group.weight < LEAST_SHOWN]
    return Diagnosis(
        sentences=tuple(_sentences(weighed)),
        decided=choice.diagnosis.decided,
        odds=min(choice.diagnosis.odds, MOST_ODDS),
        needed_odds=choice.diagnosis.needed_odds,
        reason=choice.reason,
        classes=tuple(_class(weighed, group) for group in groups if group.weight >= LEAST_SHOWN),
        unlikely=tuple(name for group in unlikely for name in group.members),
        unlikely_together=sum(group.weight for group in unlikely),
        next_test=None if choice.test is None else choice.test.name,
        gain_bits=choice.gain_bits,
        unsafe=choice.unsafe,
        observations=for_record(weighed.seen),
    )


def _class(weighed: Weighed, group: Group) -> CauseClass:
    titles = _titles(weighed, group)
    cures = tuple(_cures(weighed, group))
    return CauseClass(members=group.members, titles=titles, weight=group.weight, cures=cures)


def _warn(weighed: Weighed) -> Steps[None]:
    """What not to try, where nobody is asked for anything."""
    if weighed.choice.unsafe:
        said = f"Do not try, for it might restart the board: {'; '.join(weighed.choice.unsafe)}."
        yield Tell((said,), weight=Weight.CAUTION)
