"""Phase: a runout provoked, the pause seen, the print resumed.

First the gates: with one shut that no test can open, nothing is moved and that gate is the finding. Then, behind one
release, three pauses, a real runout, and the tests beside them; last the power cycle. What is left out stands in the
record with its reason and limits the verdict; whatever happens, the way out makes the printer safe.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from commission.dialect.commands import WAIT_FOR_MOVES
from commission.dialect.identity import Identity
from commission.judge.gates import GateEvidence, Heat, How, unknown
from commission.judge.gates import gates as gate_row
from commission.judge.pause_verdict import PauseJudged
from commission.procedure.change_over import Changed, change_over
from commission.procedure.function_extras import Extra, offered, power_cycle, raise_stuck, start_empty
from commission.procedure.function_moves import MOVE_S, hand_over_job, prepare, put_back
from commission.procedure.function_plan import FunctionPlan, Mode
from commission.procedure.gates import establish_gates, read_gates, show_gates, stops_the_test
from commission.procedure.message import Punch, Tell, Weight
from commission.procedure.pause_trial import CUT, PULL, PauseTrial, Provoke, pause_trial, reads_in
from commission.procedure.request import Confirm, PhaseBegins, PhaseEnds
from commission.procedure.resume import Change
from commission.procedure.steps import Steps, ask, confirm, establish, recall, release
from commission.vocabulary import PunchClass, Reading, Verdict

NAME = "function_test"
VOIDED_BY = frozenset({Change.FIRMWARE, Change.WIRING, Change.SETTINGS})
MOST_REPEATS = 2
LONG_WAIT_S = 120.0
IN_CHANGE = "a runout during the change"


@dataclass(frozen=True)
class FunctionTested:
    """What the function test established."""

    verdict: Verdict
    shut: str = ""
    reasons: tuple[str, ...] = ()


@dataclass
class _Test:
    """What has been seen so far."""

    plan: FunctionPlan
    switch: str
    known: GateEvidence
    judged: list[PauseJudged] = field(default_factory=list)
    extras: list[Extra] = field(default_factory=list)
    changes: list[Changed] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    word_in: tuple[Reading, str] | None = None

    @property
    def pauses(self) -> int:
        return sum(judged.verdict in (Verdict.PASS, Verdict.CONDITIONAL) for judged in self.judged)

    @property
    def line_answers(self) -> bool:
        """Builds without emergency words still take the word that goes on while they wait; a display is surer."""
        return self.known.emergency_words is not False or self.known.display is False


def function_test(plan: FunctionPlan, switch: str, identity: Identity | None) -> Steps[FunctionTested]:
    """Check the gates, provoke runouts and judge what the printer does."""
    yield PhaseBegins(NAME, "Function test: does it really pause?")
    known = replace((yield from read_gates(identity, plan.leftover_max_mm)), heat=None)  # the moves decide on that
    test = _Test(plan, switch, known)
    shut = stops_the_test((yield from show_gates(known, "The gates in front of a pause, before anything moves")))
    if shut is not None:
        yield Tell((f"'{shut.title}' is shut: no test is worth its motion before that is put right.",))
    elif (yield from release(plan.release())):
        yield from _moved(test)
    else:
        yield Tell(("Not released: nothing was moved or heated, and no pause was tested.",))
    if shut is None or shut.key == "after_power":
        yield from _after_power(test)
    tested = yield from _judge(test)
    yield PhaseEnds(NAME, {"verdict": tested.verdict.value, "first_shut": tested.shut})
    return tested


def function_tested_again(_kept: Mapping[str, Any]) -> Steps[FunctionTested | None]:
    """The phase's result as the book holds it, for a run that is taken up again."""
    facts = yield from recall(NAME)
    if facts is None:
        return None
    return FunctionTested(Verdict(facts["verdict"]), str(facts.get("first_shut", "")))


def _moved(test: _Test) -> Steps[None]:
    """Everything under the release, one after the other, as long as the printer pauses and goes on."""
    plan = test.plan
    yield from _ready(test)
    if plan.mode is Mode.CARD and not (yield from hand_over_job(plan)):
        yield Tell(("No job from the card was under way: nothing was tested.",), weight=Weight.CAUTION)
        return
    heat = yield from prepare(plan)
    job = True if plan.starts_job or plan.mode is Mode.CARD else None
    test.known = replace(test.known, heat=heat, moves_travel=True, job_known=job, job_how=How.BY_DESIGN)
    for number in range(plan.pauses):
        if number:
            yield from _ready(test)
        if not (yield from _one(test, CUT if plan.hot else PULL)):
            yield from put_back(plan)
            return
    if plan.hot:
        yield from _real_runout(test)
    else:
        test.extras.append(
            Extra("real", "a real runout", Verdict.NOT_JUDGED, "Left out: a cold test extrudes nothing.")
        )
    if not test.failed:
        yield from _extras(test)
    yield from put_back(plan)


def _one(test: _Test, provoke: Provoke, *, wait_s: float = 0.0, pulls: bool = False) -> Steps[bool]:
    """One pause and the change after it; false when it did not pause or did not go on."""
    if test.plan.mode is not Mode.CARD:
        yield from ask(WAIT_FOR_MOVES, MOVE_S)  # the log of moves begins with an empty queue
    trial = yield from _until_provoked(test, provoke)
    test.judged.append(trial.judged)
    test.word_in = test.word_in or reads_in(trial.run)
    if not trial.stopped:
        test.failed += trial.judged.reasons if trial.judged.verdict is Verdict.FAIL else ()
        return False
    changed = yield from change_over(trial.run.question, line_answers=test.line_answers, wait_s=wait_s, pulls=pulls)
    yield from establish("change", *changed.sentences, **vars(changed))
    test.changes.append(changed)
    if changed.nested:
        yield from change_over(None, line_answers=test.line_answers)
    if not changed.good:
        test.failed += changed.faults
    if not changed.resumed:
        yield Punch(PunchClass.UNSAFE, changed.faults[-1], STUCK_CURE if changed.blind else ANSWER_CURE)
        raise_stuck("in the change of filament")
    return trial.judged.verdict is not Verdict.FAIL and changed.good


def _ready(test: _Test) -> Steps[None]:
    ready = Confirm("pause.ready", "Is filament in the sensor, and are you ready?", watch=test.switch)
    while not (yield from confirm(ready)):
        yield Tell(("The moves begin when you say yes; Ctrl-C ends the run.",))


def _until_provoked(test: _Test, provoke: Provoke) -> Steps[PauseTrial]:
    trial = yield from pause_trial(test.plan, test.switch, test.known.leftover_mm, provoke, test.pauses)
    for _ in range(MOST_REPEATS):
        if trial.done:
            break
        yield Tell(("The switch did not change: it is tried again.",), weight=Weight.CAUTION)
        trial = yield from pause_trial(test.plan, test.switch, test.known.leftover_mm, provoke, test.pauses)
    return trial


def _real_runout(test: _Test) -> Steps[None]:
    def real() -> Steps[Extra]:
        yield from _ready(test)
        good = yield from _one(test, CUT)
        looked = "an open look at the print"
        if good:
            lines = ("Look at the print: no step beside the line, the same layer, gap or blob below 2 mm.",)
            good = yield from confirm(
                Confirm("function.print_good", "Did it go on without a fault in the print?", lines)
            )
            looked = "the print went on without a fault" if good else "the print has a fault where it went on"
        return Extra("real", "a real runout", Verdict.PASS if good else Verdict.FAIL, f"{looked}.")

    lines = ("The filament is cut above the sensor; the printer draws its end through and pauses.",)
    test.extras.append((yield from offered("real", "a real runout", lines, real)))


def _extras(test: _Test) -> Steps[None]:
    plan, leftover_mm = test.plan, test.known.leftover_mm

    def long_wait() -> Steps[Extra]:
        before = len(test.changes)
        yield from _ready(test)
        good = yield from _one(test, CUT, wait_s=LONG_WAIT_S)
        cooled = any(changed.cooled for changed in test.changes[before:])
        said = "the nozzle was left to cool and heated again" if cooled else "no time-out was seen"
        return Extra("long_wait", "a long wait", Verdict.PASS if good else Verdict.FAIL, f"{said}.")

    if plan.mode is Mode.CARD:
        return

    def in_change() -> Steps[Extra]:
        yield from _ready(test)
        before = len(test.changes)
        good = yield from _one(test, CUT if plan.hot else PULL, pulls=True)
        tried = [changed.tripped for changed in test.changes[before:]]
        if not good or tried == [None]:
            verdict = Verdict.FAIL if not good else Verdict.NOT_JUDGED
            return Extra("in_change", IN_CHANGE, verdict, "it failed." if not good else "this build asks no question.")
        seen = "it was seen, and no second change began" if tried == [True] else "it was not seen, and no change began"
        return Extra("in_change", IN_CHANGE, Verdict.PASS if tried == [True] else Verdict.CONDITIONAL, f"{seen}.")

    lines = ("The filament is pulled once more while the printer asks whether to go on.",)
    test.extras.append((yield from offered("in_change", IN_CHANGE, lines, in_change)))
    lines = ("The job begins with the sensor empty; a good build stops it before much is fed.",)
    test.extras.append(
        (
            yield from offered(
                "start_empty",
                "start with no filament",
                lines,
                lambda: start_empty(plan, test.switch, leftover_mm, line_answers=test.line_answers),
            )
        )
    )
    if plan.hot:
        lines = (f"The printer is left waiting for {LONG_WAIT_S:.0f} s, hot at first. Stay with it.",)
        test.extras.append(
            (yield from offered("long_wait", "a long wait with the heater's time-out", lines, long_wait))
        )


def _after_power(test: _Test) -> Steps[None]:
    if test.known.enabled_after_power is not None:
        return
    lines = ("Only a power cycle shows that watching was saved. It ends with the printer found and asked again.",)
    extra = yield from offered("power", "a power cycle", lines, power_cycle)
    test.extras.append(extra)
    if extra.verdict is not Verdict.NOT_JUDGED:
        test.known = replace(test.known, enabled_after_power=extra.verdict is Verdict.PASS)


def _judge(test: _Test) -> Steps[FunctionTested]:
    test.known = _with_findings(test.known, test.judged)
    shut = yield from establish_gates(test.known)
    verdict, reasons = _verdict(test, shut is not None)
    if test.word_in is not None:
        reading, word = test.word_in
        said = f"The pause settles the wording: this build takes '{word}' ({reading.value}) for filament in."
        yield from establish("wire_word", said, reading=reading.value, word=word)
    yield from establish(
        "function_test",
        f"Function test, mode {test.plan.mode.value}: {verdict.value}.",
        *reasons,
        verdict=verdict.value,
        mode=test.plan.mode.value,
        pauses=test.pauses,
        pauses_planned=test.plan.pauses,
        first_shut="" if shut is None else shut.key,
        left_out=[extra.title for extra in test.extras if extra.verdict is Verdict.NOT_JUDGED],
    )
    if verdict is Verdict.FAIL and shut is None:
        yield Punch(PunchClass.UNSAFE, reasons[0], "Put it right, then run the function test again from its beginning.")
    return FunctionTested(verdict, "" if shut is None else shut.key, reasons)


def _with_findings(known: GateEvidence, judged: Sequence[PauseJudged]) -> GateEvidence:
    """The gates as the pauses showed them."""
    if any(each.verdict in (Verdict.PASS, Verdict.CONDITIONAL) for each in judged):
        known = replace(known, latched=False, job_known=True, job_how=How.TESTED)
    shut = {each.shut for each in judged}
    if "job" in shut:
        known = replace(known, job_known=False, job_how=How.TESTED)
    if "not_latched" in shut:
        known = replace(known, latched=True)
    if "not_host_alone" in shut:
        known = replace(known, host_handling=True)
    return replace(known, heat=Heat.TOO_COLD, heat_how=How.TESTED) if "heat" in shut else known


def _verdict(test: _Test, gate_shut: bool) -> tuple[Verdict, tuple[str, ...]]:  # noqa: FBT001
    failed = [*test.failed, *(f"{e.title}: {e.reason}" for e in test.extras if e.verdict is Verdict.FAIL)]
    if gate_shut or failed:
        return Verdict.FAIL, tuple(dict.fromkeys(failed)) or ("A gate in front of the pause is shut.",)
    if not test.pauses:
        return Verdict.NOT_JUDGED, ("No pause was tested.",)
    short = test.pauses < test.plan.pauses
    limits = [f"Only {test.pauses} of {test.plan.pauses} planned pauses were seen."] if short else []
    limits += [f"Left out: {extra.title}." for extra in test.extras if extra.verdict is Verdict.NOT_JUDGED]
    limits += [f"Not known: {gate.title}." for gate in unknown(gate_row(test.known))]
    limits += [
        reason for judged in test.judged if judged.verdict is Verdict.CONDITIONAL for reason in judged.reasons[-1:]
    ]
    if limits:
        return Verdict.CONDITIONAL, tuple(dict.fromkeys((f"It paused {test.pauses} times and went on.", *limits)))
    return Verdict.PASS, (f"It paused {test.pauses} times, a real runout among them, and went on each time.",)


STUCK_CURE = (
    "The firmware does not see the filament after loading: check the wiring and the logic of the input with the loop "
    "check, never by switching the sensor off."
)
ANSWER_CURE = "Answer it at its display; a build that cannot be answered over the line needs one."
