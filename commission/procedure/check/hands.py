"""The phases of a periodic check that take hands; each stands for itself when the check is broken off and taken up.

What each came to is worked out again by its own steps from the answers that the book holds, so that a check that was
taken up again judges what an unbroken one would have judged.
"""

from dataclasses import dataclass

from commission.asking.cautions import BY_HAND
from commission.asking.message import Tell, Weight
from commission.asking.phase import Phase, Progress, Voiding, steps_of
from commission.asking.power import power_cycle
from commission.asking.request import Confirm
from commission.asking.response import WatchTaken
from commission.asking.steps import Steps, confirm, establish
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.reported import RunoutControlAfterRestart, runout_values
from commission.judge.plan import Plan
from commission.judge.trial_series import NOTHING_SO_FAR, SeriesSoFar, Tally
from commission.procedure.loop.by_hand import worked_by_hand
from commission.procedure.loop.loop_check import trials_by_hand
from commission.procedure.loop.trials import Series
from commission.procedure.loop.unplug import UnplugResult, unplug_test
from commission.procedure.loop.wiggle import wiggle_by_hand
from commission.procedure.meeting.as_found import runout_sentences
from commission.procedure.meeting.sensor_met import control_now

PROOF_TEST = Phase(
    "proof_test",
    "Proof test: from the filament to the reading and back",
    "the proof test",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING}),
)
POWER_OFF_TEST = Phase(
    "power_off_test",
    "Power off: what a broken wire reads, and what a restart leaves switched on",
    "the power-off test",
    frozenset({Voiding.FIRMWARE, Voiding.WIRING, Voiding.SETTINGS}),
)


@dataclass(frozen=True)
class ProofResult:
    """What the trials and the wiggle showed; without a wiggle where the trials left nothing clean to lose."""

    series: Series
    wiggle: WatchTaken | None = None


@dataclass(frozen=True)
class PoweredOff:
    """What was read with the sensor off, if it was unplugged, and whether the printer watches after the restart."""

    unplugged: UnplugResult
    after_restart: RunoutControl
    restart_seen: bool


def proven(plan: Plan, switch: str, progress: Progress, so_far: SeriesSoFar = NOTHING_SO_FAR) -> Steps[ProofResult]:
    """The trials and the wiggle, or what this run has shown by them already."""
    return (yield from progress.do(PROOF_TEST, lambda: _by_hand(plan, switch, so_far)))


def powered_off(plan: Plan, switch: str, progress: Progress, identity: Identity | None = None) -> Steps[PoweredOff]:
    """The unplug test, or at least a restart, or what this run has shown by them already."""
    return (yield from progress.do(POWER_OFF_TEST, lambda: _power_off(plan, switch, identity)))


@steps_of(PROOF_TEST)
def _by_hand(plan: Plan, switch: str, so_far: SeriesSoFar) -> Steps[ProofResult]:
    yield Tell(BY_HAND, heading="Before you start", weight=Weight.CAUTION)
    series = yield from worked_by_hand(trials_by_hand(plan, switch, Series(Tally(so_far))))
    spoilt = series.given_up or not series.can_pass(plan)
    wiggle = None if spoilt else (yield from worked_by_hand(wiggle_by_hand(plan, switch)))
    return ProofResult(series, wiggle)


@steps_of(POWER_OFF_TEST)
def _power_off(plan: Plan, switch: str, identity: Identity | None) -> Steps[PoweredOff]:
    lines = (
        f"It takes the power off {plan.power_ups + 1} times and shows what a broken wire would do. With the sensor "
        "unplugged the filament is moved in and out twice, to see that it was the sensor's plug.",
    )
    unplugged = UnplugResult()
    if (yield from confirm(Confirm("unplug.ready", "Go on with the unplug test?", lines))):
        unplugged = yield from unplug_test(plan, switch)
        seen = unplugged.back.restart
    else:
        seen = (yield from power_cycle("proof.power_cycle")).power.restart
    after = yield from control_now(identity, switch)
    yield from establish(RunoutControlAfterRestart(sentences=runout_sentences(after), **runout_values(after)))
    return PoweredOff(unplugged, after, seen)
