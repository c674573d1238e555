"""Phase: from the filament to the reading and back, then what a broken wire reads.

The order is fixed: trials, then a wiggle if there is still something clean to lose, then the unplug test. A board that
restarts or falls silent, or a port that vanishes, while the sensor is being worked is a wiring fault: that is said, and
it ends the phase.
"""

from dataclasses import dataclass, replace
from typing import TypeVar

from commission import command_lines
from commission.asking.cautions import BY_HAND
from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.request import Confirm
from commission.asking.response import Interrupted, WatchTaken
from commission.asking.steps import Steps, confirm, establish
from commission.evidence.findings import loop
from commission.evidence.findings.base import MOST_ODDS
from commission.judge.acceptance import Acceptance, accept, pull_criterion
from commission.judge.advice import Advice, advice, deed
from commission.judge.evidence import LoopEvidence, wiggled
from commission.judge.failsafe import fail_safe
from commission.judge.plan import Plan
from commission.judge.polarity import PolarityFinding
from commission.judge.trial import Came
from commission.judge.trial_series import NOTHING_SO_FAR, SeriesSoFar, Tally
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.filament_seen import steadily_out
from commission.procedure.loop.movement_sensed import not_presence, senses_movement
from commission.procedure.loop.moving_wiggle import MovingWiggle, not_moved, offered_moving_wiggle
from commission.procedure.loop.pull_items import pull_item
from commission.procedure.loop.start_up import read_start_up
from commission.procedure.loop.tests_done import broken_off, keep_tests, of_loop_check
from commission.procedure.loop.trials import Series, run_series
from commission.procedure.loop.unplug import UnplugResult, unplug_test
from commission.procedure.loop.unplugged_reading import CURE_UNSEEN
from commission.procedure.loop.wiggle import wiggle_by_hand
from commission.vocabulary import FailSafe, Presence, PunchClass, SwitchBehaviour, Verdict

_T = TypeVar("_T")

LOOP_CHECK = Phase(
    "loop_check",
    "Loop check: from the filament to the reading and back",
    "the loop check",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING}),
)
REPAIR = (
    "Look for the cause: lever and filament path, cable, plugs, noise from other wires, and a hand that came late or "
    "did something else. Repair it, then run the same command again and say what was done: that begins a new series of "
    "trials."
)

WHOLE_PLAN = f"The record and the report have the plan whole; in another terminal: `{command_lines.HELP_PLAN}`."
OWN_PACE = "The countdown then follows your pace."


@dataclass(frozen=True)
class LoopChecked:
    """What the loop check established; `movement` says that it senses movement, and was not judged as presence."""

    acceptance: Acceptance
    behaviour: SwitchBehaviour
    fail_safe: FailSafe
    advice: Advice
    movement: bool = False


@steps_of(LOOP_CHECK)
def loop_check(
    plan: Plan, switch: str, so_far: SeriesSoFar = NOTHING_SO_FAR, *, moves: bool = True
) -> Steps[LoopChecked]:
    """Carry out the plan on one switch and hold what was seen against it.

    Args:
        plan: fixed beforehand.
        switch: what is read.
        so_far: the series that the trials are counted in, as the record has it.
        moves: whether this program can move the printer: it knows how to stop it.
    """
    told = (*plan.in_short(), WHOLE_PLAN)
    yield Tell(told, heading="The plan, fixed before anything is measured")
    yield Tell(BY_HAND, heading="Before you start", weight=Weight.CAUTION)
    series = Series(Tally(so_far))
    wiggle, moving = yield from _worked(plan, switch, series, moves=moves)
    if (yield from senses_movement(series)):
        accepted = yield from not_presence(switch)
        return LoopChecked(accepted, SwitchBehaviour.UNDECIDED, FailSafe.NOT_TESTED, Advice.NONE, movement=True)
    unplugged = yield from _kept(_unplugged(plan, switch, series), series, wiggle)
    started = None
    if unplugged.at_board:
        started = yield from read_start_up(plan, switch, series.behaviour, unplugged.back)
    yield from keep_tests(of_loop_check(series, wiggle, unplugged, moving))
    evidence = replace(_evidence(plan, series, wiggle, moving), start_up=started)
    evidence = replace(evidence, unplugged=unplugged.at_board, at_sensor=unplugged.at_sensor, pull=unplugged.pull)
    return (yield from _judge(plan, series, evidence))


def _worked(
    plan: Plan, switch: str, series: Series, *, moves: bool
) -> Steps[tuple[WatchTaken | None, MovingWiggle | None]]:
    """The trials and, while there is something clean to lose, the wiggle by hand and the one with the hands off."""
    wiggling = False
    try:
        yield from worked_by_hand(trials_by_hand(plan, switch, series))
        if not wiggle_can_still_pass(series, plan):
            return None, None
        wiggling = True
        wiggle = yield from worked_by_hand(wiggle_by_hand(plan, switch))
    except Interrupted as broken:
        if broken.interruption.kind.suspects_wiring:
            yield from keep_tests(broken_off(series, wiggling=wiggling))
        raise
    if wiggle is None or steadily_out(wiggle.readings):
        return wiggle, None
    if not moves:
        yield from not_moved()
        return wiggle, None
    return wiggle, (yield from _kept(offered_moving_wiggle(plan, switch), series, wiggle))


def _kept(steps: Steps[_T], series: Series, wiggle: WatchTaken | None) -> Steps[_T]:
    """Carry out steps; what was read before them is kept for a diagnosis, whatever ends them."""
    try:
        return (yield from steps)
    except Interrupted:
        yield from keep_tests(of_loop_check(series, wiggle))
        raise


def trials_by_hand(plan: Plan, switch: str, series: Series | None = None) -> Steps[Series]:
    """The series of trials, once the operator is ready."""
    lines = (
        "Take the filament out of the sensor now, so that the switch is free.",
        f"Then the screen says INSERT, WITHDRAW or LEAVE IT. Do it within {plan.countdown_s:.0f} s, then keep still "
        f"for {plan.dwell_s:g} s. No key is needed; keep both hands on the filament.",
        *((OWN_PACE,) if plan.own_pace else ()),
        "A slip? Press v before the dwell; one of a kind may be set aside. To rest, press p during a dwell.",
        "Do what it says even if a reading looks wrong. If nothing changes, that is a result too.",
    )
    while not (
        yield from confirm(Confirm("loop_check.ready", "Is the filament out and are you ready?", lines, watch=switch))
    ):
        yield Tell(("Take your time. The prompts begin when you say yes; Ctrl-C ends the run.",))
    series = yield from run_series(plan, switch, series)
    if series.finding is not None:
        yield from establish(polarity_found(series.finding, series))
    return series


def wiggle_can_still_pass(series: Series, plan: Plan) -> bool:
    """Whether a pass is still within reach, and the switch can be read."""
    finding = series.finding
    return finding is not None and finding.decided and not series.given_up and series.can_pass(plan)


def _unplugged(plan: Plan, switch: str, series: Series) -> Steps[UnplugResult]:
    if series.finding is None or series.given_up:
        return UnplugResult()
    lines = (
        "Next: what would a broken wire read? Only the unplugged sensor tells a safe wiring from two errors that "
        f"cancel. It takes the power off {plan.power_ups + 1} times. "
        "With the sensor unplugged the filament is moved in and out twice, to see that it was the sensor's plug.",
    )
    if (yield from confirm(Confirm("unplug.ready", "Go on with the unplug test?", lines))):
        return (yield from unplug_test(plan, switch))
    yield Punch(
        PunchClass.INCOMPLETE,
        "The sensor was not unplugged: what a broken wire reads is not known.",
        "Run this again with the unplug test before the printer is trusted unattended.",
    )
    return UnplugResult()


def _judge(plan: Plan, series: Series, evidence: LoopEvidence) -> Steps[LoopChecked]:
    behaviour = series.behaviour
    safe = fail_safe(evidence.unplugged, behaviour)
    what, why = advice(behaviour, safe)
    accepted = accept(plan, evidence)
    yield from establish(
        loop.FailSafeFound(sentences=(safe.sentence,), fail_safe=safe.fail_safe, power_ups=safe.power_ups)
    )
    yield from establish(loop.Advised(sentences=(why,), advice=what))
    criteria = loop.criteria_of(accepted.criteria)
    found = loop.Acceptance(sentences=accepted.reasons, verdict=accepted.verdict, criteria=criteria)
    yield from establish(found, accepted.in_short)
    if not safe.power_seen:
        yield Punch(PunchClass.INCOMPLETE, safe.sentence, CURE_UNSEEN)
    held = pull_criterion(evidence.pull)
    if safe.fail_safe is FailSafe.SAFE and held.verdict is Verdict.CONDITIONAL:
        yield Punch(PunchClass.INCOMPLETE, *pull_item(held))
    if accepted.verdict is Verdict.FAIL:
        cure = REPAIR if what is Advice.NONE else deed(what, why)
        if held.verdict is Verdict.FAIL:
            cure = pull_item(held)[1]
        yield Punch(PunchClass.UNSAFE, _failure(accepted, behaviour, safe.fail_safe), cure)
    return LoopChecked(accepted, behaviour, safe.fail_safe, what)


def _failure(accepted: Acceptance, behaviour: SwitchBehaviour, safe: FailSafe) -> str:
    if behaviour is not SwitchBehaviour.DIRECT:
        return f"The switch does not protect the printer: {behaviour.value}."
    if safe is FailSafe.DANGER:
        return "The wiring is fail-to-danger: a broken or unplugged wire reads as filament in."
    failed = ", ".join(criterion.name for criterion in accepted.criteria if criterion.verdict is Verdict.FAIL)
    return f"The loop check failed in: {failed}."


def _evidence(plan: Plan, series: Series, wiggle: WatchTaken | None, moving: MovingWiggle | None) -> LoopEvidence:
    counts, so_far = series.counts, series.tally.so_far
    kinds = {presence: counts.kind(presence) for presence in Presence}
    return LoopEvidence(
        polarity=series.behaviour,
        polarity_odds=None if series.finding is None else series.finding.odds,
        in_trials=_standing(kinds[Presence.IN]),
        in_misreads=kinds[Presence.IN].count(Came.WRONG),
        out_trials=_standing(kinds[Presence.OUT]),
        out_misreads=kinds[Presence.OUT].count(Came.WRONG),
        in_set_aside=kinds[Presence.IN].count(Came.SET_ASIDE),
        out_set_aside=kinds[Presence.OUT].count(Came.SET_ASIDE),
        sampling=so_far.sampling(plan),
        broken_off_changes=so_far.watch_changes,
        broken_off_unplugged=so_far.unplugged_bad,
        broken_off_open=so_far.unplugged_open,
        failed_in=so_far.runs[-1] if so_far.came_to is Verdict.FAIL else "",
        unwanted_changes_in_dwells=counts.dwell_changes,
        leave_it_trials=counts.leave_trials,
        leave_it_changes=counts.leave_changes,
        voided_trials=series.dropped + series.late,
        unread_trials=series.lost,
        given_up=series.given_up,
        wiggle=None if wiggle is None else wiggled(wiggle.readings, plan.wiggle_s),
        unplugged=(),
        moving=None if moving is None else moving.result,
    )


def _standing(kind: tuple[Came, ...]) -> int:
    return len(kind) - kind.count(Came.SET_ASIDE)


def polarity_found(finding: PolarityFinding, series: Series) -> loop.Polarity:
    """What the looks came to, with the trials behind it."""
    return loop.Polarity(
        sentences=(finding.sentence,),
        behaviour=finding.behaviour,
        decided=finding.decided,
        odds=min(finding.odds, MOST_ODDS),
        runner_up=finding.runner_up,
        contradictions=finding.errors,
        trials=finding.trials,
        cycles=series.cycles,
        voided=series.voided,
        lost=series.lost,
        weights={behaviour.value: weight for behaviour, weight in finding.weights.items()},
    )
