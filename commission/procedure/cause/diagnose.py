"""Phase: what is wrong, weighed from what was seen; then the safe test that tells most, until one class leads.

It works from any subset of tests already done, and asks for none that might restart the board. A restart in a test is
evidence as well, and ends the phase: it is not repeated to learn more.
"""

from collections.abc import Sequence
from dataclasses import replace

from commission.asking.cautions import SUPPLY_SHORT
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, carried_out
from commission.asking.power import put_together
from commission.asking.request import Choose, Option
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, choose, establish, recall
from commission.evidence.findings.wiring import NoMeter
from commission.judge.diagnosis import BenchTest, Observation
from commission.judge.plan import Plan
from commission.procedure.cause.bench_tests import LEFT_APART, LEFT_APART_STEPS, PLUGGED, RECONNECT, Bench, Place
from commission.procedure.cause.suspected_short import may_be_plugged_in
from commission.procedure.cause.weighed import Weighed, record, show, warn
from commission.procedure.loop.tests_done import keep_tests
from commission.procedure.wiring.candidates import bench_tests, costs_of_tests
from commission.procedure.wiring.declaration import Declared, words_of
from commission.vocabulary import PunchClass
from commission.wiring.prediction import Probe

DIAGNOSIS = Phase(
    "diagnosis",
    "Diagnosis: what is wrong, and what to try next",
    "the diagnosis",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING}),
)


def weigh(declared: Declared, seen: Sequence[Observation], *, asks: bool = True) -> Steps[Weighed]:
    """Weigh what was seen, show and record it, without asking for anything.

    Args:
        declared: the wiring as it should be.
        seen: what was seen so far, from any tests.
        asks: whether more tests may follow; without, the next one is only named.
    """
    weighed = Weighed(declared, tuple(seen), tuple(bench_tests()))
    yield from show(weighed)
    yield from record(weighed)
    if not asks:
        yield from warn(weighed)
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
    no_meter = (yield from recall(NoMeter)) is not None
    weighed = Weighed(declared, tuple(seen), tuple(bench_tests(meter=not no_meter)))
    newest = max((one.power_up for one in seen), default=0)
    bench = Bench(plan, switch, 1 + newest, place, words_of(declared.answers))
    asked = _tests_asked_for(weighed, bench)
    weighed = yield from put_together(asked, LEFT_APART, LEFT_APART_STEPS, f"{RECONNECT}.hold", lambda: bench.apart)
    yield from keep_tests(weighed.seen)
    yield from record(weighed)
    return weighed


def _tests_asked_for(weighed: Weighed, bench: Bench) -> Steps[Weighed]:
    yield from show(weighed)
    while (test := weighed.choice.test) is not None:
        answer = "now" if Probe(test.name).looked else (yield from _ask(weighed, test))
        if answer == "stop":
            break
        if answer == "cannot" and Probe(test.name).metered:
            yield from establish(NoMeter())
        weighed = (yield from _carry_out(weighed, test, bench)) if answer == "now" else _without(weighed, test)
        yield from show(weighed)
    yield from bench.put_back(plugged_in=may_be_plugged_in(weighed.seen))
    return replace(weighed, place=bench.place)


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
            yield from record(after)
        raise
    if not found:
        yield Tell(("Nothing that counts was read: the test says nothing.",), weight=Weight.NOTE)
        return _without(weighed, test)
    after = _with(weighed, found)
    # what showed something else than it was asked for, or nothing, is not asked for again
    return after if any(one.test == test.name for one in found) else _without(after, test)


def _with(weighed: Weighed, found: Sequence[Observation]) -> Weighed:
    return replace(weighed, seen=(*weighed.seen, *found))


def _without(weighed: Weighed, test: BenchTest) -> Weighed:
    """The tests without this one; without a meter there is none of its readings."""
    metered = Probe(test.name).metered
    left = tuple(one for one in weighed.tests if one.name != test.name and not (metered and Probe(one.name).metered))
    return replace(weighed, tests=left)
