"""Phase: a runout provoked, the pause seen, the print resumed.

First the gates: with one shut that no test can open, nothing is moved and that gate is the finding. Then, behind one
release, three pauses, a real runout, and the tests beside them; last the power cycle. What is left out stands in the
record with its reason and limits the verdict; whatever happens, the way out makes the printer safe.
"""

from collections.abc import Sequence
from dataclasses import replace

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, carried_out
from commission.asking.request import Confirm
from commission.asking.steps import Steps, ask, confirm, establish, release
from commission.dialect.commands import WAIT_FOR_MOVES
from commission.dialect.identity import Identity
from commission.dialect.pausing import Question
from commission.judge.gates import How
from commission.procedure.function.card_test import hand_over_job, still_under_way
from commission.procedure.function.change_over import Changed, change_over
from commission.procedure.function.extras import (
    POWER,
    Extra,
    after_power_cycle,
    left_out,
    offered,
    raise_stuck,
    seen,
    start_empty,
    wanted,
)
from commission.procedure.function.fault import IN_THE_PRINT
from commission.procedure.function.filament_ready import filament_ready
from commission.procedure.function.gates import read_gates, show_gates, stops_the_test
from commission.procedure.function.moves import MOVE_S, prepare, put_back
from commission.procedure.function.pause_trial import CUT, PULL, PauseTrial, Provoke, pause_trial, reads_in
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.function.verdict import FunctionTested, Seen, judge_function, pause_fault
from commission.vocabulary import PunchClass, Verdict

FUNCTION_TEST = Phase(
    "function_test",
    "Function test: does it really pause?",
    "the function test",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING, Voiding.SETTINGS}),
)
MOST_REPEATS = 2
LONG_WAIT_S = 120.0
REAL, EMPTY = "a real runout", "start with no filament"
IN_CHANGE, LONG_WAIT = "a runout during the change", "a long wait with the heater's time-out"
AFTER_CHANGE = (
    "The test extrudes in the air, above the bed. Look at the nozzle against a fixed mark, and at the plastic.",
    "Keep hands away: it is hot, and it may move.",
)
NO_PRINT = "The trace of a resumed job on a real print was not looked at: the test extrudes in the air."
LOOK_AT_PRINT = (
    "At the first runout in a real print look where it went on: no step beside the line above 0.1 mm, the same layer, "
    "gap or blob below 2 mm."
)
COLD_ONLY = "a cold test extrudes and heats nothing"
CARD_ONLY = "the moves of a card job are not the tool's to begin and end"
NOT_SO = {Verdict.FAIL: "it did not pause, or did not go on as it should.", Verdict.NOT_JUDGED: "none was provoked."}
BEFORE = "The gates in front of a pause, before anything moves"


def function_test(plan: FunctionPlan, switch: str, identity: Identity | None) -> Steps[FunctionTested]:
    """Check the gates, provoke runouts and judge what the printer does."""
    return (yield from carried_out(FUNCTION_TEST, function_steps(plan, switch, identity)))


def function_steps(plan: FunctionPlan, switch: str, identity: Identity | None) -> Steps[FunctionTested]:
    """The same without the phase's boundaries, for a phase that begins with the choice of its plan."""
    known = replace((yield from read_gates(identity, plan.leftover_max_mm)), heat=None)  # the moves decide on that
    test = Seen(plan, switch, known)
    shut = stops_the_test((yield from show_gates(known, BEFORE, later=True)))
    if shut is not None:
        yield Tell((f"'{shut.title}' is shut: no test is worth its motion before that is put right.",))
    elif (yield from release(plan.release())):
        yield from _moved(test)
    else:
        yield Tell(("Not released: nothing was moved or heated, and no pause was tested.",))
    if shut is None or shut.key == "after_power":
        yield from _after_power(test)
    return (yield from judge_function(test))


def _moved(test: Seen) -> Steps[None]:
    """Everything under the release, one after the other, as long as the printer pauses and goes on."""
    plan = test.plan
    yield from filament_ready(test.plan, test.switch)
    if plan.mode is Mode.CARD and not (yield from hand_over_job(plan)):
        yield Tell(("No job from the card was under way: nothing was tested.",), weight=Weight.NOTE)
        return
    heat = yield from prepare(plan)
    job = True if plan.starts_job or plan.mode is Mode.CARD else None
    test.known = replace(test.known, heat=heat, moves_travel=True, job_known=job, job_how=How.BY_DESIGN)
    for number in range(plan.pauses):
        if number:
            yield from filament_ready(test.plan, test.switch)
        if (yield from _one(test, CUT if plan.hot else PULL)) is not Verdict.PASS:
            yield from put_back(plan)
            return
    test.extras.append((yield from _real_runout(test)))
    if not test.failed:
        yield from _extras(test)
    yield from put_back(plan)


def _one(test: Seen, provoke: Provoke, *, wait_s: float = 0.0, pulls: bool = False) -> Steps[Verdict]:
    """One pause and the change after it: passed, failed, or not judged where no runout was provoked."""
    if test.plan.mode is not Mode.CARD:
        yield from ask(WAIT_FOR_MOVES, MOVE_S)  # the log of moves begins with an empty queue
    trial = yield from _until_provoked(test, provoke)
    if trial is None:
        return Verdict.NOT_JUDGED
    test.judged.append(trial.judged)
    test.word_in = test.word_in or reads_in(trial.run)
    failed = trial.judged.verdict is Verdict.FAIL
    if failed:
        test.failed.append(pause_fault(trial.judged))
    if not trial.stopped:
        return Verdict.FAIL if failed else Verdict.NOT_JUDGED
    changed = yield from _changed(test, trial.run.question, wait_s=wait_s, pulls=pulls)
    if failed or not changed.good:
        return Verdict.FAIL
    return Verdict.PASS if trial.done else Verdict.NOT_JUDGED


def _changed(
    test: Seen, question: Question | None, *, wait_s: float = 0.0, pulls: bool = False, key: str = "change"
) -> Steps[Changed]:
    """The change that a pause asks for, put into the record; a second one that began by itself is answered too."""
    changed = yield from change_over(question, line_answers=test.line_answers, wait_s=wait_s, pulls=pulls, key=key)
    yield from establish(changed.finding())
    yield from _went_on(test, changed)
    if changed.nested:
        yield from _went_on(test, (yield from change_over(None, line_answers=test.line_answers)))
    return changed


def _went_on(test: Seen, changed: Changed) -> Steps[None]:
    """Take a change into account; one that did not go on ends the run, with what to do."""
    test.changes.append(changed)
    test.failed += changed.faults
    if not changed.resumed:
        fault = changed.faults[-1]
        yield Punch(PunchClass.UNSAFE, fault.text, fault.cure)
        raise_stuck("in the change of filament")


def _until_provoked(test: Seen, provoke: Provoke) -> Steps[PauseTrial | None]:
    """A provoked runout, after as many tries as it may take; None where no job could be had under way for it."""
    trial = None
    for _ in range(1 + MOST_REPEATS):
        if trial is not None:
            yield from _once_again(test, trial)
        if test.plan.mode is Mode.CARD and not (yield from still_under_way()):
            return None
        trial = yield from pause_trial(test.plan, test.switch, test.known.leftover_mm, provoke, test.pauses)
        if trial.done:
            break
    return trial


def _once_again(test: Seen, trial: PauseTrial) -> Steps[None]:
    """Nothing was provoked; where it paused all the same, on an empty path, it is filled and has to go on first."""
    yield Tell(("It is tried again.",), weight=Weight.NOTE)
    if trial.stopped:
        yield from _went_on(test, (yield from change_over(trial.run.question, line_answers=test.line_answers)))
    yield from filament_ready(test.plan, test.switch, asks=True)


def _real_runout(test: Seen) -> Steps[Extra]:
    def real() -> Steps[Extra]:
        yield from filament_ready(test.plan, test.switch)
        verdict = yield from _one(test, CUT)
        if verdict is not Verdict.PASS:
            return Extra("real", REAL, verdict, NOT_SO[verdict])
        question = "Did the nozzle come back to its old place and height, and does plastic flow again?"
        if not (yield from confirm(Confirm("function.print_good", question, AFTER_CHANGE))):
            said = "the nozzle did not come back to its old place and height, or plastic did not flow again."
            return Extra("real", REAL, Verdict.FAIL, said, cure=IN_THE_PRINT)
        yield Punch(PunchClass.MINOR, NO_PRINT, LOOK_AT_PRINT)
        return Extra("real", REAL, verdict, "the nozzle came back to its old place and height, and plastic flowed.")

    if not test.plan.hot:
        return (yield from left_out("real", REAL, COLD_ONLY))
    lines = ("The filament is cut above the sensor; the printer draws its end through and pauses.",)
    return (yield from offered("real", REAL, lines, real))


def _extras(test: Seen) -> Steps[None]:
    plan = test.plan
    if plan.mode is Mode.CARD:
        for key, title in (("in_change", IN_CHANGE), ("start_empty", EMPTY), ("long_wait", LONG_WAIT)):
            test.extras.append((yield from left_out(key, title, CARD_ONLY)))
        return
    yield from _in_a_change(test)

    def empty() -> Steps[Extra]:
        def change(question: Question | None) -> Steps[Changed]:
            return _changed(test, question, key="start_empty.change")

        return start_empty(plan, test.switch, test.known.leftover_mm, change)

    lines = ("The job begins with the sensor empty; a good build stops it before much is fed.",)
    test.extras.append((yield from offered("start_empty", EMPTY, lines, empty)))


def _in_a_change(test: Seen) -> Steps[None]:
    """What is tried while the printer waits for filament: one pause is enough for both."""
    lines = ("The filament is pulled once more while the printer asks whether to go on.",)
    out = yield from wanted("in_change", IN_CHANGE, lines)
    if test.plan.hot:
        lines = (f"The printer is left waiting for {LONG_WAIT_S:.0f} s, hot at first. Stay with it.",)
        long = yield from wanted("long_wait", LONG_WAIT, lines)
    else:
        long = yield from left_out("long_wait", LONG_WAIT, COLD_ONLY)
    left = [extra for extra in (out, long) if extra is not None]
    test.extras += left
    if len(left) == 2:
        return
    yield from filament_ready(test.plan, test.switch)
    before = len(test.changes)
    wait_s = LONG_WAIT_S if long is None else 0.0
    verdict = yield from _one(test, CUT if test.plan.hot else PULL, wait_s=wait_s, pulls=out is None)
    changes = test.changes[before:]
    done = [_in_change(verdict, changes)] if out is None else []
    done += [_long_wait(verdict, changes)] if long is None else []
    for extra in done:
        yield from seen(extra)
    test.extras += done


def _long_wait(verdict: Verdict, changes: Sequence[Changed]) -> Extra:
    if verdict is not Verdict.PASS:
        return Extra("long_wait", LONG_WAIT, verdict, NOT_SO[verdict])
    cooled = any(changed.cooled for changed in changes)
    said = "the nozzle was left to cool and heated again" if cooled else "no time-out was seen"
    return Extra("long_wait", LONG_WAIT, verdict, f"{said}.")


def _in_change(verdict: Verdict, changes: Sequence[Changed]) -> Extra:
    if verdict is not Verdict.PASS:
        return Extra("in_change", IN_CHANGE, verdict, NOT_SO[verdict])
    tried = [changed.tripped for changed in changes]
    if tried == [None]:
        return Extra("in_change", IN_CHANGE, Verdict.NOT_JUDGED, "this build asks no question.")
    seen = "it was seen, and no second change began" if tried == [True] else "it was not seen, and no change began"
    return Extra("in_change", IN_CHANGE, Verdict.PASS if tried == [True] else Verdict.CONDITIONAL, f"{seen}.")


def _after_power(test: Seen) -> Steps[None]:
    if test.known.enabled_after_power is not None:
        return
    lines = (
        "Only a power cycle shows that runout detection was saved. It ends with the printer found and asked again.",
    )
    extra = yield from offered("power", POWER, lines, after_power_cycle)
    test.extras.append(extra)
    if extra.verdict is not Verdict.NOT_JUDGED:
        test.known = replace(test.known, enabled_after_power=extra.verdict is Verdict.PASS)
