"""Phase: what is wrong, weighed from what was seen; then the safe test that tells most, until one class leads.

It works from any subset of tests already done, and asks for none that might restart the board. A restart in a test is
evidence as well, and ends the phase: it is not repeated to learn more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from commission.drawing.shares import Share, shares_svg, shares_text
from commission.judge.diagnosis import BenchTest, Group, Observation, separating
from commission.judge.next_test import Choice
from commission.judge.next_test import choose as next_test
from commission.judge.plan import Plan
from commission.judge.wording import counted
from commission.procedure.bench_tests import Bench
from commission.procedure.candidates import NO_METER, SOUND, Case, as_facts, bench_tests, case_of, costs_of_tests
from commission.procedure.cautions import SUPPLY_SHORT
from commission.procedure.message import Punch, Tell, Weight
from commission.procedure.request import Choose, Option, PhaseBegins, PhaseEnds
from commission.procedure.response import Interrupted
from commission.procedure.resume import Change
from commission.procedure.steps import Steps, choose, establish, recall
from commission.procedure.tests_done import keep_tests
from commission.procedure.wiring import Declared, words_of
from commission.vocabulary import PunchClass
from commission.wiring.installation import Installation, WiringError
from commission.wiring.prediction import Probe

NAME = "diagnosis"
VOIDED_BY = frozenset({Change.FIRMWARE, Change.WIRING})
LEAST_SHOWN = 0.005
"""Classes below this share are put together in the table: nobody acts on them."""
ONE_FAULT = "One fault is assumed: two at once can look like a third."
MOST_ON_SCREEN, MOST_DRAWN = 4, 12
"""So many classes at most stand on the screen, with the next question below them on 24 rows, and in the picture."""


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
        """Candidates and predictions."""
        return case_of(self.installation)

    @property
    def choice(self) -> Choice:
        """The classes with their weights, and the next test."""
        return next_test(self.case.explanations, self.tests, self.seen)

    @property
    def denied(self) -> bool:
        """Whether a second look found the wiring not as declared."""
        return any(Probe(one.test).looked and one.positives for one in self.seen)

    def title(self, name: str) -> str:
        """What a candidate is."""
        return self.case.conditions[name].title


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


def diagnose(declared: Declared, seen: Sequence[Observation], plan: Plan, switch: str) -> Steps[Weighed]:
    """Ask for one test after the other until it stops."""
    yield PhaseBegins(NAME, "Diagnosis: what is wrong, and what to try next")
    no_meter = (yield from recall(NO_METER)) is not None
    weighed = Weighed(declared, tuple(seen), tuple(bench_tests(meter=not no_meter)))
    bench = Bench(plan, switch, 1 + max((one.power_up for one in seen), default=0), words_of(declared.answers))
    yield from _show(weighed)
    while (test := weighed.choice.test) is not None:
        answer = "now" if Probe(test.name).looked else (yield from _ask(weighed, test))
        if answer == "stop":
            break
        if answer == "cannot" and Probe(test.name).metered:
            yield from establish(NO_METER, "No meter is at hand in this run.")
        weighed = (yield from _carry_out(weighed, test, bench)) if answer == "now" else _without(weighed, test)
        yield from _show(weighed)
    yield from bench.put_back()
    yield from keep_tests(weighed.seen)
    yield from _record(weighed)
    yield PhaseEnds(NAME, {"decided": weighed.choice.diagnosis.decided})
    return weighed


def _ask(weighed: Weighed, test: BenchTest) -> Steps[str]:
    cost, times = costs_of_tests()[Probe(test.name)], weighed.choice.times
    lines = [f"Next: {test.name}. {weighed.choice.reason}", f"What it takes: {cost.why}."]
    if times > 1:
        lines.append(f"It is asked for {times} times, one after the other.")
    if weighed.choice.unsafe:
        lines.append(f"Not asked, for it might restart the board: {'; '.join(weighed.choice.unsafe)}.")
    none = "I have no meter" if Probe(test.name).metered else "it cannot be done here"
    options = (
        Option("now", "do it now"),
        Option("cannot", none, "another one is looked for, and this one is not asked for again"),
        Option("stop", "stop here", "the diagnosis stands as it is"),
    )
    return (yield from choose(Choose("diagnose.next", f"Do this test now: {test.name}?", options, tuple(lines))))


def _carry_out(weighed: Weighed, test: BenchTest, bench: Bench) -> Steps[Weighed]:
    probe = Probe(test.name)
    try:
        found = yield from bench.carry_out(probe, weighed.choice.times)
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
    # what showed something else than it was asked for, or nothing, is not asked for again
    return after if any(one.test == test.name for one in found) else _without(after, test)


def _with(weighed: Weighed, found: Sequence[Observation]) -> Weighed:
    return Weighed(weighed.declared, (*weighed.seen, *found), weighed.tests)


def _without(weighed: Weighed, test: BenchTest) -> Weighed:
    """The tests without this one; without a meter there is none of its readings."""
    metered = Probe(test.name).metered
    left = tuple(one for one in weighed.tests if one.name != test.name and not (metered and Probe(one.name).metered))
    return Weighed(weighed.declared, weighed.seen, left)


# What is shown and kept --------------------------------------------------------------------------------------------


def _show(weighed: Weighed) -> Steps[None]:
    done = f"From {counted(len(weighed.seen), 'test')}." if weighed.seen else "Nothing was tried yet."
    yield Tell((done, *shares_text(_shares(weighed, MOST_ON_SCREEN))), heading="What it may be")


def _shares(weighed: Weighed, most: int) -> list[Share]:
    groups = weighed.choice.diagnosis.groups
    shown = [group for group in groups[:most] if group.weight >= LEAST_SHOWN]
    rest = sum(group.weight for group in groups[len(shown) :])
    parts = [Share(min(1.0, group.weight), _label(weighed, group)) for group in shown]
    return [*parts, *([Share(rest, "everything else together")] if rest > 0 else [])]


def _label(weighed: Weighed, group: Group) -> str:
    return "; or ".join(weighed.title(name) for name in group.members)


def _record(weighed: Weighed) -> Steps[None]:
    choice = weighed.choice
    first = choice.diagnosis.groups[0]
    yield from establish(NAME, *_sentences(weighed), **_facts(weighed))
    if choice.diagnosis.decided and not weighed.case.explanations.may_be_sound(first.members):
        yield Punch(PunchClass.UNSAFE, f"Diagnosis: {_label(weighed, first)}.", " ".join(_cures(weighed, first)))


def _sentences(weighed: Weighed) -> list[str]:
    choice = weighed.choice
    first = choice.diagnosis.groups[0]
    lead = "Found" if choice.diagnosis.decided else "Not decided; likeliest"
    said = [f"{lead}, {Share(min(1.0, first.weight), '').words}: {_label(weighed, first)}.", ONE_FAULT]
    if len(first.members) > 1:
        said.append(_why_one(weighed, first))
    what = "To do" if choice.diagnosis.decided else "If so, to do"
    said += [f"{what}: {cure}" for cure in _cures(weighed, first)]
    if weighed.denied:
        said.append("A second look found it not as declared: declare it anew before anything is changed.")
    return [*said, choice.reason if choice.test is None else f"Next test: {choice.test.name}. {choice.reason}"]


def _why_one(weighed: Weighed, group: Group) -> str:
    """Why the members of a class are not told apart, and what would do it."""
    every = [test.name for test in bench_tests()]
    could = separating(weighed.case.explanations, group.members, every)
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
        sound = condition.name == SOUND
        cures += [weighed.declared.assessment.recommendation] if sound else condition.cures
    return list(dict.fromkeys(cures))


def _facts(weighed: Weighed) -> dict[str, Any]:
    choice = weighed.choice
    unlikely = [group for group in choice.diagnosis.groups if group.weight < LEAST_SHOWN]
    return {
        "decided": choice.diagnosis.decided,
        "odds": min(choice.diagnosis.odds, 1e12),
        "needed_odds": choice.diagnosis.needed_odds,
        "reason": choice.reason,
        "classes": [_class_facts(weighed, group) for group in choice.diagnosis.groups if group.weight >= LEAST_SHOWN],
        "unlikely": [name for group in unlikely for name in group.members],
        "unlikely_together": sum(group.weight for group in unlikely),
        "next_test": None if choice.test is None else choice.test.name,
        "gain_bits": choice.gain_bits,
        "unsafe": list(choice.unsafe),
        "observations": as_facts(weighed.seen),
        "picture": shares_svg("What it may be", _shares(weighed, MOST_DRAWN)),
    }


def _class_facts(weighed: Weighed, group: Group) -> dict[str, Any]:
    titles = [weighed.title(name) for name in group.members]
    facts = {"members": list(group.members), "titles": titles, "weight": group.weight}
    return facts | {"cures": _cures(weighed, group)}


def _warn(weighed: Weighed) -> Steps[None]:
    """What not to try, where nobody is asked for anything."""
    if weighed.choice.unsafe:
        said = f"Do not try, for it might restart the board: {'; '.join(weighed.choice.unsafe)}."
        yield Tell((said,), weight=Weight.CAUTION)
